//! Tree to canonical text: one space between words, values as codes, comments and single blank lines kept.
//! Reading the text back gives the same tree, and printing that the same text.

mod declare;
mod part;
mod verb;

use super::tree::{Document, LegSaid, Line, Said, Spec, Statement, Value, Word};
use crate::model::Kind;
use crate::units::{Quantity, Unit, exact};

/// The whole document.
pub fn print(document: &Document) -> String {
    joined(document.lines.iter().map(line))
}

/// Lines as one text: single blank lines between others stay.
pub fn joined(lines: impl IntoIterator<Item = String>) -> String {
    let mut text = String::new();
    let mut blank = 0;
    for line in lines {
        if line.is_empty() {
            blank += 1;
            continue;
        }
        if blank > 0 && !text.is_empty() {
            text.push('\n');
        }
        blank = 0;
        text.push_str(&line);
        text.push('\n');
    }
    text
}

/// One line, without its end; empty for a blank line.
pub fn line(line: &Line) -> String {
    let comment = line.comment.as_deref().map(comment);
    let statement = line.statement.as_ref().map(statement);
    [statement, comment].into_iter().flatten().collect::<Vec<_>>().join("  ")
}

/// A comment with its sign; `##` and `#!` stay as they are.
pub fn comment(text: &str) -> String {
    let close = text.is_empty() || text.starts_with(['#', '!']);
    format!("#{}{text}", if close { "" } else { " " })
}

/// One statement.
pub fn statement(statement: &Statement) -> String {
    let mut out = Out::default();
    match &statement.said {
        Said::Header(_)
        | Said::TypesFrom(_)
        | Said::Net { .. }
        | Said::Mains { .. }
        | Said::Insulation(_)
        | Said::Made(_)
        | Said::Note(_)
        | Said::Heater { .. }
        | Said::Contact { .. }
        | Said::Unused { .. }
        | Said::Role { .. }
        | Said::Open(_)
        | Said::Window { .. }
        | Said::Drive { .. } => out.declared(&statement.said),
        Said::Part(part) => out.part(part),
        Said::Winding(winding) => out.winding(winding),
        Said::Type(line) => out.type_line(line),
        said => out.verb(said),
    }
    out.text
}

/// What is said of a body, in one line: `5k6 0.5W metal-film`.
pub fn spec(spec: &Spec, kind: Kind) -> String {
    let mut out = Out::default();
    out.body(spec, Some(kind));
    out.settings(spec);
    out.text
}

/// A value as it is written: exactly, with its unit.
pub fn value(quantity: &Quantity) -> String {
    match quantity.unit {
        // A bare `22n` would leave the unit open.
        Some(Unit::Farad) => format!("{}F", exact(quantity.value, Unit::Amp).trim_end_matches('A')),
        Some(unit) => exact(quantity.value, unit),
        None if !quantity.prefixed => quantity.value.to_string(),
        None if quantity.value.abs() < 1.0 => exact(quantity.value, Unit::Farad),
        None => exact(quantity.value, Unit::Ohm),
    }
}

/// A statement's words as they come.
#[derive(Default)]
struct Out {
    text: String,
}

impl Out {
    fn word(&mut self, word: &str) {
        if !self.text.is_empty() {
            self.text.push(' ');
        }
        self.text.push_str(word);
    }

    fn words(&mut self, words: &[Word]) {
        for word in words {
            self.word(&word.value);
        }
    }

    /// A keyword and a word.
    fn pair(&mut self, keyword: &str, word: &Word) {
        self.word(keyword);
        self.word(&word.value);
    }

    fn quoted(&mut self, text: &Word) {
        self.word(&format!("\"{}\"", text.value));
    }

    fn note(&mut self, note: Option<&Word>) {
        if let Some(note) = note {
            self.quoted(note);
        }
    }

    fn value(&mut self, value: &Value) {
        match value.value.unit {
            Some(unit) => self.word(&exact(value.value.value, unit)),
            None => self.open_value(value),
        }
    }

    /// A value whose unit nothing else tells.
    fn open_value(&mut self, value: &Value) {
        self.word(&self::value(&value.value));
    }

    fn leg(&mut self, leg: &LegSaid) {
        self.pair(&leg.leg.value, &leg.place);
    }

    /// Two legs that have one clause for both, and each a word for one alone.
    fn two(&mut self, legs: &[LegSaid], names: [&str; 2], words: [&str; 2]) {
        for (name, word) in names.into_iter().zip(words) {
            if let Some(leg) = legs.iter().find(|leg| leg.leg.value == name) {
                self.pair(word, &leg.place);
            }
        }
    }
}
