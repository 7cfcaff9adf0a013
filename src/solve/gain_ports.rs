//! Where each stage's signal enters and leaves, for its gain (judging.md, "Stage gain").

use crate::circuit::{Circuit, NetId};
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
    /// The stage's outputs.
    pub outputs: Vec<NetId>,
}

/// Every stage's ports in signal order: one each, of a push-pull stage one for each side.
pub fn ports(circuit: &Circuit, recognised: &Recognised, output: Option<NetId>) -> Vec<Port> {
    let mut ports = Vec::new();
    for (index, stage) in recognised.stages.iter().enumerate() {
        let outputs = outputs(stage, output);
        for sections in sides(circuit, stage) {
            let mut grids: Vec<NetId> =
                sections.iter().filter_map(|s| electrode(circuit, s, "grid")).collect();
            grids.sort_unstable();
            grids.dedup();
            if !grids.is_empty() {
                ports.push(Port { stage: index, sections, grids, outputs: outputs.clone() });
            }
        }
    }
    ports
}

/// The net of a section's electrode.
pub(super) fn electrode(circuit: &Circuit, section: &Section, electrode: &str) -> Option<NetId> {
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
                let plate = electrode(circuit, section, "plate");
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
