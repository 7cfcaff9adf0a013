//! States of an amplifier in which its quantities are computed (judging.md).

/// A condition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Condition {
    /// Nominal mains, warm, no signal.
    Idle,
    /// Mains at the high limit.
    HighMains,
    /// Mains at the low limit.
    LowMains,
    /// High limit, rectifier warm, no other valve emits yet.
    ColdStart,
    /// Standby switch open.
    Standby,
    /// Output valves out of their sockets.
    OutputValvesPulled,
    /// The bias supply's feed open.
    BiasLost,
}

impl Condition {
    /// Every condition.
    pub const ALL: [Condition; 7] = [
        Condition::Idle,
        Condition::HighMains,
        Condition::LowMains,
        Condition::ColdStart,
        Condition::Standby,
        Condition::OutputValvesPulled,
        Condition::BiasLost,
    ];

    /// The word in documents, rules and options.
    pub fn word(self) -> &'static str {
        match self {
            Condition::Idle => "idle",
            Condition::HighMains => "high-mains",
            Condition::LowMains => "low-mains",
            Condition::ColdStart => "cold-start",
            Condition::Standby => "standby",
            Condition::OutputValvesPulled => "output-valves-pulled",
            Condition::BiasLost => "bias-lost",
        }
    }

    /// The condition with this word.
    pub fn of(word: &str) -> Option<Condition> {
        Condition::ALL.into_iter().find(|c| c.word() == word)
    }
}
