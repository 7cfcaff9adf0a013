//! The one list of the language's words: statements and kinds of parts, with where they stand, what they mean
//! and an example of each. Help, word list and reference are made from it; a test holds the grammar to it.

mod kinds;
mod reference;
mod statements;

pub use kinds::{KINDS, KindWord, Slot};
pub use reference::{entry, reference};
pub use statements::{A_PART, STATEMENTS, StatementWord};

use crate::model::{Construction, Kind, Taper};

impl KindWord {
    /// The kind a keyword means; a bare `transformer` is the mains one.
    pub fn named(word: &str) -> Option<Kind> {
        KINDS.iter().find(|row| row.kind.word() == word || row.also.contains(&word)).map(|row| row.kind)
    }
}

/// Words that may stand in a part's body: for "did you mean".
pub fn body_words() -> impl Iterator<Item = &'static str> {
    const OTHER: [&str; 24] = [
        "from",
        "to",
        "slow",
        "fast",
        "made",
        "at",
        "tap",
        "taps",
        "ganged",
        "positions",
        "now",
        "primary",
        "behind",
        "unloaded",
        "steady",
        "unknown",
        "current",
        "normals",
        "two-core",
        "on",
        "ceramic",
        "in",
        "series",
        "parallel",
    ];
    Construction::ALL
        .into_iter()
        .map(Construction::word)
        .filter(|word| !word.contains(' '))
        .chain(Taper::ALL.into_iter().map(Taper::word))
        .chain(OTHER)
}
