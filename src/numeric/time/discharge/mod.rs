//! What a network does when its sources are gone: `equations` lays it out with its diodes blocking, `respond` follows it in
//! time, `way_out` closes the diodes through which charge can leave.

pub(crate) mod equations;
pub(crate) mod respond;
pub(crate) mod way_out;

pub use respond::{Response, Watch, natural_response};

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
