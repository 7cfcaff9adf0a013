//! What the changes between two circuits did to computed quantities, and which change did how much.

use std::collections::BTreeMap;

use crate::units::Unit;

/// How one computed quantity moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// What moved: `B3`, `V1b.plate`, `V5`, `R40`.
    pub subject: String,
    /// Which quantity of it.
    pub quantity: QuantityKind,
    /// Its unit.
    pub unit: Unit,
    /// Before; `None` where undefined.
    pub before: Option<f64>,
    /// After; `None` where undefined.
    pub after: Option<f64>,
    /// Which changes caused it. The amounts of shares, joint sets and the mutual rest add up to after − before.
    pub causes: Vec<Cause>,
}

/// Kinds of quantities that effects are listed for, in the order they are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum QuantityKind {
    /// Volts of a rail.
    RailVolts,
    /// Volts of a valve's electrode to chassis.
    ElectrodeVolts,
    /// Cathode current of a valve section.
    IdleCurrent,
    /// Plate dissipation of a valve section.
    PlateDissipation,
    /// Screen dissipation of a valve.
    ScreenDissipation,
    /// Power in a resistor, choke or control.
    PartPower,
    /// Gain of a stage at 1 kHz from its grid, in dB.
    StageGain,
    /// Level at 80 Hz of the whole way from the driven jack to the output, controls as they stand, in dB.
    Bass,
    /// The same at 400 Hz.
    Middle,
    /// The same at 3 kHz.
    Treble,
}

/// Levels of the whole way, low to high.
pub const TONE: [QuantityKind; 3] = [QuantityKind::Bass, QuantityKind::Middle, QuantityKind::Treble];

impl QuantityKind {
    /// In text and JSON.
    pub fn word(self) -> &'static str {
        match self {
            QuantityKind::RailVolts => "rail",
            QuantityKind::ElectrodeVolts => "electrode",
            QuantityKind::IdleCurrent => "idle current",
            QuantityKind::PlateDissipation => "plate dissipation",
            QuantityKind::ScreenDissipation => "screen dissipation",
            QuantityKind::PartPower => "power",
            QuantityKind::StageGain => "stage gain",
            QuantityKind::Bass => "bass",
            QuantityKind::Middle => "middle",
            QuantityKind::Treble => "treble",
        }
    }
}

impl QuantityKind {
    /// Over a list of them.
    pub fn heading(self) -> &'static str {
        match self {
            QuantityKind::RailVolts => "rails",
            QuantityKind::ElectrodeVolts => "electrodes, to chassis",
            QuantityKind::IdleCurrent => "cathode currents",
            QuantityKind::PlateDissipation => "plate dissipation",
            QuantityKind::ScreenDissipation => "screen dissipation",
            QuantityKind::PartPower => "power in parts",
            QuantityKind::StageGain => "gain of stages at 1 kHz",
            QuantityKind::Bass => "bass, the whole way at 80 Hz",
            QuantityKind::Middle => "middle, the whole way at 400 Hz",
            QuantityKind::Treble => "treble, the whole way at 3 kHz",
        }
    }

    /// At what frequency the level of the whole way is told: common practice for bass, middle and treble of a guitar
    /// amplifier, no source; `None` of what is no such level.
    pub fn tone_hertz(self) -> Option<f64> {
        match self {
            QuantityKind::Bass => Some(80.0),
            QuantityKind::Middle => Some(400.0),
            QuantityKind::Treble => Some(3e3),
            _ => None,
        }
    }

    /// Whether it is told in dB, of a signal.
    pub fn is_level(self) -> bool {
        self == QuantityKind::StageGain || self.tone_hertz().is_some()
    }
}

/// One cause of an effect.
#[derive(Debug, Clone, PartialEq)]
pub enum Cause {
    /// One change (or bundle that can't be told apart) and its share.
    Share {
        /// Indices of the bundle's changes.
        changes: Vec<usize>,
        /// Its part of after − before.
        amount: f64,
    },
    /// Changes that act on each other: their total is known, their parts are not.
    Joint {
        /// The members.
        members: Vec<JointMember>,
        /// The total of all members.
        amount: f64,
    },
    /// A rest that no change fails the test for.
    Mutual {
        /// The rest.
        amount: f64,
    },
}

/// One member of a joint cause.
#[derive(Debug, Clone, PartialEq)]
pub struct JointMember {
    /// Indices of the bundle's changes.
    pub changes: Vec<usize>,
    /// What it does alone to the first circuit; `None` where that can't be solved.
    pub alone: Option<f64>,
    /// What it does last, with all others in.
    pub last: Option<f64>,
}

impl Cause {
    /// Its part of after − before.
    pub fn amount(&self) -> f64 {
        match self {
            Cause::Share { amount, .. } | Cause::Joint { amount, .. } | Cause::Mutual { amount } => *amount,
        }
    }

    /// The first change it names.
    pub(super) fn first(&self) -> Option<usize> {
        match self {
            Cause::Share { changes, .. } => changes.first().copied(),
            Cause::Joint { members, .. } => members.first().and_then(|m| m.changes.first().copied()),
            Cause::Mutual { .. } => None,
        }
    }
}

/// Names a quantity across circuits.
pub type QuantityName = (QuantityKind, String);

/// A table of quantities of one solved circuit; absent where undefined.
pub type Quantities = BTreeMap<QuantityName, f64>;
