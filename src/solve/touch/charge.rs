//! What a capacitor between high tension and something within reach gives over to a hand.
//!
//! Direct current stops at it, its charge doesn't: when high tension comes up, and for as long as nothing drains the side
//! that is touched, whoever touches it charges the capacitor through the body.

use std::collections::BTreeSet;

use super::groups::ways;
use super::rig::{Rig, peak_rig};
use super::situation::Situation;
use super::{
    BODY_OHMS, Hazard, Route, SAFE_VOLTS, Touchable, Unjudged, assumed_mains, capacity, within_reach,
};
use crate::circuit::{Circuit, NetId, PartId};
use crate::numeric::ac::linearised::{Drive, Linearised};
use crate::numeric::dc::solver::operating_point;
use crate::numeric::network::{Law, Network, Node};
use crate::solve::solved::SolvedSet;

/// What may come through a capacitor whose touched side something drains, which happens once, while high tension comes
/// up: hazardous energy in measuring equipment is 350 mJ (IEC 61010-1, from memory). Sound effect sends and speaker
/// couplings stay under it.
pub const DRAINED_JOULES: f64 = 0.35;
/// What may wait on a side that nothing drains, for whoever touches it: what a person charged on a carpet gives off, 100 pF
/// at 15 kV (from memory). IEC 62368-1 table 5 allows 0.5 mJ (from memory); a send of 100 nF without a load holds
/// more than that and hurts nobody.
pub const WAITING_JOULES: f64 = 10e-3;
/// Only capacitors and joints are left: any frequency will do.
const HERTZ: f64 = 50.0;
/// Resistances on the touched side, which only slow the charge down.
const JOINT_OHMS: f64 = 1e-3;

/// What reaches one thing through capacitors.
struct Charge {
    volts: f64,
    joules: f64,
    /// Something drains the touched side.
    drained: bool,
    capacitors: BTreeSet<PartId>,
}

impl Charge {
    fn harmful(&self) -> bool {
        self.volts > SAFE_VOLTS.1 && self.joules > if self.drained { DRAINED_JOULES } else { WAITING_JOULES }
    }
}

/// Hazards by charge, on everything within reach but the chassis.
pub(super) fn hazards(circuit: &Circuit, solved: &SolvedSet) -> (Vec<Hazard>, Vec<Unjudged>) {
    let reach = within_reach(circuit);
    let (mut hazards, mut unjudged) = (Vec::new(), Vec::new());
    for plugged in [false, true] {
        let situation = Situation { plugged, ..Situation::default() };
        match on(circuit, solved, &situation, &reach) {
            Ok(found) => hazards.extend(found),
            Err(why) => unjudged.push(Unjudged { route: Route::Charge, state: String::new(), why }),
        }
    }
    (hazards, unjudged)
}

fn on(
    circuit: &Circuit,
    solved: &SolvedSet,
    situation: &Situation,
    reach: &[Touchable],
) -> Result<Vec<Hazard>, String> {
    let rig = peak_rig(circuit, situation, true, &BTreeSet::new(), reach);
    let volts = highest(circuit, solved, &rig)?;
    let mut hazards = Vec::new();
    for (touched, node) in reach.iter().zip(&rig.reach).skip(1) {
        let Some(node) = *node else { continue };
        let Some(charge) = reaching(&rig, &volts, node)? else { continue };
        if !charge.harmful() {
            continue;
        }
        hazards.push(Hazard {
            route: Route::Charge,
            touched: touched.clone(),
            other: reach.first().cloned(),
            volts: charge.volts,
            amps: charge.volts / BODY_OHMS,
            joules: charge.joules,
            state: if charge.drained { "high tension coming up".into() } else { String::new() },
            assumed: assumed_mains(circuit, Route::Cold),
            by_class_y: false,
            unknown: BTreeSet::new(),
            carriers: charge.capacitors.clone(),
            joiners: charge.capacitors,
        });
    }
    Ok(hazards)
}

/// For each node the volts that it holds: the highest with valves cold and in every condition that is solved.
fn highest(circuit: &Circuit, solved: &SolvedSet, rig: &Rig) -> Result<Vec<Option<f64>>, String> {
    let point = operating_point(&rig.network).map_err(|why| why.to_string())?;
    let mut volts: Vec<Option<f64>> = (0..rig.network.nodes.len()).map(|node| point.volts(node)).collect();
    for net in circuit.net_ids() {
        let NetId(index) = net;
        let Some(node) = rig.node_of[index as usize] else { continue };
        for warm in solved.every().filter_map(|solved| solved.net_volts(net)) {
            if volts[node].is_none_or(|cold| warm.abs() > cold.abs()) {
                volts[node] = Some(warm);
            }
        }
    }
    Ok(volts)
}

/// What comes to a node through capacitors: nodes that hold volts as sources, those joined to it as one, the others as
/// capacitors leave them.
fn reaching(rig: &Rig, volts: &[Option<f64>], node: Node) -> Result<Option<Charge>, String> {
    let groups = rig.groups(Route::Cold, &[rig.chassis()]);
    let here = |n: Node| groups[n] == groups[node] && n != rig.chassis();
    if (0..volts.len()).any(|n| here(n) && volts[n].is_some_and(|v| v.abs() > SAFE_VOLTS.1)) {
        // Direct current reaches it, which is another route's.
        return Ok(None);
    }
    let holds = |n: Node| n == rig.chassis() || !here(n) && volts[n].is_some();
    let mut network = Network::new();
    network.nodes.clone_from(&rig.network.nodes);
    let (mut drained, mut capacitors) = (false, BTreeSet::new());
    for (element, part) in rig.network.elements.iter().zip(&rig.part_of) {
        if let Law::Capacitor { a, b, farads } = element.law {
            if farads > 0.0 && !(holds(a) && holds(b)) {
                network.add("", Law::Capacitor { a, b, farads });
                capacitors.extend(part.filter(|_| here(a) != here(b)));
            }
            continue;
        }
        ways(&element.law, Route::Cold, |a, b| {
            if !holds(a) && !holds(b) {
                network.add("", Law::Resistor { a, b, ohms: JOINT_OHMS });
            }
            drained |= [(a, b), (b, a)].iter().any(|(x, y)| here(*x) && *y == rig.chassis());
        });
    }
    if capacitors.is_empty() {
        return Ok(None);
    }
    let held = |n: &Node| *n != 0 && holds(*n);
    for n in (0..volts.len()).filter(held) {
        let ac_volts = volts[n].unwrap_or(0.0);
        network.add("", Law::VoltageSource { plus: n, minus: 0, volts: 0.0, ac_volts });
    }
    let open = rises_to(&network, node).map_err(|why| why.to_string())?;
    let farads = capacity(&network, HERTZ, (node, 0)).map_err(|why| why.to_string())?;
    let (Some(volts), Some(farads)) = (open, farads) else { return Ok(None) };
    Ok(Some(Charge { volts, joules: 0.5 * farads * volts * volts, drained, capacitors }))
}

/// Volts to which capacitors lift a node.
fn rises_to(network: &Network, node: Node) -> Result<Option<f64>, crate::numeric::outcome::Unsolved> {
    let mut equations = Linearised::passive(network, Drive::Sources)?;
    equations.tune(HERTZ)?;
    equations.excite()?;
    Ok(equations.phasor_between(node, 0).map(num_complex::Complex64::norm))
}
