//! How bad a finding is, and for whom.

use serde::{Deserialize, Serialize};

/// How bad a finding is: the signal words of ANSI Z535 and ISO 3864.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// Worth knowing.
    Notice,
    /// May harm parts, or the sound.
    Caution,
    /// Will harm parts, or could harm people.
    Warning,
    /// Harms people or destroys parts.
    Danger,
}

impl Level {
    /// Every level, worst first.
    pub const ALL: [Level; 4] = [Level::Danger, Level::Warning, Level::Caution, Level::Notice];

    /// The word in texts and options.
    pub fn word(self) -> &'static str {
        match self {
            Level::Notice => "notice",
            Level::Caution => "caution",
            Level::Warning => "warning",
            Level::Danger => "danger",
        }
    }

    /// The level with this word.
    pub fn of(word: &str) -> Option<Level> {
        Level::ALL.into_iter().find(|l| l.word() == word)
    }
}

/// A level, and whether it is people whom it endangers; worse is greater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Severity {
    /// How bad.
    pub level: Level,
    /// A danger to people, which no word takes away; else to the amplifier alone.
    pub to_people: bool,
}

impl Severity {
    /// `danger to people`, `danger`, `warning`.
    pub fn words(self) -> &'static str {
        if self.to_people { "danger to people" } else { self.level.word() }
    }
}
