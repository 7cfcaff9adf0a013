//! States of an amplifier in which its quantities are computed.

use strum::{IntoStaticStr, VariantArray};

/// A condition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, VariantArray, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Condition {
    /// Nominal mains, warm, no signal.
    Idle,
    /// Mains at the high limit.
    HighMains,
    /// Mains at the low limit.
    LowMains,
    /// High limit, rectifier warm, no other valve emits yet.
    ColdStart,
    /// Nominal mains, all warm but one of the bottles whose sections share a DC path; each of them in turn.
    UnevenWarmUp,
    /// Standby switch open.
    Standby,
    /// Output valves out of their sockets.
    OutputValvesPulled,
    /// Nominal mains, one part of the bias supply's feed open, or the wiper of its control; each in turn.
    BiasLost,
}

impl Condition {
    /// Every condition.
    pub const ALL: [Condition; Condition::VARIANTS.len()] =
        *Condition::VARIANTS.first_chunk().expect("all of them");

    /// The word in documents, rules and options.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// In running text: "uneven warm-up".
    pub fn phrase(self) -> &'static str {
        match self {
            Condition::Idle => "idle",
            Condition::HighMains => "high mains",
            Condition::LowMains => "low mains",
            Condition::ColdStart => "cold start",
            Condition::UnevenWarmUp => "uneven warm-up",
            Condition::Standby => "standby",
            Condition::OutputValvesPulled => "output valves pulled",
            Condition::BiasLost => "bias lost",
        }
    }

    /// The condition with this word.
    pub fn of(word: &str) -> Option<Condition> {
        Condition::ALL.into_iter().find(|c| c.word() == word)
    }
}
