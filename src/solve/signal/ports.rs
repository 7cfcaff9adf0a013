//! Where each stage's signal enters and leaves, for its gain.

use crate::circuit::{Circuit, NetId};
use crate::model::Kind;
use crate::recognise::{Recognised, Section, Stage, StageKind};

/// One way into a stage: grids that are driven together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Port {
    /// Index into [`Recognised::stages`].
    pub stage: usize,
    /// Its sections behind these grids.
    pub sections: Vec<Section>,
    /// Their grid nets, valve side of the stoppers.
    pub grids: Vec<NetId>,
    /// Grid nets of the stage's other side, held at 0 while these are driven: a push-pull stage has one.
    pub held: Vec<NetId>,
    /// The stage's outputs.
    pub outputs: Vec<NetId>,
}

/// Every stage's ports in signal order: one each, of a push-pull stage one for each side.
pub fn ports(circuit: &Circuit, recognised: &Recognised, output: Option<NetId>) -> Vec<Port> {
    let mut ports = Vec::new();
    for (index, stage) in recognised.stages.iter().enumerate() {
        let outputs = outputs(stage, output);
        let sides = sides(circuit, stage);
        let grids: Vec<Vec<NetId>> = sides.iter().map(|side| grids(circuit, side)).collect();
        for (side, sections) in sides.into_iter().enumerate().filter(|(side, _)| !grids[*side].is_empty()) {
            let own = &grids[side];
            let held = grids.iter().flatten().copied().filter(|grid| !own.contains(grid)).collect();
            ports.push(Port { stage: index, sections, grids: own.clone(), held, outputs: outputs.clone() });
        }
    }
    ports
}

fn grids(circuit: &Circuit, sections: &[Section]) -> Vec<NetId> {
    let mut grids: Vec<NetId> = sections.iter().filter_map(|s| electrode(circuit, s, "grid")).collect();
    grids.sort_unstable();
    grids.dedup();
    grids
}

/// The first of the nets that wire links join with this one.
fn behind_links(circuit: &Circuit, net: NetId) -> NetId {
    let mut nets = vec![net];
    let mut next = 0;
    while next < nets.len() {
        for part in circuit.parts_on(nets[next]) {
            let linked = circuit.part(part).kind == Kind::Link && circuit.part(part).fitted();
            nets.extend(circuit.across(part, nets[next]).filter(|n| linked && !nets.contains(n)));
        }
        next += 1;
    }
    nets.into_iter().min().unwrap_or(net)
}

/// The net of a section's electrode.
pub(crate) fn electrode(circuit: &Circuit, section: &Section, electrode: &str) -> Option<NetId> {
    let leg = if section.letter.is_empty() {
        electrode.to_owned()
    } else {
        format!("{}.{electrode}", section.letter)
    };
    circuit.leg_net(section.tube, &leg)
}

/// Of an output transformer's taps only the one that the load is on counts.
fn outputs(stage: &Stage, output: Option<NetId>) -> Vec<NetId> {
    if stage.kind.is_output() {
        return output.or_else(|| stage.outputs.last().copied()).into_iter().collect();
    }
    stage.outputs.clone()
}

/// Sections whose grids one signal drives: all of a stage, one side of a push-pull stage, the first of a pair
/// with its other grid at signal ground.
fn sides(circuit: &Circuit, stage: &Stage) -> Vec<Vec<Section>> {
    match stage.kind {
        StageKind::LongTailedPair => stage.sections.iter().take(1).map(|s| vec![s.clone()]).collect(),
        StageKind::PushPullOutput { .. } => {
            let mut sides: Vec<(Option<NetId>, Vec<Section>)> = Vec::new();
            for section in &stage.sections {
                let plate = electrode(circuit, section, "plate").map(|net| behind_links(circuit, net));
                match sides.iter_mut().find(|side| side.0 == plate) {
                    Some(side) => side.1.push(section.clone()),
                    None => sides.push((plate, vec![section.clone()])),
                }
            }
            sides.into_iter().map(|side| side.1).collect()
        }
        _ => vec![stage.sections.clone()],
    }
}
