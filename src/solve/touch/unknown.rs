//! Parts of which it isn't known what they pass, at their worst: wire.
//!
//! What is left out of the equations because its value isn't known would stop everything on its way, where it may as
//! well stop nothing.

use std::collections::BTreeSet;

use super::Route;
use crate::circuit::{CHASSIS, Circuit, Part, PartId};
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

/// The circuit with these parts as wire. What lies on chassis takes high tension away instead of bringing it, so that
/// there the part is at its worst when it is open.
pub(super) fn at_worst(circuit: &Circuit, unknown: &BTreeSet<PartId>, route: Route) -> Circuit {
    let mut worst = circuit.clone();
    for id in unknown {
        let part = worst.part_mut(*id);
        let drains = route != Route::Mains && part.legs.iter().any(|leg| leg.net == Some(CHASSIS));
        match part.kind {
            Kind::Pot | Kind::Trimmer => {
                part.component.body.value = Some(if drains { FREE_TRACK_OHMS } else { WIRE_OHMS });
            }
            _ => part.component.shorted = !drains,
        }
    }
    worst
}

/// Whether a part is a capacitor made to lie between the mains and an earthed chassis.
pub(super) fn is_class_y(part: &Part) -> bool {
    matches!(part.component.body.construction, Some(Construction::Y1 | Construction::Y2))
}
