//! Stored charge: how long each capacitor holds a dangerous voltage after switch-off, through what is connected.
//!
//! `start` is what capacitors hold at switch-off, `stored` in which positions of the switches they get and keep it.
//! `equations` lays out the network with its sources gone and its diodes blocking, `respond` follows it in time. Cold
//! valves carry nothing, which is the slowest and so the judged case; hot ones discharge what they hang on.

mod equations;
mod respond;
mod start;
mod stored;
mod way_out;

use crate::circuit::PartId;

pub use respond::{Response, Watch, natural_response};
pub use stored::stored_charge;

/// DC volts that are harmless to touch: IEC 62368-1 class ES1, clause 5.2.2.2, from memory.
pub const HARMLESS_VOLTS: f64 = 60.0;

/// How valves take part in a decay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Valves {
    /// They carry nothing: heaters cold, or valves out of their sockets. The worst case.
    #[default]
    Cold,
    /// They emit as they did before, for as long as their heaters hold the heat.
    Hot,
}

/// When a voltage falls below the harmless one for good.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fall {
    /// It never was above it.
    Below,
    /// After so many seconds.
    After(f64),
    /// Not within ten days: nothing that is connected discharges it.
    Never,
}

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

impl Fall {
    /// Seconds, 0 where it never was above; `None` for never.
    pub fn seconds(self) -> Option<f64> {
        match self {
            Self::Below => Some(0.0),
            Self::After(seconds) => Some(seconds),
            Self::Never => None,
        }
    }
}
