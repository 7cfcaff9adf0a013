//! Gain of each stage at 1 kHz as a quantity that changes act on.

use super::effect::QuantityKind;
use crate::change::comparing::Side;
use crate::change::effect::{Quantities, QuantityName};
use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::model::Kind;
use crate::numeric::{OperatingPoint, Unsolved};
use crate::recognise::Section;
use crate::solve::lower::Lowered;
use crate::solve::signal::gain::{GAIN_HERTZ, decibels, gain_at};
use crate::solve::signal::model::{Rig, output};
use crate::solve::signal::ports::{Port, electrode, ports};

/// Which gains are asked for, of circuits that are much like one another.
pub(super) struct StageGains<'a> {
    /// The circuit that names stages and nets.
    named_by: Side<'a>,
    asked: Vec<Asked>,
}

/// One way through a stage.
struct Asked {
    port: Port,
    /// Index among the port's outputs.
    output: usize,
    name: QuantityName,
}

impl<'a> StageGains<'a> {
    /// Those of every stage that a circuit has.
    pub(super) fn of(named_by: Side<'a>) -> StageGains<'a> {
        let there = named_by.circuit;
        let mut asked = Vec::new();
        for port in ports(there, named_by.recognised, output(there, named_by.recognised)) {
            let names: Vec<String> =
                port.sections.iter().map(|s| format!("{}{}", there.part(s.tube).name, s.letter)).collect();
            let names = names.join(" ");
            for (output, net) in port.outputs.iter().enumerate() {
                let subject = match port.outputs.len() {
                    1 => names.clone(),
                    _ => format!("{names} to {}", there.net(*net).name),
                };
                let name = (QuantityKind::StageGain, subject);
                asked.push(Asked { port: port.clone(), output, name });
            }
        }
        StageGains { named_by, asked }
    }

    /// Only some of them.
    pub(super) fn only(mut self, wanted: impl Fn(&QuantityName) -> bool) -> StageGains<'a> {
        self.asked.retain(|asked| wanted(&asked.name));
        self
    }

    /// Whether none is asked for.
    pub(super) fn is_empty(&self) -> bool {
        self.asked.is_empty()
    }

    /// A solved circuit made ready for them; `like` is one much like it.
    pub(super) fn rig(
        &self,
        circuit: &Circuit,
        solved: (Lowered, OperatingPoint),
        like: Option<&Rig>,
    ) -> Result<Rig, Unsolved> {
        let mut rig = Rig::at(circuit, self.named_by.recognised, solved, like)?;
        rig.linear.tune(GAIN_HERTZ)?;
        Ok(rig)
    }

    /// The gains in dB of a circuit that was made ready. A stage that it lacks is absent.
    pub(super) fn in_rig(&self, circuit: &Circuit, rig: &mut Rig) -> Result<Quantities, Unsolved> {
        let mut table = Quantities::new();
        for asked in &self.asked {
            let Some(own) = carried(&asked.port, self.named_by.circuit, circuit) else { continue };
            let gain = gain_at(rig, &own, own.outputs[asked.output])?.map(decibels);
            if let Some(gain) = gain.filter(|gain| gain.is_finite()) {
                table.insert(asked.name.clone(), gain);
            }
        }
        Ok(table)
    }
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
