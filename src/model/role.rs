//! What parts are for: the roles and their words.

use strum::{IntoStaticStr, VariantArray};

/// What a part may be for. [`RoleKind::word`] is the name in text and rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, VariantArray, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
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
    HeaterReference,
    ReverbTransformer,
    InrushLimiter,
    SurgeArrester,
    ProtectionDiode,
    CathodeDiode,
    CathodeLoad,
    SignalSwitch,
    LoadResistor,
    FeedbackShunt,
}

impl RoleKind {
    /// Every role, in the order of the reference.
    pub const ALL: [RoleKind; RoleKind::VARIANTS.len()] =
        *RoleKind::VARIANTS.first_chunk().expect("all of them");

    /// The name in documents and rules: `plate-load`.
    pub fn word(self) -> &'static str {
        self.into()
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
