//! Rails, stages and roles as JSON.

use serde::Serialize;

use super::{Head, Report};
use crate::circuit::{Circuit, NetId, PartId};
use crate::recognise::{Rail, Recognised, Section, Stage, StageKind};

#[derive(Debug, Serialize)]
struct RolesJson<'a> {
    rails: Vec<RailJson<'a>>,
    stages: Vec<StageJson<'a>>,
    roles: Vec<RoleJson<'a>>,
    unrecognised: Vec<&'a str>,
    strange_sections: Vec<String>,
}

#[derive(Debug, Serialize)]
struct RailJson<'a> {
    rail: &'a str,
    depth: u32,
    fed_by: Option<&'a str>,
    from: Option<&'a str>,
    capacitors: Vec<&'a str>,
    why: &'a str,
}

#[derive(Debug, Serialize)]
struct StageJson<'a> {
    stage: &'a str,
    kind: &'static str,
    sections: Vec<String>,
    inputs: Vec<&'a str>,
    outputs: Vec<&'a str>,
    why: &'a str,
}

#[derive(Debug, Serialize)]
struct RoleJson<'a> {
    part: &'a str,
    role: &'static str,
    stage: Option<&'a str>,
    electrode: Option<String>,
    stated: bool,
    why: &'a str,
}

/// Everything recognised, with the documents it is of.
pub fn roles<'a>(
    head: Head<'a>,
    circuit: &'a Circuit,
    recognised: &'a Recognised,
) -> impl Serialize + use<'a> {
    let namer = Namer(circuit);
    let told = RolesJson {
        rails: recognised.rails.iter().map(|r| namer.rail(r)).collect(),
        stages: recognised.stages.iter().map(|s| namer.stage(s)).collect(),
        roles: recognised
            .roles
            .iter()
            .map(|(id, role)| RoleJson {
                part: namer.part(*id),
                role: role.kind.word(),
                stage: role.stage.map(|i| recognised.stages[i].name.as_str()),
                electrode: role.electrode.map(|leg| circuit.leg_name(leg)),
                stated: role.stated,
                why: &role.why,
            })
            .collect(),
        unrecognised: recognised.unrecognised.iter().map(|id| namer.part(*id)).collect(),
        strange_sections: recognised.strange_sections.iter().map(|s| namer.section(s)).collect(),
    };
    Report::new("asfound/roles/1", head, told)
}

/// Names for ids.
#[derive(Clone, Copy)]
struct Namer<'a>(&'a Circuit);

impl<'a> Namer<'a> {
    fn part(self, id: PartId) -> &'a str {
        &self.0.part(id).name
    }

    fn net(self, id: NetId) -> &'a str {
        &self.0.net(id).name
    }

    fn section(self, section: &Section) -> String {
        format!("{}{}", self.part(section.tube), section.letter)
    }

    fn rail(self, rail: &'a Rail) -> RailJson<'a> {
        RailJson {
            rail: self.net(rail.net),
            depth: rail.depth,
            fed_by: rail.fed_by.map(|id| self.part(id)),
            from: rail.from.map(|net| self.net(net)),
            capacitors: rail.capacitors.iter().map(|id| self.part(*id)).collect(),
            why: &rail.why,
        }
    }

    fn stage(self, stage: &'a Stage) -> StageJson<'a> {
        StageJson {
            stage: &stage.name,
            kind: kind_word(stage.kind),
            sections: stage.sections.iter().map(|s| self.section(s)).collect(),
            inputs: stage.inputs.iter().map(|net| self.net(*net)).collect(),
            outputs: stage.outputs.iter().map(|net| self.net(*net)).collect(),
            why: &stage.why,
        }
    }
}

fn kind_word(kind: StageKind) -> &'static str {
    match kind {
        StageKind::CommonCathode { .. } => "common-cathode",
        StageKind::CathodeFollower { .. } => "cathode-follower",
        StageKind::LongTailedPair => "long-tailed-pair",
        StageKind::ReverbDriver => "reverb-driver",
        StageKind::SplitLoad => "split-load",
        StageKind::SingleEndedOutput { .. } => "single-ended-output",
        StageKind::PushPullOutput { .. } => "push-pull-output",
    }
}
