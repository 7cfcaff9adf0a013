//! Gain of each stage at 1 kHz, and bass, middle and treble of the whole way, as quantities that changes act on.

use super::effect::{QuantityKind, TONE};
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
    /// Levels of the whole way; none where nothing is said to drive it.
    tone: Vec<QuantityName>,
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
        StageGains { named_by, asked, tone: tone(named_by) }
    }

    /// Only some of them.
    pub(super) fn only(mut self, wanted: impl Fn(&QuantityName) -> bool) -> StageGains<'a> {
        self.asked.retain(|asked| wanted(&asked.name));
        self.tone.retain(wanted);
        self
    }

    /// Whether none is asked for.
    pub(super) fn is_empty(&self) -> bool {
        self.asked.is_empty() && self.tone.is_empty()
    }

    /// A solved circuit made ready for them; `like` is one much like it.
    pub(super) fn rig(
        &self,
        circuit: &Circuit,
        solved: (Lowered, OperatingPoint),
        like: Option<&Rig>,
    ) -> Result<Rig, Unsolved> {
        Rig::at(circuit, self.named_by.recognised, solved, like)
    }

    /// The gains in dB of a circuit that was made ready. A stage that it lacks is absent.
    pub(super) fn in_rig(&self, circuit: &Circuit, rig: &mut Rig) -> Result<Quantities, Unsolved> {
        let mut table = self.tone_in(circuit, rig)?;
        if !self.asked.is_empty() {
            rig.linear.tune(GAIN_HERTZ)?;
        }
        for asked in &self.asked {
            let Some(own) = carried(&asked.port, self.named_by.circuit, circuit) else { continue };
            let gain = gain_at(rig, &own, own.outputs[asked.output])?.map(decibels);
            if let Some(gain) = gain.filter(|gain| gain.is_finite()) {
                table.insert(asked.name.clone(), gain);
            }
        }
        Ok(table)
    }

    /// Levels of the whole way, where the same jack drives it.
    fn tone_in(&self, circuit: &Circuit, rig: &mut Rig) -> Result<Quantities, Unsolved> {
        let mut table = Quantities::new();
        let from = |circuit: &Circuit| circuit.drive.map(|(jack, _)| circuit.part(jack).name.clone());
        let to = output(self.named_by.circuit, self.named_by.recognised);
        let to = to.and_then(|net| same_net(self.named_by.circuit, circuit, net));
        let Some(to) = to.filter(|_| rig.driven && from(circuit) == from(self.named_by.circuit)) else {
            return Ok(table);
        };
        for name in &self.tone {
            rig.linear.tune(name.0.tone_hertz().expect("a level of the whole way"))?;
            rig.linear.excite()?;
            let level = rig.phasor(to).map(decibels).filter(|level| level.is_finite());
            table.extend(level.map(|level| (name.clone(), level)));
        }
        Ok(table)
    }
}

/// Bass, middle and treble from the driven jack to the output.
fn tone(side: Side) -> Vec<QuantityName> {
    let (circuit, to) = (side.circuit, output(side.circuit, side.recognised));
    let Some(((jack, _), to)) = circuit.drive.zip(to) else { return Vec::new() };
    let way = format!("{} to {}", circuit.part(jack).name, circuit.net(to).name);
    TONE.map(|kind| (kind, way.clone())).to_vec()
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
    let net = |net: &NetId| same_net(from, to, *net);
    let mut grids: Vec<NetId> =
        sections.iter().map(|s| electrode(to, s, "grid")).collect::<Option<Vec<_>>>()?;
    grids.sort_unstable();
    grids.dedup();
    let held: Vec<NetId> = port.held.iter().filter_map(net).filter(|net| !grids.contains(net)).collect();
    let outputs: Option<Vec<NetId>> = port.outputs.iter().map(net).collect();
    Some(Port { stage: port.stage, sections, grids, held, outputs: outputs? })
}

/// A net of one circuit in another, by the name of a leg in it.
fn same_net(from: &Circuit, to: &Circuit, net: NetId) -> Option<NetId> {
    // A valve's or a transformer's own leg stays where it is when others around it move.
    let kind = |leg: &&LegId| match from.part(leg.part).kind {
        Kind::Tube => 0,
        Kind::OutputTransformer => 1,
        _ => 2,
    };
    let mut legs: Vec<&LegId> = from.net(net).legs.iter().collect();
    legs.sort_by_key(kind);
    legs.into_iter().find_map(|leg| {
        let part = to.find(&from.part(leg.part).name).filter(|id| to.part(*id).fitted())?;
        to.leg_net(part, &from.part(leg.part).legs[leg.leg as usize].name)
    })
}
