//! Stored charge: how long each capacitor holds a dangerous voltage after switch-off, through what is connected.
//!
//! `start` is what capacitors hold at switch-off, `stored` in which positions of the switches they get and keep it.
//! [`discharge`](crate::numeric::time::discharge) follows the network in time, its sources gone and its diodes blocking.
//! Cold valves carry nothing, which is the slowest and so the judged case; hot ones discharge what they hang on.

mod start;
mod stored;

use crate::circuit::PartId;
use crate::numeric::time::discharge::Fall;

pub use stored::stored_charge;

/// DC volts that are harmless to touch: IEC 62368-1 class ES1, clause 5.2.2.2, from memory.
pub const HARMLESS_VOLTS: f64 = 60.0;

/// A capacitor after switch-off, at worst: the most that it holds, and the longest that it stays dangerous.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    /// The capacitor.
    pub part: PartId,
    /// Volts across it at switch-off, first leg above second.
    pub volts: f64,
    /// Energy in it then, J.
    pub joules: f64,
    /// When it is down to [`HARMLESS_VOLTS`].
    pub fall: Fall,
    /// In which positions of the switches, where they are not those of the condition: "left with S2 at standby".
    pub state: String,
    /// It is charged by what was read; the prediction says less.
    pub by_readings: bool,
}

/// What is known of the stored charge.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Charge {
    /// Every capacitor that has a value, in order.
    pub stored: Vec<Stored>,
    /// Positions of the switches in which it can't be worked out, and why: nothing is known to be harmless.
    pub unjudged: Option<String>,
}
