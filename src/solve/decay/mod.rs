//! Stored charge: how long each capacitor holds a dangerous voltage after switch-off, through what is connected.
//!
//! `equations` lays out the network with its sources gone and its diodes blocking, `respond` follows it in time. Cold
//! valves carry nothing, which is the slowest and so the judged case; hot ones discharge what they hang on.

mod equations;
mod respond;

use super::condition::Setup;
use super::lower::{Lowered, lower};
use super::network::{Law, Network};
use super::outcome::Unsolved;
use super::point::{FloatingGrids, OperatingPoint};
use super::solved::Solved;
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

/// Rounds in which volts of nets that nothing holds are shared out; more than any chain of capacitors needs.
const SHARING_ROUNDS: usize = 400;
/// They are shared out when a round moves none by more than this, in volts.
const SHARED_VOLTS: f64 = 1e-9;

/// Volts of every node. Where capacitors alone hold one (the middle of a stack without its resistors), it was charged
/// through them: they share by their capacitance. To take them for empty would promise a discharge that does not come.
fn charged(network: &Network, point: &OperatingPoint) -> Vec<f64> {
    let known: Vec<Option<f64>> = (0..network.nodes.len()).map(|node| point.volts(node)).collect();
    let mut volts: Vec<f64> = known.iter().map(|volts| volts.unwrap_or(0.0)).collect();
    if known.iter().all(Option::is_some) {
        return volts;
    }
    let most =
        network.elements.iter().map(|e| if let Law::Capacitor { farads, .. } = e.law { farads } else { 0.0 });
    // What conducts holds its ends together far better than any capacitor.
    let firm = 1e3 * most.fold(0.0, f64::max);
    let ties: Vec<(usize, usize, f64)> = network
        .elements
        .iter()
        .filter_map(|element| match element.law {
            Law::Capacitor { a, b, farads } => Some((a, b, farads)),
            Law::Resistor { a, b, .. } | Law::Inductor { a, b, .. } => Some((a, b, firm)),
            _ => None,
        })
        .collect();
    for _ in 0..SHARING_ROUNDS {
        let mut moved: f64 = 0.0;
        for node in (0..known.len()).filter(|node| known[*node].is_none()) {
            let (mut weighed, mut weight) = (0.0, 0.0);
            for (a, b, tie) in ties.iter().filter(|(a, b, _)| (*a == node) != (*b == node)) {
                weighed += tie * volts[if *a == node { *b } else { *a }];
                weight += tie;
            }
            if weight > 0.0 {
                let shared = weighed / weight;
                moved = moved.max((shared - volts[node]).abs());
                volts[node] = shared;
            }
        }
        if moved <= SHARED_VOLTS {
            break;
        }
    }
    volts
}

/// Switches the amplifier off from where it rests in a condition, its switches as they stand there, and follows every
/// capacitor that has a value.
pub fn stored_charge(circuit: &Circuit, setup: &Setup, valves: Valves) -> Result<Vec<Stored>, Unsolved> {
    let lowered = lower(circuit, setup);
    let point = supply::couple(circuit, setup, lowered.clone(), FloatingGrids::AtCathode)?.point;
    stored_at(lowered, &point, valves)
}

/// The same from where it was found at rest with this setup; `None` where only its volts are known.
pub fn stored_from(
    circuit: &Circuit,
    setup: &Setup,
    solved: &Solved,
    valves: Valves,
) -> Option<Result<Vec<Stored>, Unsolved>> {
    let (_, _, point) = solved.windows.equations()?;
    Some(stored_at(lower(circuit, setup), point, valves))
}

/// From a point of rest; elements and nodes of the network have their numbers in it, a supply's stand-ins come after them.
fn stored_at(mut lowered: Lowered, point: &OperatingPoint, valves: Valves) -> Result<Vec<Stored>, Unsolved> {
    let volts = charged(&lowered.network, point);
    let start = lowered.network.elements.iter().enumerate().map(|(index, element)| match element.law {
        Law::Capacitor { a, b, .. } => volts[a] - volts[b],
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
