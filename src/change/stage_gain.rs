//! Gain of each stage at 1 kHz as a quantity that changes act on.

use super::effect::QuantityKind;
use crate::change::comparing::Side;
use crate::change::effect::Quantities;
use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::model::Kind;
use crate::numeric::{OperatingPoint, Unsolved};
use crate::recognise::Section;
use crate::solve::lower::Lowered;
use crate::solve::signal::gain::{decibels, gain_at};
use crate::solve::signal::model::{Rig, output};
use crate::solve::signal::ports::{Port, electrode, ports};

/// The gains of the stages that `named_by` has, in dB at 1 kHz, of a solved circuit; `lowered` and `point` are its.
/// A stage that the circuit lacks is absent.
pub(super) fn stage_gains(
    circuit: &Circuit,
    named_by: Side,
    lowered: Lowered,
    point: OperatingPoint,
) -> Result<Quantities, Unsolved> {
    let mut table = Quantities::new();
    let mut rig = Rig::at(circuit, named_by.recognised, lowered, point)?;
    let there = named_by.circuit;
    let known = ports(there, named_by.recognised, output(there, named_by.recognised));
    let several = |port: &Port| port.outputs.len() > 1;
    rig.linear.tune(crate::solve::signal::gain::GAIN_HERTZ)?;
    for port in &known {
        let Some(own) = carried(port, there, circuit) else { continue };
        let names: Vec<String> =
            port.sections.iter().map(|s| format!("{}{}", there.part(s.tube).name, s.letter)).collect();
        let mut subject = names.join(" ");
        for (output, name) in own.outputs.iter().zip(&port.outputs) {
            if several(port) {
                subject = format!("{} to {}", names.join(" "), there.net(*name).name);
            }
            if let Some(gain) = gain_at(&mut rig, &own, *output)?
                && decibels(gain).is_finite()
            {
                table.insert((QuantityKind::StageGain, subject.clone()), decibels(gain));
            }
        }
    }
    Ok(table)
}

/// The same port in another circuit, by the names of its valves and of a leg at each output.
fn carried(port: &Port, from: &Circuit, to: &Circuit) -> Option<Port> {
    let part = |id: PartId| to.find(&from.part(id).name).filter(|id| to.part(*id).fitted());
    let sections: Option<Vec<Section>> = port
        .sections
        .iter()
        .map(|s| Some(Section { tube: part(s.tube)?, letter: s.letter.clone() }))
        .collect();
    let sections = sections?;
    let net = |net: &NetId| -> Option<NetId> {
        // A valve's or a transformer's own leg stays where it is when others around it move.
        let kind = |leg: &&LegId| match from.part(leg.part).kind {
            Kind::Tube => 0,
            Kind::OutputTransformer => 1,
            _ => 2,
        };
        let mut legs: Vec<&LegId> = from.net(*net).legs.iter().collect();
        legs.sort_by_key(kind);
        legs.into_iter().find_map(|leg| {
            let name = &from.part(leg.part).legs[leg.leg as usize].name;
            to.leg_net(part(leg.part)?, name)
        })
    };
    let mut grids: Vec<NetId> =
        sections.iter().map(|s| electrode(to, s, "grid")).collect::<Option<Vec<_>>>()?;
    grids.sort_unstable();
    grids.dedup();
    let held: Vec<NetId> = port.held.iter().filter_map(net).filter(|net| !grids.contains(net)).collect();
    let outputs: Option<Vec<NetId>> = port.outputs.iter().map(net).collect();
    Some(Port { stage: port.stage, sections, grids, held, outputs: outputs? })
}
