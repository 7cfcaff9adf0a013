//! What a record says and nothing has answered since: readings that the circuit doesn't explain, notes and remarks.

use std::cmp::Ordering;
use std::sync::Arc;

use super::Worked;
use crate::analysis::reading::{Compared, MARKED_SHARE, compare};
use crate::circuit::own_words::Note;
use crate::circuit::{Circuit, PartId, Reading, Target, natural};
use crate::model::DocumentKind;
use crate::source::Span;
use crate::units::Unit;

/// One thing that waits for an answer.
#[derive(Debug, Clone)]
pub struct Open {
    /// The title of the document that says it.
    pub document: String,
    /// The part or place; `None` for a note about the whole.
    pub about: Option<String>,
    /// What it says.
    pub said: Matter,
    /// The statement.
    pub span: Span,
}

/// What is said.
#[derive(Debug, Clone)]
pub enum Matter {
    /// In words.
    Words(String),
    /// A reading other than the circuit gives with every change in.
    Reading {
        /// What was read.
        read: f64,
        /// What the circuit gives; `None` where that can't be said.
        predicted: Option<f64>,
        /// Of both.
        unit: Unit,
        /// In which condition.
        condition: String,
    },
}

/// What is open in the last document of a stack: what it and those beneath it say, down to the visit's as-found record, and
/// no as-left record has read or looked at since.
pub fn open_matters(worked: &[Arc<Worked>]) -> Vec<Open> {
    let begins = |w: &Arc<Worked>| matches!(w.circuit.kind, DocumentKind::AsFound | DocumentKind::Stock);
    let first = worked.iter().rposition(begins).unwrap_or(0);
    (first..worked.len()).flat_map(|depth| of_document(worked, depth)).collect()
}

/// Every reading of a record against what its circuit gives.
pub fn readings_of(worked: &Worked) -> Vec<Compared<'_>> {
    let conditions = worked.solved.by_condition.keys();
    let solved = conditions.filter_map(|condition| worked.solved.for_readings(*condition));
    solved.flat_map(|solved| compare(&worked.circuit, solved)).collect()
}

fn of_document(worked: &[Arc<Worked>], depth: usize) -> Vec<Open> {
    let circuit = &worked[depth].circuit;
    let record = matches!(circuit.kind, DocumentKind::AsFound | DocumentKind::AsLeft);
    if !record && circuit.kind != DocumentKind::Plan {
        return Vec::new();
    }
    // Of a plan only what was done stays in what rests on it, so that its own statements are no ground to compare with.
    let before = &worked[depth - usize::from(circuit.kind == DocumentKind::Plan && depth > 0)].circuit;
    let later = worked[depth + 1..].iter().map(|w| &w.circuit).filter(|c| c.kind == DocumentKind::AsLeft);
    let since = Since { before, later: later.collect() };
    let carried = record && depth + 1 < worked.len();
    let open = |about, said, span| Open { document: circuit.title.clone(), about, said, span };
    // A remark of the document itself stands beside its change.
    let notes = circuit.notes.iter().filter(|note| carried || note.about.is_none());
    let notes = notes.filter(|note| !since.answers_note(note));
    let mut all: Vec<Open> =
        notes.map(|note| open(note.about.clone(), Matter::Words(note.text.clone()), note.span)).collect();
    if carried {
        let compared = readings_of(&worked[depth]);
        for reading in circuit.readings.iter().filter(|reading| !since.answers_reading(reading)) {
            if let Some(said) = unexplained(reading, &compared) {
                all.push(open(Some(reading.place.clone()), said, reading.span));
            }
        }
    }
    all.sort_by(order);
    all
}

/// Whatever the order of lines: notes of the whole, then by what they are about as people count.
fn order(a: &Open, b: &Open) -> Ordering {
    let name = |open: &Open| open.about.clone().unwrap_or_default();
    let words = |open: &Open| match &open.said {
        Matter::Words(words) => words.clone(),
        Matter::Reading { .. } => String::new(),
    };
    natural(&name(a), &name(b)).then_with(|| words(a).cmp(&words(b)))
}

/// A reading that lies further from the prediction than parts of the period do, or has none. Of an AC reading nothing is
/// predicted.
fn unexplained(reading: &Reading, compared: &[Compared]) -> Option<Matter> {
    let read = reading.value;
    let predicted = compared.iter().find(|c| c.reading.span == reading.span).and_then(|c| c.predicted);
    let far = |p: f64| (read - p).abs() > MARKED_SHARE * read.abs().max(p.abs());
    (!reading.ac && predicted.is_none_or(far)).then(|| Matter::Reading {
        read,
        predicted,
        unit: reading.unit,
        condition: reading.condition.clone(),
    })
}

/// What came after a document.
struct Since<'a> {
    before: &'a Circuit,
    /// As-left records.
    later: Vec<&'a Circuit>,
}

impl Since<'_> {
    /// Whether something that the note names was read, looked at or taken out.
    fn answers_note(&self, note: &Note) -> bool {
        let words = |c: char| !(c.is_alphanumeric() || matches!(c, '.' | '-' | '_'));
        let names: Vec<&str> = match &note.about {
            Some(about) => vec![about],
            None => note.text.split(words).map(|word| word.trim_matches('.')).collect(),
        };
        names.iter().any(|name| {
            self.later
                .iter()
                .any(|after| self.looked_at(after, name) || self.gone(after, name) || read(after, name))
        })
    }

    /// Whether the same was read again, or the part that it was read at was looked at.
    fn answers_reading(&self, reading: &Reading) -> bool {
        let net = |circuit: &Circuit, target| match target {
            Target::Net(net) => Some(circuit.net(net).name.clone()),
            _ => None,
        };
        let place = net(self.before, reading.target);
        let again = |after: &Circuit, other: &Reading| {
            let same_place =
                other.place == reading.place || place.is_some() && net(after, other.target) == place;
            same_place
                && (other.unit, other.ac, &other.condition) == (reading.unit, reading.ac, &reading.condition)
        };
        self.later.iter().any(|after| {
            after.readings.iter().any(|other| again(after, other)) || self.looked_at(after, &reading.place)
        })
    }

    /// Whether a later record says anything of the part that a name begins with, or did what a plan says of it.
    fn looked_at(&self, after: &Circuit, name: &str) -> bool {
        let said = |circuit: &Circuit| part_of(circuit, name).map(|part| circuit.part(part).said.len());
        said(after).is_some_and(|now| now > said(self.before).unwrap_or(0))
    }

    /// Whether a part or net was there and is there no more.
    fn gone(&self, after: &Circuit, name: &str) -> bool {
        let there = |circuit: &Circuit| part_of(circuit, name).is_some() || circuit.find_net(name).is_some();
        there(self.before) && !there(after)
    }
}

/// Whether a record reads a place, or at a part.
fn read(record: &Circuit, name: &str) -> bool {
    let (part, net) = (part_of(record, name), record.find_net(name));
    record.readings.iter().any(|reading| {
        reading.place == name
            || part.is_some() && part_of(record, &reading.place) == part
            || net.is_some_and(|net| reading.target == Target::Net(net))
    })
}

/// The part that a name, a section or a leg belongs to: `V2`, `V2b`, `V2b.plate`.
fn part_of(circuit: &Circuit, name: &str) -> Option<PartId> {
    let head = name.split('.').next().unwrap_or(name);
    circuit.find(head).or_else(|| circuit.find(head.trim_end_matches(|c: char| c.is_ascii_lowercase())))
}
