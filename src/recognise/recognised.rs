//! What was recognised of one circuit.

use std::collections::{BTreeMap, BTreeSet};

use super::role::Role;
use crate::circuit::{Circuit, NetId, PartId};
use crate::model::RoleKind;

/// Everything recognised in one circuit.
#[derive(Debug, Clone, Default)]
pub struct Recognised {
    /// Supply rails from the reservoir outwards, then those below chassis.
    pub rails: Vec<Rail>,
    /// Stages in signal order.
    pub stages: Vec<Stage>,
    /// Ways from a stage's output to the next grids.
    pub couplings: Vec<Coupling>,
    /// What each part is for that is fitted and wholly joined; a part may serve two stages but has one role.
    pub roles: BTreeMap<PartId, Role>,
    /// What a missing part, or one with a lifted leg, is for by the joints it belongs to.
    pub by_joint: BTreeMap<PartId, Role>,
    /// Nets of the bias supply.
    pub bias: BTreeSet<NetId>,
    /// Valve sections in no recognised stage.
    pub strange_sections: Vec<Section>,
    /// Fitted parts without a role, in natural order.
    pub unrecognised: Vec<PartId>,
}

/// A net that feeds stages from the supply.
#[derive(Debug, Clone)]
pub struct Rail {
    /// The net.
    pub net: NetId,
    /// How many droppers or chokes from the supply; the reservoir's is 0.
    pub depth: u32,
    /// The dropper, choke, standby switch, fuse or link that feeds it (missing or lifted where `fed` is false).
    pub fed_by: Option<PartId>,
    /// The rail before it.
    pub from: Option<NetId>,
    /// Fitted filter capacitors (series ones all).
    pub capacitors: Vec<PartId>,
    /// Whether a source reaches it through parts that are there and joined.
    pub fed: bool,
    /// Nets and parts from the supply to it, as text: `HT — B1 — R40 — B2`.
    pub why: String,
}

/// A section of a valve: `V1a`; `letter` is empty for a one-section valve.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Section {
    /// The valve.
    pub tube: PartId,
    /// `a`, `b` or empty.
    pub letter: String,
}

/// One recognised stage.
#[derive(Debug, Clone)]
pub struct Stage {
    /// What it is.
    pub kind: StageKind,
    /// Its fitted valve sections: one (more in parallel); two for a long-tailed pair or a push-pull pair; four for a quad.
    pub sections: Vec<Section>,
    /// In the trade's words: "second stage", "cathode follower", "phase inverter", "output stage".
    pub name: String,
    /// Nets of the control grids (valve side of the stoppers), in the order of `sections`.
    pub inputs: Vec<NetId>,
    /// Output nets: plate, cathode of a follower, both plates of an inverter, the transformer's taps of an output stage.
    pub outputs: Vec<NetId>,
    /// The path that proves it, as text.
    pub why: String,
}

/// Kinds of stages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StageKind {
    /// Plate loaded, signal at the grid, cathode at signal ground.
    CommonCathode {
        /// The cathode resistor has a bypass capacitor.
        bypassed: bool,
    },
    /// Plate at a rail, output at the cathode.
    CathodeFollower {
        /// The grid sits directly on the plate before it.
        direct_coupled: bool,
    },
    /// Two sections with their cathodes joined over a tail.
    LongTailedPair,
    /// One section with equal loads at plate and cathode.
    SplitLoad,
    /// One output valve (or several in parallel) on one primary.
    SingleEndedOutput {
        /// Biased from a bias supply rather than its cathode resistor.
        fixed_bias: bool,
    },
    /// A valve that drives a reverb transformer.
    ReverbDriver,
    /// Output valves on both ends of a primary.
    PushPullOutput {
        /// Biased from a bias supply.
        fixed_bias: bool,
    },
}

impl StageKind {
    /// Whether it drives an output transformer.
    pub fn is_output(self) -> bool {
        matches!(self, StageKind::SingleEndedOutput { .. } | StageKind::PushPullOutput { .. })
    }

    /// In running text: "long-tailed pair".
    pub fn phrase(self) -> &'static str {
        match self {
            StageKind::CommonCathode { bypassed: true } => "common cathode, bypassed",
            StageKind::CommonCathode { bypassed: false } => "common cathode, not bypassed",
            StageKind::CathodeFollower { direct_coupled: true } => "cathode follower, direct-coupled",
            StageKind::CathodeFollower { direct_coupled: false } => "cathode follower",
            StageKind::LongTailedPair => "long-tailed pair",
            StageKind::SplitLoad => "split-load inverter",
            StageKind::SingleEndedOutput { fixed_bias: true } => "single-ended output, fixed bias",
            StageKind::SingleEndedOutput { fixed_bias: false } => "single-ended output, cathode bias",
            StageKind::ReverbDriver => "reverb driver",
            StageKind::PushPullOutput { fixed_bias: true } => "push-pull output, fixed bias",
            StageKind::PushPullOutput { fixed_bias: false } => "push-pull output, cathode bias",
        }
    }
}

/// A way from a stage's output to a grid of another, without passing a valve.
#[derive(Debug, Clone)]
pub struct Coupling {
    /// The stage; an index into [`Recognised::stages`].
    pub from: usize,
    /// Its output net.
    pub output: NetId,
    /// The stage it leads to.
    pub to: usize,
    /// The grid's net there.
    pub input: NetId,
    /// Parts on the way, in order; none where the grid sits on the output itself.
    pub parts: Vec<PartId>,
    /// The way as text.
    pub why: String,
}

impl Recognised {
    /// What a part is for: as it is joined, else by its joints.
    pub fn role(&self, part: PartId) -> Option<&Role> {
        self.roles.get(&part).or_else(|| self.by_joint.get(&part))
    }

    /// Fitted and joined parts with a role, in natural order.
    pub fn parts_with(&self, kind: RoleKind) -> impl Iterator<Item = PartId> + '_ {
        self.roles.iter().filter(move |(_, r)| r.kind == kind).map(|(p, _)| *p)
    }

    /// The rail of a net.
    pub fn rail(&self, net: NetId) -> Option<&Rail> {
        self.rails.iter().find(|r| r.net == net)
    }

    /// Droppers and chokes directly between two nets, in natural order.
    pub fn droppers_between(&self, circuit: &Circuit, a: NetId, b: NetId) -> Vec<PartId> {
        let feeds = |p: &PartId| circuit.ends(*p).is_some_and(|(x, y)| (x, y) == (a, b) || (x, y) == (b, a));
        let kinds = [RoleKind::Dropper, RoleKind::FilterChoke];
        self.roles.iter().filter(|(_, r)| kinds.contains(&r.kind)).map(|(p, _)| *p).filter(feeds).collect()
    }

    /// The stage a section belongs to.
    pub fn stage_with(&self, section: &Section) -> Option<usize> {
        self.stages.iter().position(|s| s.sections.contains(section))
    }

    /// Couplings out of a stage.
    pub fn couplings_from(&self, stage: usize) -> impl Iterator<Item = &Coupling> {
        self.couplings.iter().filter(move |c| c.from == stage)
    }

    /// The stage a part serves.
    pub fn stage_of(&self, part: PartId) -> Option<&Stage> {
        self.role(part).and_then(|r| r.stage).map(|i| &self.stages[i])
    }

    /// "cathode resistor, second stage"; the kind's word where nothing was recognised.
    pub fn describe(&self, circuit: &Circuit, part: PartId) -> String {
        match self.role(part) {
            Some(role) => match role.stage.map(|i| &self.stages[i]) {
                Some(stage) => format!("{}, {}", role.kind.phrase(), stage.name),
                None => role.kind.phrase(),
            },
            None => circuit.part(part).kind.word().replace('-', " "),
        }
    }
}
