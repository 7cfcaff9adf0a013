//! Stored charge: how long each capacitor holds a dangerous voltage after switch-off, through what is connected.
//!
//! `equations` lays out the network with its sources gone and its diodes blocking, `respond` follows it in time. Cold
//! valves carry nothing, which is the slowest and so the judged case; hot ones discharge what they hang on.

mod equations;
mod respond;

use super::condition::Setup;
use super::lower::lower;
use super::network::Law;
use super::outcome::Unsolved;
use super::point::FloatingGrids;
use super::supply;
use crate::circuit::{Circuit, PartId};

pub use respond::{Response, Watch, natural_response};

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

/// A capacitor after switch-off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stored {
    /// The capacitor.
    pub part: PartId,
    /// Volts across it at switch-off, first leg above second.
    pub volts: f64,
    /// Energy in it then, J.
    pub joules: f64,
    /// When it is down to [`HARMLESS_VOLTS`].
    pub fall: Fall,
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

/// Switches the amplifier off from where it rests in a condition, its switches as they stand there, and follows every
/// capacitor that has a value.
pub fn stored_charge(circuit: &Circuit, setup: &Setup, valves: Valves) -> Result<Vec<Stored>, Unsolved> {
    let mut lowered = lower(circuit, setup);
    // Elements and nodes keep their numbers; a supply's stand-ins come after them.
    let point = supply::couple(circuit, setup, lowered.clone(), FloatingGrids::AtCathode)?.point;
    let start = lowered.network.elements.iter().enumerate().map(|(index, element)| match element.law {
        Law::Capacitor { a, b, .. } => point.volts_between(a, b).unwrap_or(0.0),
        Law::Inductor { .. } => point.amps(index)[0],
        _ => 0.0,
    });
    let start: Vec<f64> = start.collect();
    // The drive's own blocking capacitor is no part of the amplifier.
    for (element, origin) in lowered.network.elements.iter_mut().zip(&lowered.elements) {
        if let (Law::Capacitor { farads, .. }, None) = (&mut element.law, origin.part) {
            *farads = 0.0;
        }
    }
    let watch = Watch { threshold: HARMLESS_VOLTS, instants: Vec::new() };
    let response = natural_response(&lowered.network, &start, valves, &watch)?;
    let mut stored = Vec::new();
    for (index, fall) in response.stores.iter().zip(response.falls) {
        let law = &lowered.network.elements[*index].law;
        if let (Law::Capacitor { farads, .. }, Some(part)) = (law, lowered.elements[*index].part) {
            let volts = start[*index];
            stored.push(Stored { part, volts, joules: 0.5 * farads * volts * volts, fall });
        }
    }
    Ok(stored)
}
