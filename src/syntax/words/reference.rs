//! The language in one text, made from the tables.

use std::fmt::Write as _;

use super::{KINDS, STATEMENTS, StatementWord};
use crate::model::{Construction, DocumentKind, Taper};

/// The whole reference as plain text: each statement with where it stands, how it is written, what it means and
/// an example; then the kinds of parts and the words of their bodies.
pub fn reference() -> String {
    let mut text = String::from("STATEMENTS, one a line; # starts a comment\n");
    for row in STATEMENTS {
        text.push('\n');
        text.push_str(&entry(row));
    }
    text.push_str("\nKINDS OF PARTS\n");
    for row in &KINDS {
        let also =
            if row.also.is_empty() { String::new() } else { format!(" (also `{}`)", row.also.join("`, `")) };
        // Writing to a string can't fail.
        let _ = write!(text, "\n{}{also}\n  for example  {}\n", row.slots, row.example);
    }
    let constructions: Vec<&str> = Construction::ALL.map(Construction::word).to_vec();
    let tapers: Vec<&str> = Taper::ALL.map(Taper::word).to_vec();
    let _ = write!(
        text,
        "\nEvery part takes `unknown` for its value, `made YEAR` and a quoted note.\n\
         Constructions: {}.\nTapers: {}.\n",
        constructions.join(", "),
        tapers.join(", ")
    );
    text
}

/// One statement's entry.
pub fn entry(row: &StatementWord) -> String {
    let stands = if row.documents.len() == DocumentKind::ALL.len() {
        "any document".to_owned()
    } else {
        row.documents.iter().map(|kind| kind.word()).collect::<Vec<_>>().join(", ")
    };
    format!("{}\n  {}\n  in           {stands}\n  for example  {}\n", row.slots, row.meaning, row.example)
}
