//! Parts of which it isn't known what they pass, at their worst: wire.
//!
//! What is left out of the equations because its value isn't known would stop everything on its way, where it may as
//! well stop nothing.

use std::collections::{BTreeMap, BTreeSet};

use super::evaluate::Question;
use super::situation::{Situation, Supply};
use super::{Route, within_reach};
use crate::circuit::{Circuit, Part, PartId};
use crate::model::{Construction, Kind};
use crate::solve::lower::lower;
use crate::solve::setup::Setup;

/// A track from which a wiper at its end takes all that comes in, however little the source carries.
const FREE_TRACK_OHMS: f64 = 10e6;
/// A track as wire.
const WIRE_OHMS: f64 = 1e-3;

/// Parts that pass something nobody can work out: of unknown value, or of a law that isn't modelled.
pub(super) fn parts(circuit: &Circuit) -> BTreeSet<PartId> {
    let unmodelled = |id: &PartId| circuit.part(*id).kind == Kind::Varistor && circuit.part(*id).fitted();
    let unknown = lower(circuit, &Setup::idle()).unknown;
    let joins = unknown.into_iter().filter(|id| passes(circuit.part(*id)));
    joins.chain(circuit.part_ids().filter(unmodelled)).collect()
}

fn passes(part: &Part) -> bool {
    matches!(
        part.kind,
        Kind::Resistor
            | Kind::Thermistor
            | Kind::Lamp
            | Kind::Capacitor
            | Kind::Pot
            | Kind::Trimmer
            | Kind::Zener
    )
}

/// The circuit with these parts as wire. What leads to the chassis alone takes high tension away instead of bringing it,
/// so that there the part is at its worst when it is open.
pub(super) fn at_worst(circuit: &Circuit, unknown: &BTreeSet<PartId>, route: Route) -> Circuit {
    let mut worst = circuit.clone();
    let draining = if route == Route::Mains { BTreeSet::new() } else { drains(circuit, unknown, route) };
    for id in unknown {
        let part = worst.part_mut(*id);
        let drains = draining.contains(id);
        match part.kind {
            Kind::Pot | Kind::Trimmer => {
                part.component.body.value = Some(if drains { FREE_TRACK_OHMS } else { WIRE_OHMS });
            }
            _ => part.component.shorted = !drains,
        }
    }
    worst
}

/// Parts that lie on the chassis, or lead nowhere but to it and to others of that sort: to nothing that drives the route
/// or is within reach.
fn drains(circuit: &Circuit, unknown: &BTreeSet<PartId>, route: Route) -> BTreeSet<PartId> {
    let reach = within_reach(circuit);
    let question = Question { circuit, reach: &reach, removed: unknown.clone(), only: None };
    let rig = question.plain_rig(route, &Situation::default(), Supply::ALL[0]);
    let chassis = rig.chassis();
    let groups = rig.groups(route, &[chassis]);
    let met: BTreeSet<usize> =
        rig.live.iter().chain(rig.reach.iter().flatten()).map(|node| groups[*node]).collect();
    // For each part the groups at its ends, `None` the chassis.
    let ends = |id: &PartId| -> BTreeSet<Option<usize>> {
        let nets = circuit.part(*id).legs.iter().filter_map(|leg| leg.net);
        let nodes = nets.filter_map(|net| rig.node_of[net.0 as usize]);
        nodes.map(|node| (node != chassis).then_some(groups[node])).collect()
    };
    let mut left: BTreeMap<PartId, BTreeSet<Option<usize>>> =
        unknown.iter().map(|id| (*id, ends(id))).collect();
    let mut draining = BTreeSet::new();
    loop {
        let mut parts_at: BTreeMap<Option<usize>, usize> = BTreeMap::new();
        left.values().flatten().for_each(|end| *parts_at.entry(*end).or_default() += 1);
        let blind = |end: &Option<usize>| end.is_none_or(|at| !met.contains(&at) && parts_at[end] == 1);
        let before = draining.len();
        draining.extend(left.iter().filter(|(_, ends)| ends.iter().any(blind)).map(|(id, _)| *id));
        left.retain(|id, _| !draining.contains(id));
        if draining.len() == before {
            return draining;
        }
    }
}

/// Whether a part is a capacitor made to lie between the mains and an earthed chassis.
pub(super) fn is_class_y(part: &Part) -> bool {
    matches!(part.component.body.construction, Some(Construction::Y1 | Construction::Y2))
}
