//! Whether the supply comes up before the valves that draw from it do.

use crate::circuit::types::TubeConstruction;
use crate::circuit::{CHASSIS, Circuit, NetId, Part, PartId};
use crate::model::Kind;

use super::paths::ways;
use super::ways::Ways;

/// Whether all that rectifies the high tension is valves with indirectly heated cathodes, past which nothing leads: their
/// volts then rise while the other valves begin to draw, as a rule, so that nobody can count on it. A supply whose
/// rectifier the text doesn't have may be of silicon.
pub(super) fn with_the_rest(circuit: &Circuit) -> bool {
    let valves: Vec<PartId> = circuit.part_ids().filter(|id| rectifier(circuit, *id)).collect();
    let slow = |id: &PartId| !broken(circuit.part(*id)) && indirectly_heated(circuit, *id);
    !valves.is_empty() && valves.iter().all(slow) && !led_past(circuit, &valves)
}

fn rectifier(circuit: &Circuit, id: PartId) -> bool {
    let part = circuit.part(id);
    let of = part.component.body.type_name.as_deref().and_then(|name| circuit.types.tube(name));
    let rectifies = of.is_some_and(|of| of.construction == TubeConstruction::Rectifier);
    part.kind == Kind::Tube && part.fitted() && rectifies
}

fn indirectly_heated(circuit: &Circuit, id: PartId) -> bool {
    let name = circuit.part(id).component.body.type_name.as_deref();
    name.and_then(|name| circuit.types.tube(name)).is_some_and(|of| of.indirectly_heated == Some(true))
}

/// A short inside conducts from the first moment on.
fn broken(part: &Part) -> bool {
    part.component.shorted || part.component.strays.iter().any(|stray| stray.leak.is_none())
}

/// Whether the windings reach what the valves feed over anything else: diodes beside them, a plug of silicon, a switch.
fn led_past(circuit: &Circuit, valves: &[PartId]) -> bool {
    let others = ways(circuit).into_iter().filter(|way| !valves.contains(&way.part));
    let open = Ways::new(others.filter(|way| circuit.part(way.part).kind != Kind::Source));
    let net = |id: PartId, leg: &str| circuit.leg_net(id, leg);
    let plates = valves.iter().flat_map(|id| [net(*id, "a.plate"), net(*id, "b.plate")]).flatten();
    let cathodes: Vec<NetId> = valves.iter().filter_map(|id| net(*id, "cathode")).collect();
    let reached = |plate| open.reached(plate, |_| true);
    plates.filter(|plate| *plate != CHASSIS).any(|plate| {
        let seen = reached(plate);
        cathodes.iter().any(|cathode| seen.contains(cathode))
    })
}
