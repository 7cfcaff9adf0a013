//! What the top document says for itself, whatever lies beneath it: notes and remarks.

use super::layer::noted;
use crate::source::Span;
use crate::syntax::tree::{Said, Statement};

/// What a document says in its own words.
#[derive(Debug, Clone)]
pub struct Note {
    /// The words.
    pub text: String,
    /// The part, leg, net or group that the statement is about; `None` for a `note`.
    pub about: Option<String>,
    /// The statement.
    pub span: Span,
}

/// Every note and quoted remark of a document.
pub(super) fn notes(statements: &[&Statement]) -> Vec<Note> {
    let note = |statement: &&Statement| {
        let (about, text) = match &statement.said {
            Said::Note(text) => (None, text),
            said => noted(said).map(|(about, text)| (Some(about.value.clone()), text))?,
        };
        Some(Note { text: text.value.clone(), about, span: statement.span })
    };
    statements.iter().filter_map(note).collect()
}
