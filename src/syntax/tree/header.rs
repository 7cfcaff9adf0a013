//! Headers: what kind of document, and what it rests on.

use super::Word;
use crate::source::Spanned;

/// What kind of document.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DocumentKind {
    /// `stock`: a complete circuit (or a variant of one)
    Stock,
    /// `as-found`: what the bench found
    AsFound,
    /// `plan`: what is to be done
    Plan,
    /// `as-left`: what was done
    AsLeft,
    /// `type-data`: valve and diode types
    TypeData,
}

impl DocumentKind {
    /// Every kind.
    pub const ALL: [DocumentKind; 5] = [
        DocumentKind::Stock,
        DocumentKind::AsFound,
        DocumentKind::Plan,
        DocumentKind::AsLeft,
        DocumentKind::TypeData,
    ];

    /// The keyword of its header.
    pub fn word(self) -> &'static str {
        match self {
            DocumentKind::Stock => "stock",
            DocumentKind::AsFound => "as-found",
            DocumentKind::Plan => "plan",
            DocumentKind::AsLeft => "as-left",
            DocumentKind::TypeData => "type-data",
        }
    }

    /// The word before the document it rests on.
    pub fn preposition(self) -> &'static str {
        match self {
            DocumentKind::Plan => "for",
            DocumentKind::AsLeft => "after",
            DocumentKind::Stock | DocumentKind::AsFound | DocumentKind::TypeData => "of",
        }
    }
}

/// `stock "Sedge 45" "two-channel head"`, `stock "B" of "a.amp"`, `as-found "job" of "spec.amp"`,
/// `plan "…" for "job.amp"`, `as-left "…" after "plan.amp"`, `type-data "…"`; `pinned 9f3a51c2d4e6b708` at the
/// end pins what it rests on.
#[derive(Debug, Clone)]
pub struct Header {
    /// Which kind, at its word.
    pub kind: Spanned<DocumentKind>,
    /// Model, job or plan.
    pub title: Word,
    /// A second quoted text.
    pub subtitle: Option<Word>,
    /// Relative path of the document beneath.
    pub base: Option<Word>,
    /// Fingerprint of the document beneath (16 hexadecimal digits).
    pub pin: Option<Word>,
}
