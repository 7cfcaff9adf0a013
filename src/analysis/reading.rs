//! Meter readings against what the circuit predicts.

use crate::circuit::{Circuit, Reading, Target, Window};
use crate::numeric::statistics::Within;
use crate::solve::Solved;
use crate::units::Unit;

/// Deviation from the prediction that is marked where no window is stated: parts of the period are ±10 %
/// (common practice, no source).
pub(super) const MARKED_SHARE: f64 = 0.10;

/// One reading, what was expected, and how they agree.
#[derive(Debug, Clone)]
pub struct Compared<'a> {
    /// The reading.
    pub reading: &'a Reading,
    /// What the circuit predicts at that place, in the reading's unit; `None` where undefined or not computed.
    pub predicted: Option<f64>,
    /// (reading − predicted) ÷ |predicted|; `None` where the prediction is zero or unknown.
    pub share: Option<f64>,
    /// The window stated for it.
    pub window: Option<&'a Window>,
    /// How they agree.
    pub mark: Mark,
}

/// How a reading or a predicted value agrees with what is acceptable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Inside the stated window; or, without one, near the prediction.
    Good,
    /// Below the stated window.
    Low,
    /// Above the stated window.
    High,
    /// No window stated, and further than a set share from the prediction.
    Off,
    /// Nothing to compare with.
    Open,
}

impl Mark {
    /// In text and JSON.
    pub fn word(self) -> &'static str {
        match self {
            Mark::Good => "good",
            Mark::Low => "low",
            Mark::High => "high",
            Mark::Off => "off",
            Mark::Open => "not compared",
        }
    }

    /// Whether someone should look into it.
    pub fn bad(self) -> bool {
        matches!(self, Mark::Low | Mark::High | Mark::Off)
    }

    /// A value against a window.
    pub fn of_window(value: f64, window: &Window) -> Mark {
        if value < window.low {
            Mark::Low
        } else if value > window.high {
            Mark::High
        } else {
            Mark::Good
        }
    }
}

/// What the circuit predicts for a target, in `unit`. Readings of a cathode are of the current out of it, as a
/// meter in its lead shows.
pub fn predicted(circuit: &Circuit, solved: &Solved, target: Target, unit: Unit) -> Option<f64> {
    match (target, unit) {
        (Target::Net(net), Unit::Volt) => solved.net_volts(net),
        (Target::Between(a, b), Unit::Volt) => Some(solved.net_volts(a)? - solved.net_volts(b)?),
        (Target::Leg(leg), Unit::Amp) => solved.meter_amps(circuit, leg),
        (Target::Part(part), Unit::Volt) => solved.across(circuit, part),
        (Target::Part(part), Unit::Watt) => solved.watts[part.0 as usize],
        _ => None,
    }
}

/// The window that parts and valves give to [`predicted`].
pub fn predicted_within(circuit: &Circuit, solved: &Solved, target: Target, unit: Unit) -> Option<Within> {
    match (target, unit) {
        (Target::Net(net), Unit::Volt) => solved.net_volts_within(circuit, net),
        (Target::Between(a, b), Unit::Volt) => solved.between_within(circuit, a, b),
        (Target::Leg(leg), Unit::Amp) => solved.meter_amps_within(circuit, leg),
        (Target::Part(part), Unit::Volt) => solved.across_within(circuit, part),
        (Target::Part(part), Unit::Watt) => solved.watts_within(circuit, part),
        _ => None,
    }
}

/// Every reading taken in the condition that was solved, in order of places.
pub fn compare<'a>(circuit: &'a Circuit, solved: &Solved) -> Vec<Compared<'a>> {
    let here = |r: &&Reading| r.condition == solved.condition.word();
    circuit.readings.iter().filter(here).map(|reading| one(circuit, solved, reading)).collect()
}

fn one<'a>(circuit: &'a Circuit, solved: &Solved, reading: &'a Reading) -> Compared<'a> {
    let predicted = if reading.ac { None } else { predicted(circuit, solved, reading.target, reading.unit) };
    let share = predicted.filter(|p| *p != 0.0).map(|p| (reading.value - p) / p.abs());
    let window = if reading.ac { None } else { window_of(circuit, reading) };
    let mark = match (window, share) {
        (Some(window), _) => Mark::of_window(reading.value, window),
        (None, Some(share)) if share.abs() > MARKED_SHARE => Mark::Off,
        (None, Some(_)) => Mark::Good,
        (None, None) => Mark::Open,
    };
    Compared { reading, predicted, share, window, mark }
}

/// The window stated last for what a reading is of.
fn window_of<'a>(circuit: &'a Circuit, reading: &Reading) -> Option<&'a Window> {
    circuit
        .windows
        .iter()
        .rev()
        .find(|w| w.target == reading.target && w.unit == reading.unit && w.condition == reading.condition)
}
