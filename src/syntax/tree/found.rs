//! Windows, settings, replacements and readings.

use super::part::Spec;
use super::word::{Place, Value, Word};

/// `window 290V to 330V in high-mains because "…"`.
#[derive(Debug, Clone)]
pub struct WindowSaid {
    /// lowest
    pub low: Value,
    /// highest
    pub high: Value,
    /// condition's name; idle where absent
    pub condition: Option<Word>,
    /// reason, where it excuses a limit
    pub because: Option<Word>,
}

/// Where a control is set.
#[derive(Debug, Clone)]
pub enum Setting {
    /// shaft position, 0 … 1
    Turn(Value),
    /// a switch position's name
    Position(Word),
}

/// By what a part was replaced.
#[derive(Debug, Clone)]
#[allow(clippy::large_enum_variant, reason = "nearly all are of one body")]
pub enum Replacement {
    /// one body
    One(Spec),
    /// `by series R9a 2k7, R9b 2k2`
    Series(Vec<(Word, Spec)>),
    /// `by parallel C9a 10n, C9b 12n`
    Parallel(Vec<(Word, Spec)>),
}

/// `meter B3 271V`, `meter V5.cathode 22mA`, `meter R40 12V`, `meter A to B 3V ac at 1kHz in standby with 1% 10M`.
#[derive(Debug, Clone)]
pub struct MeterSaid {
    /// net, leg (for amps) or part (across it)
    pub place: Place,
    /// second place of a difference
    pub to: Option<Place>,
    /// the figure, volts or amps
    pub value: Value,
    /// whether `ac`
    pub ac: bool,
    /// at which frequency
    pub hertz: Option<Value>,
    /// in which condition; idle where absent
    pub condition: Option<Word>,
    /// the meter's accuracy and input resistance
    pub with: (Option<Value>, Option<Value>),
    /// quoted remark
    pub note: Option<Word>,
}
