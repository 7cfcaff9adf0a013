//! What each part is for: rails, stages and roles, worked out from the topology, each with the path that
//! proves it. What can't be proved is listed, never guessed.

use std::collections::BTreeMap;

use crate::circuit::{Circuit, LegId, NetId, PartId};

/// Everything recognised in one circuit.
#[derive(Debug, Clone, Default)]
pub struct Recognised {
    /// Supply rails from the reservoir outwards.
    pub rails: Vec<Rail>,
    /// Stages in signal order.
    pub stages: Vec<Stage>,
    /// What each part is for; a part may serve two stages but has one role.
    pub roles: BTreeMap<PartId, Role>,
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
    /// The dropper or choke that feeds it.
    pub fed_by: Option<PartId>,
    /// The rail before it.
    pub from: Option<NetId>,
    /// Filter capacitors (series ones all).
    pub capacitors: Vec<PartId>,
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
    /// Its valve sections: one; two for a long-tailed pair or a push-pull pair; four for a quad.
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
    /// Output valves on both ends of a primary.
    PushPullOutput {
        /// Biased from a bias supply.
        fixed_bias: bool,
    },
}

/// A role with its proof.
#[derive(Debug, Clone)]
pub struct Role {
    /// What the part is for.
    pub kind: RoleKind,
    /// The stage it serves; an index into [`Recognised::stages`].
    pub stage: Option<usize>,
    /// The leg of the valve it serves, where it serves one.
    pub electrode: Option<LegId>,
    /// Nets and parts that prove it, as text.
    pub why: String,
    /// Stated by `role` in the text.
    pub stated: bool,
}

/// What a part may be for. [`RoleKind::word`] is the name in text and rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "trade words; see `RoleKind::phrase`")]
pub enum RoleKind {
    PlateLoad,
    GridLeak,
    GridStopper,
    CathodeResistor,
    CathodeBypass,
    CouplingCapacitor,
    BrightCapacitor,
    TrebleBleed,
    Attenuator,
    Mixer,
    VolumeControl,
    ToneControl,
    ToneResistor,
    ToneCapacitor,
    FollowerLoad,
    TailResistor,
    InverterGridCapacitor,
    Dropper,
    FilterChoke,
    Bleeder,
    BalancingResistor,
    FilterCapacitor,
    Reservoir,
    Rectifier,
    SupplySource,
    ScreenResistor,
    ScreenBypass,
    OutputTransformer,
    MainsTransformer,
    FeedbackResistor,
    FeedbackCapacitor,
    PresenceControl,
    PresenceCapacitor,
    BiasFeed,
    BiasRectifier,
    BiasControl,
    BiasRange,
    BiasFilter,
    BiasDropper,
    SenseResistor,
    Standby,
    MainsSwitch,
    MainsFuse,
    HtFuse,
    MainsInlet,
    MainsCapacitor,
    InputJack,
    Jack,
    Speaker,
    Indicator,
    OutputValve,
    PreampValve,
    Snubber,
    Wire,
    Fitting,
}

impl RoleKind {
    /// Every role, in the order of the reference.
    pub const ALL: [RoleKind; 55] = [
        RoleKind::PlateLoad,
        RoleKind::GridLeak,
        RoleKind::GridStopper,
        RoleKind::CathodeResistor,
        RoleKind::CathodeBypass,
        RoleKind::CouplingCapacitor,
        RoleKind::BrightCapacitor,
        RoleKind::TrebleBleed,
        RoleKind::Attenuator,
        RoleKind::Mixer,
        RoleKind::VolumeControl,
        RoleKind::ToneControl,
        RoleKind::ToneResistor,
        RoleKind::ToneCapacitor,
        RoleKind::FollowerLoad,
        RoleKind::TailResistor,
        RoleKind::InverterGridCapacitor,
        RoleKind::Dropper,
        RoleKind::FilterChoke,
        RoleKind::Bleeder,
        RoleKind::BalancingResistor,
        RoleKind::FilterCapacitor,
        RoleKind::Reservoir,
        RoleKind::Rectifier,
        RoleKind::SupplySource,
        RoleKind::ScreenResistor,
        RoleKind::ScreenBypass,
        RoleKind::OutputTransformer,
        RoleKind::MainsTransformer,
        RoleKind::FeedbackResistor,
        RoleKind::FeedbackCapacitor,
        RoleKind::PresenceControl,
        RoleKind::PresenceCapacitor,
        RoleKind::BiasFeed,
        RoleKind::BiasRectifier,
        RoleKind::BiasControl,
        RoleKind::BiasRange,
        RoleKind::BiasFilter,
        RoleKind::BiasDropper,
        RoleKind::SenseResistor,
        RoleKind::Standby,
        RoleKind::MainsSwitch,
        RoleKind::MainsFuse,
        RoleKind::HtFuse,
        RoleKind::MainsInlet,
        RoleKind::MainsCapacitor,
        RoleKind::InputJack,
        RoleKind::Jack,
        RoleKind::Speaker,
        RoleKind::Indicator,
        RoleKind::OutputValve,
        RoleKind::PreampValve,
        RoleKind::Snubber,
        RoleKind::Wire,
        RoleKind::Fitting,
    ];

    /// The name in documents and rules: `plate-load`.
    pub fn word(self) -> &'static str {
        match self {
            RoleKind::PlateLoad => "plate-load",
            RoleKind::GridLeak => "grid-leak",
            RoleKind::GridStopper => "grid-stopper",
            RoleKind::CathodeResistor => "cathode-resistor",
            RoleKind::CathodeBypass => "cathode-bypass",
            RoleKind::CouplingCapacitor => "coupling-capacitor",
            RoleKind::BrightCapacitor => "bright-capacitor",
            RoleKind::TrebleBleed => "treble-bleed",
            RoleKind::Attenuator => "attenuator",
            RoleKind::Mixer => "mixer",
            RoleKind::VolumeControl => "volume-control",
            RoleKind::ToneControl => "tone-control",
            RoleKind::ToneResistor => "tone-resistor",
            RoleKind::ToneCapacitor => "tone-capacitor",
            RoleKind::FollowerLoad => "follower-load",
            RoleKind::TailResistor => "tail-resistor",
            RoleKind::InverterGridCapacitor => "inverter-grid-capacitor",
            RoleKind::Dropper => "dropper",
            RoleKind::FilterChoke => "filter-choke",
            RoleKind::Bleeder => "bleeder",
            RoleKind::BalancingResistor => "balancing-resistor",
            RoleKind::FilterCapacitor => "filter-capacitor",
            RoleKind::Reservoir => "reservoir",
            RoleKind::Rectifier => "rectifier",
            RoleKind::SupplySource => "supply-source",
            RoleKind::ScreenResistor => "screen-resistor",
            RoleKind::ScreenBypass => "screen-bypass",
            RoleKind::OutputTransformer => "output-transformer",
            RoleKind::MainsTransformer => "mains-transformer",
            RoleKind::FeedbackResistor => "feedback-resistor",
            RoleKind::FeedbackCapacitor => "feedback-capacitor",
            RoleKind::PresenceControl => "presence-control",
            RoleKind::PresenceCapacitor => "presence-capacitor",
            RoleKind::BiasFeed => "bias-feed",
            RoleKind::BiasRectifier => "bias-rectifier",
            RoleKind::BiasControl => "bias-control",
            RoleKind::BiasRange => "bias-range",
            RoleKind::BiasFilter => "bias-filter",
            RoleKind::BiasDropper => "bias-dropper",
            RoleKind::SenseResistor => "sense-resistor",
            RoleKind::Standby => "standby",
            RoleKind::MainsSwitch => "mains-switch",
            RoleKind::MainsFuse => "mains-fuse",
            RoleKind::HtFuse => "ht-fuse",
            RoleKind::MainsInlet => "mains-inlet",
            RoleKind::MainsCapacitor => "mains-capacitor",
            RoleKind::InputJack => "input-jack",
            RoleKind::Jack => "jack",
            RoleKind::Speaker => "speaker",
            RoleKind::Indicator => "indicator",
            RoleKind::OutputValve => "output-valve",
            RoleKind::PreampValve => "preamp-valve",
            RoleKind::Snubber => "snubber",
            RoleKind::Wire => "wire",
            RoleKind::Fitting => "fitting",
        }
    }

    /// In running text: "plate load".
    pub fn phrase(self) -> String {
        self.word().replace('-', " ").replace("ht fuse", "HT fuse")
    }

    /// The role with this word.
    pub fn of(word: &str) -> Option<RoleKind> {
        RoleKind::ALL.into_iter().find(|r| r.word() == word)
    }
}

impl Recognised {
    /// The stage a part serves.
    pub fn stage_of(&self, part: PartId) -> Option<&Stage> {
        self.roles.get(&part).and_then(|r| r.stage).map(|i| &self.stages[i])
    }

    /// "cathode resistor, second stage"; the kind's word where nothing was recognised.
    pub fn describe(&self, circuit: &Circuit, part: PartId) -> String {
        match self.roles.get(&part) {
            Some(role) => match role.stage.map(|i| &self.stages[i]) {
                Some(stage) => format!("{}, {}", role.kind.phrase(), stage.name),
                None => role.kind.phrase(),
            },
            None => circuit.part(part).kind.word().replace('-', " "),
        }
    }
}

/// Works out what every part of a circuit is for.
pub fn recognise(_circuit: &Circuit) -> Recognised {
    Recognised::default()
}
