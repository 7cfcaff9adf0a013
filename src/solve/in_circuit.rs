//! A part's own value from a resistance read across its joints with power off.

use super::condition::Setup;
use super::lower::lower;
use super::network::{CHASSIS, Law};
use super::prepared::operating_point;
use crate::circuit::{Circuit, PartId};

/// Test current of the reading: small enough that a megohm stays far from the solver's bounds.
const TEST_AMPS: f64 = 1e-6;

/// A circuit with every in-circuit reading turned into the part's own value, where one explains it. With power
/// off, valves, diodes, sources and capacitors do not conduct; controls stand as set.
#[must_use]
pub fn own_values(mut circuit: Circuit) -> Circuit {
    let read: Vec<PartId> = circuit
        .part_ids()
        .filter(|id| {
            circuit.part(*id).component.read_in_circuit.is_some()
                && circuit.part(*id).component.measured.is_none()
        })
        .collect();
    let values: Vec<Option<f64>> = read.iter().map(|id| own_value(&circuit, *id)).collect();
    for (id, value) in read.into_iter().zip(values) {
        circuit.parts[id.0 as usize].component.measured = value;
    }
    circuit
}

/// The part in parallel with all around it gives the reading: 1/R = 1/read − 1/around. `None` where the reading is
/// not below what is around it, so that no value explains it.
fn own_value(circuit: &Circuit, id: PartId) -> Option<f64> {
    let read = circuit.part(id).component.read_in_circuit?;
    match resistance_around(circuit, id) {
        Some(around) => (read < around).then(|| 1.0 / (1.0 / read - 1.0 / around)),
        None => Some(read),
    }
}

/// Resistance between a part's joints without the part; `None` where nothing else joins them.
fn resistance_around(circuit: &Circuit, id: PartId) -> Option<f64> {
    let (a, b) = circuit.ends(id)?;
    let mut setup = Setup::idle();
    setup.removed.insert(id);
    let mut lowered = lower(circuit, &setup);
    let passive =
        |law: &Law| matches!(law, Law::Resistor { .. } | Law::Inductor { .. } | Law::Windings { .. });
    lowered.network.elements.retain(|element| passive(&element.law));
    let node = |net: crate::circuit::NetId| lowered.node_of[net.0 as usize];
    let (a, b) = (node(a)?, node(b)?);
    // Holds one end at 0 V without carrying current, as the rest may have no way to chassis.
    let hold = Law::VoltageSource { plus: b, minus: CHASSIS, volts: 0.0, ac_volts: 0.0 };
    if b != CHASSIS {
        lowered.network.add("meter", hold);
    }
    lowered.network.add("meter", Law::CurrentSource { from: b, to: a, amps: TEST_AMPS });
    let point = operating_point(&lowered.network).ok()?;
    Some(point.volts(a)? / TEST_AMPS)
}
