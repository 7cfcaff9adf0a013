//! What an ohmmeter sees with the power off, and a part's own value from such a reading.
//!
//! The meter's volts stay under what a junction needs: valves, diodes, capacitors and sources pass nothing, windings
//! are their resistances, contacts and controls stand as stated. With the part out, let Zm be the ohms that the meter
//! sees, Zp those between the part's own joints, and T the volts between the part's joints for one ampere through the
//! meter. With R in its place the meter reads Zm − T²/(Zp + R) (two-port theory), so that
//! R = T²/(Zm − reading) − Zp. Across the part's own joints Zm = Zp = T, which is the formula for two in parallel: 76.19k
//! over a part beside 320k of others is a part of 100k.
//!
//! ```text
//! R1 100k with R2 220k + R3 100k round it; 76.19k read across R1:
//! rest      with R1 out 320k: Zm = Zp = T = 320k
//! own       320k² / (320k − 76.19k) − 320k = 100.0k
//! accuracy  the reading moves by 0.762 of R1's drift: 1 % of the meter is 1.3 % of R1
//! a part of 10k beside the same 320k would tell better (0.97), one of 10M hardly (0.03: vague)
//! ```

use petgraph::unionfind::UnionFind;

use super::lower::lower;
use crate::circuit::{Circuit, PartId, Untold};
use crate::numeric::dc::solver::operating_point;
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::solve::setup::Setup;

/// Any current serves: the network is linear. A milliampere keeps a megohm within the solver's usual volts.
const TEST_AMPS: f64 = 1e-3;
/// Share of the reading below which rounding alone could make the part's influence.
const NO_INFLUENCE: f64 = 1e-9;
/// Accuracy of an ohmmeter where none is stated, as of the other meters.
const METER: f64 = 0.01;
/// An answer that may be off by more than this can't tell a sound part from a drifted one: common practice, no source.
const VAGUE: f64 = 0.2;
/// Rounds in which parts read in circuit settle on each other.
const ROUNDS: usize = 20;

/// The resistances of a network with the power off.
#[derive(Debug, Clone)]
pub struct PowerOff {
    nodes: usize,
    resistances: Vec<(Node, Node, f64)>,
}

/// What a reading tells of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FromReading {
    /// Its own value.
    Ohms {
        /// The part's ohms.
        ohms: f64,
        /// Relative change of the reading for one of the part: the reading's accuracy over it is the answer's.
        sensitivity: f64,
    },
    /// The rest alone reads no more than this, or just that: no value makes such a reading.
    AtOrAboveTheRest(f64),
    /// With nothing in the part's place the meter reads as much, and it read less.
    BelowNothing(f64),
    /// Whatever its value, it does not move the reading.
    Unmoved,
}

impl PowerOff {
    /// What the meter sees of a network, elements of `out` left away.
    pub fn of(network: &Network, out: impl Fn(usize) -> bool) -> PowerOff {
        let mut resistances = Vec::new();
        for (_, element) in network.elements.iter().enumerate().filter(|(at, _)| !out(*at)) {
            match &element.law {
                Law::Resistor { a, b, ohms } | Law::Inductor { a, b, ohms, .. } => {
                    resistances.push((*a, *b, *ohms));
                }
                Law::Windings { windings, .. } => {
                    resistances.extend(windings.iter().map(|w| (w.a, w.b, w.ohms)));
                }
                _ => {}
            }
        }
        PowerOff { nodes: network.nodes.len(), resistances }
    }

    /// Ohms between two nodes; `None` where nothing joins them.
    pub fn ohms(&self, a: Node, b: Node) -> Option<f64> {
        if a == b {
            return Some(0.0);
        }
        Some(self.volts(a, b)?.get(a).copied().flatten()? / TEST_AMPS)
    }

    /// A part's own ohms from a reading between two nodes, the part (between `part`) left out of these resistances.
    pub fn explain(&self, meter: (Node, Node), part: (Node, Node), reading: f64) -> Option<FromReading> {
        let (Some(rest), Some(own)) = (self.ohms(meter.0, meter.1), self.ohms(part.0, part.1)) else {
            return Some(self.through_the_part(meter, part, reading));
        };
        let volts = self.volts(meter.0, meter.1)?;
        let at = |node: Node| volts.get(node).copied().flatten();
        let (Some(a), Some(b)) = (at(part.0), at(part.1)) else { return Some(FromReading::Unmoved) };
        // T²: reciprocity gives the same transfer from meter to part and back.
        let squared = ((a - b) / TEST_AMPS) * ((a - b) / TEST_AMPS);
        if own == 0.0 || squared / own <= NO_INFLUENCE * rest {
            return Some(FromReading::Unmoved);
        }
        // The reading with a wire in the part's place: less can't be.
        let least = rest - squared / own;
        if reading >= rest {
            return Some(FromReading::AtOrAboveTheRest(rest));
        }
        let ohms = squared / (rest - reading) - own;
        // The rest in a chain with the part: rounding at a reading of just that.
        if ohms < -1e-9 * own {
            return Some(FromReading::BelowNothing(least));
        }
        let ohms = ohms.max(0.0);
        let sensitivity = ohms * squared / ((own + ohms) * (own + ohms) * reading);
        Some(FromReading::Ohms { ohms, sensitivity })
    }

    /// Where nothing but the part joins what the meter touches, all that it reads is in series.
    fn through_the_part(&self, meter: (Node, Node), part: (Node, Node), reading: f64) -> FromReading {
        if self.ohms(meter.0, meter.1).is_some() {
            // A part with an end that leads nowhere.
            return FromReading::Unmoved;
        }
        let ends = |a, b| Some(self.ohms(meter.0, a)? + self.ohms(meter.1, b)?);
        // The part's either end may be at either lead.
        let series = ends(part.0, part.1).or_else(|| ends(part.1, part.0));
        let Some(series) = series else { return FromReading::Unmoved };
        let ohms = reading - series;
        if ohms < 0.0 {
            FromReading::BelowNothing(series)
        } else {
            FromReading::Ohms { ohms, sensitivity: if reading > 0.0 { ohms / reading } else { 0.0 } }
        }
    }

    /// Volts of the nodes that something joins to `to`, which is held at 0, for the test current into `from`.
    fn volts(&self, from: Node, to: Node) -> Option<Vec<Option<f64>>> {
        let mut joined = UnionFind::<usize>::new(self.nodes);
        for (a, b, _) in &self.resistances {
            joined.union(*a, *b);
        }
        let here = |node: Node| joined.equiv(node, to);
        if !here(from) {
            return None;
        }
        let mut network = Network::new();
        let place: Vec<Option<Node>> = (0..self.nodes)
            .map(|node| match node {
                _ if node == to => Some(CHASSIS),
                _ if here(node) => Some(network.add_node("")),
                _ => None,
            })
            .collect();
        for (a, b, ohms) in &self.resistances {
            if let (Some(a), Some(b)) = (place[*a], place[*b]) {
                network.add("", Law::Resistor { a, b, ohms: *ohms });
            }
        }
        network.add("meter", Law::CurrentSource { from: CHASSIS, to: place[from]?, amps: TEST_AMPS });
        let point = operating_point(&network).ok()?;
        Some(place.iter().map(|node| node.and_then(|node| point.volts(node))).collect())
    }
}

/// A circuit with every in-circuit reading turned into the part's own value, where one explains it; where none does,
/// or the meter can't tell, why. Several parts read in circuit are each worked out with the others as they turn out.
#[must_use]
pub fn own_values(mut circuit: Circuit) -> Circuit {
    let read: Vec<PartId> = circuit
        .part_ids()
        .filter(|id| {
            let part = circuit.part(*id);
            part.fitted() && part.component.read_in_circuit.is_some() && part.component.measured.is_none()
        })
        .collect();
    for _ in 0..ROUNDS {
        let mut moved = false;
        for id in &read {
            let (value, untold) = own_value(&circuit, *id);
            let component = &mut circuit.part_mut(*id).component;
            let (old, new) = (component.measured.unwrap_or(0.0), value.unwrap_or(0.0));
            // To the last digits: a part that settles slowly on another is worked out to the end, or the rounds run
            // out.
            moved |= (old - new).abs() > 1e-12 * new.abs();
            (component.measured, component.untold) = (value, untold);
        }
        if !moved || read.len() < 2 {
            break;
        }
    }
    circuit
}

/// A part's own value from its reading, or why there is none.
fn own_value(circuit: &Circuit, id: PartId) -> (Option<f64>, Option<Untold>) {
    let component = &circuit.part(id).component;
    let Some(reading) = component.read_in_circuit else { return (None, None) };
    let mut setup = Setup::idle();
    setup.removed.insert(id);
    let lowered = lower(circuit, &setup);
    let node = |net: crate::circuit::NetId| lowered.node_of[net.0 as usize];
    let ends = circuit.ends(id).and_then(|(a, b)| Some((node(a)?, node(b)?)));
    // The signal source and assumed leakages are no parts.
    let rest = PowerOff::of(&lowered.network, |at| lowered.elements[at].part.is_none());
    match ends.and_then(|ends| rest.explain(ends, ends, reading)) {
        Some(FromReading::Ohms { ohms, sensitivity }) if ohms == 0.0 || METER <= VAGUE * sensitivity => {
            (Some(ohms), None)
        }
        Some(FromReading::Ohms { sensitivity, .. }) => {
            (None, Some(Untold::Vague { accuracy: METER / sensitivity }))
        }
        Some(FromReading::AtOrAboveTheRest(rest) | FromReading::BelowNothing(rest)) => {
            (None, Some(Untold::Impossible { rest }))
        }
        // A leg is free: the meter across the joints reads the rest, not the part.
        Some(FromReading::Unmoved) | None => (None, Some(Untold::Hidden)),
    }
}
