//! Headers: what kind of document, and what it rests on.

use super::word::Word;
use crate::model::DocumentKind;
use crate::source::Spanned;

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
