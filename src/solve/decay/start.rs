//! What capacitors and chokes hold when the amplifier is switched off.
//!
//! ```text
//! Two 100 µF in series on 400 V, their middle on nothing else (balancing resistors missing):
//! middle    no direct path: no volts at rest
//! shared    by capacitance: (100·400 + 100·0) / 200 = 200 V: each holds 200 V, 2 J
//! as empty  they would promise no discharge time at all
//! ```

use std::collections::{BTreeMap, BTreeSet};

use super::HARMLESS_VOLTS;
use crate::circuit::{self, Circuit, NetId, PartId, Reading, Target};
use crate::model::Condition;
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::numeric::point::OperatingPoint;
use crate::numeric::time::discharge::equations::merged;
use crate::solve::lower::{Lowered, WindingSection};
use crate::solve::switches::Positions;
use crate::units::Unit;

/// A capacitor or choke: its part, and which of the part's it is.
pub(super) type Store = (PartId, usize);

/// The capacitors and chokes of a circuit, each with its element.
pub(super) fn stores(lowered: &Lowered) -> Vec<(usize, Store)> {
    let mut count: BTreeMap<PartId, usize> = BTreeMap::new();
    let mut found = Vec::new();
    for (at, (element, origin)) in lowered.network.elements.iter().zip(&lowered.elements).enumerate() {
        if let (Law::Capacitor { .. } | Law::Inductor { .. }, Some(part)) = (&element.law, origin.part) {
            let which = count.entry(part).or_default();
            found.push((at, (part, *which)));
            *which += 1;
        }
    }
    found
}

/// The amplifier at rest with its switches in some positions.
pub(super) struct Rest {
    pub positions: Positions,
    pub lowered: Lowered,
    pub point: OperatingPoint,
}

/// What is stored when it is switched off.
pub(super) struct Start<'a> {
    /// Where the switches stood until then.
    pub positions: &'a Positions,
    /// Volts of capacitors, amperes of chokes.
    pub amounts: BTreeMap<Store, f64>,
    /// As read, not as predicted.
    pub by_readings: bool,
}

/// Volts by the readings: of nodes, and across two.
#[derive(Default)]
struct Read {
    at: BTreeMap<Node, f64>,
    across: BTreeMap<(Node, Node), f64>,
}

/// A reading tells of charge where it makes a capacitor's volts this much more than the prediction: within it they agree.
pub(super) const TELLING: f64 = 1.1;

impl Rest {
    /// What is stored by the prediction.
    pub(super) fn start(&self) -> Start<'_> {
        let volts = charged(&self.lowered.network, &self.point);
        let amounts = stores(&self.lowered).into_iter().map(|(element, store)| {
            let amount = match self.lowered.network.elements[element].law {
                Law::Capacitor { a, b, .. } => volts[a] - volts[b],
                _ => self.point.amps(element)[0],
            };
            (store, amount)
        });
        Start { positions: &self.positions, amounts: amounts.collect(), by_readings: false }
    }

    /// What is stored where nets that were read in the condition have their readings; `None` where no reading shows more
    /// than the prediction.
    pub(super) fn as_read(&self, circuit: &Circuit, condition: Condition) -> Option<Start<'_>> {
        let groups = merged(&self.lowered.network);
        let read = self.read(circuit, condition, &groups);
        if read.at.is_empty() && read.across.is_empty() {
            return None;
        }
        let volts = charged(&self.lowered.network, &self.point);
        let mut start = self.start();
        let mut tells = false;
        for (element, store) in stores(&self.lowered) {
            let Law::Capacitor { a, b, .. } = self.lowered.network.elements[element].law else { continue };
            if let Some(by_meter) = read.capacitor([(groups[a], volts[a]), (groups[b], volts[b])])
                && let Some(amount) = start.amounts.get_mut(&store)
            {
                tells |= by_meter.abs() > f64::max(HARMLESS_VOLTS, TELLING * amount.abs());
                *amount = by_meter;
            }
        }
        start.by_readings = true;
        tells.then_some(start)
    }

    fn read(&self, circuit: &Circuit, condition: Condition, groups: &[Node]) -> Read {
        let node = |net: NetId| self.lowered.node_of[net.0 as usize].map(|node| groups[node]);
        let mut read = Read::default();
        let direct = |r: &&Reading| r.unit == Unit::Volt && !r.ac;
        let here = circuit.readings.iter().filter(direct).filter(|r| r.condition == condition.word());
        for reading in here {
            let ends = match reading.target {
                Target::Net(net) => Some((net, circuit::CHASSIS)),
                Target::Between(a, b) => Some((a, b)),
                Target::Part(part) => circuit.ends(part),
                Target::Leg(_) => None,
            };
            let Some((Some(a), Some(b))) = ends.map(|(a, b)| (node(a), node(b))) else { continue };
            if b == groups[CHASSIS] {
                read.at.insert(a, reading.value);
            } else {
                read.across.insert((a, b), reading.value);
            }
        }
        read
    }

    /// Nets far above what is harmless, and ends of windings that are, from which other capacitors may be charged.
    pub(super) fn hot_nets(&self, circuit: &Circuit) -> BTreeSet<NetId> {
        let groups = merged(&self.lowered.network);
        let mut hot: BTreeSet<Node> = self
            .lowered
            .windings
            .iter()
            .filter(|section| is_high(circuit, section))
            .flat_map(|section| self.lowered.network.elements[section.element].law.terminals())
            .map(|node| groups[node])
            .collect();
        let over = |node: &Node| self.point.volts(*node).is_some_and(|volts| volts.abs() > HARMLESS_VOLTS);
        hot.extend((0..self.lowered.network.nodes.len()).filter(over).map(|node| groups[node]));
        // A winding's end may be chassis; everything hangs on that.
        hot.remove(&groups[CHASSIS]);
        let is_hot = |net: &NetId| {
            self.lowered.node_of[net.0 as usize].is_some_and(|node| hot.contains(&groups[node]))
        };
        circuit.net_ids().filter(is_hot).collect()
    }
}

/// Whether a winding feeds high tension.
fn is_high(circuit: &Circuit, section: &WindingSection) -> bool {
    let winding = &circuit.part(section.part).component.body.windings[section.winding];
    winding.volts > HARMLESS_VOLTS && !winding.name.starts_with("primary")
}

impl Read {
    /// Volts across a capacitor whose ends have these predicted ones; `None` where nothing was read of either.
    fn capacitor(&self, [(a, predicted_a), (b, predicted_b)]: [(Node, f64); 2]) -> Option<f64> {
        let across = self.across.get(&(a, b)).copied();
        let turned = || self.across.get(&(b, a)).map(|volts| -volts);
        let (at_a, at_b) = (self.at.get(&a), self.at.get(&b));
        // A reading across the part itself is better than the difference of two at its ends, and that better than one
        // with a predicted end.
        let by_ends = (at_a.is_some() || at_b.is_some())
            .then(|| at_a.copied().unwrap_or(predicted_a) - at_b.copied().unwrap_or(predicted_b));
        across.or_else(turned).or(by_ends)
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
    // Gauss and Seidel's rounds: the matrix is one of a few nodes and not worth a factorisation.
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
