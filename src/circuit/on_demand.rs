//! Shipped types, each read when it is first asked for: an amplifier has a handful of them, and reading all takes as long as
//! the rest of a small audit.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::types::{DiodeType, TubeType, Types};
use crate::source::FileId;
use crate::syntax::document;

/// A type, or the lines that state it until it is asked for.
#[derive(Debug, Clone)]
pub(super) struct OnDemand<T> {
    read: OnceLock<T>,
    lines: Option<Lines>,
}

/// Lines of shipped type data that state one type: from its own line to the next one's.
#[derive(Debug, Clone, Copy)]
struct Lines {
    file: FileId,
    /// Where they begin in their file.
    at: u32,
    text: &'static str,
}

impl<T> OnDemand<T> {
    /// One that has been read.
    pub(super) fn ready(value: T) -> OnDemand<T> {
        OnDemand { read: OnceLock::from(value), lines: None }
    }

    fn get(&self, find: fn(Types) -> Option<T>) -> &T {
        self.read.get_or_init(|| {
            let lines = self.lines.expect("what has not been read has its lines");
            find(lines.types()).expect("the lines begin with the one that opens the type")
        })
    }
}

impl OnDemand<TubeType> {
    pub(super) fn tube(&self) -> &TubeType {
        self.get(|types| types.tubes.into_values().next()?.read.into_inner())
    }

    pub(super) fn tube_mut(&mut self) -> &mut TubeType {
        self.tube();
        self.read.get_mut().expect("it has just been read")
    }
}

impl OnDemand<DiodeType> {
    pub(super) fn diode(&self) -> &DiodeType {
        self.get(|types| types.diodes.into_values().next()?.read.into_inner())
    }

    pub(super) fn diode_mut(&mut self) -> &mut DiodeType {
        self.diode();
        self.read.get_mut().expect("it has just been read")
    }
}

impl Lines {
    /// The type that the lines state, at its place in the whole file.
    fn types(self) -> Types {
        let mut types = Types::default();
        types.take(&document::parse(self.file, self.text).0, &mut Vec::new());
        for tube in types.tubes.values_mut().map(OnDemand::tube_mut) {
            tube.declared = tube.declared.moved(self.at);
        }
        for diode in types.diodes.values_mut().map(OnDemand::diode_mut) {
            diode.declared = diode.declared.moved(self.at);
        }
        types
    }
}

impl Types {
    /// Notes what types a shipped text states, and by which names, without reading them. A test holds it to what reading the
    /// whole text gives.
    pub fn note_shipped(&mut self, file: FileId, text: &'static str) {
        let opens = |line: &str| line.starts_with("tube-type ") || line.starts_with("diode-type ");
        let line_starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1));
        let mut starts = line_starts.filter(|at| opens(&text[*at..])).peekable();
        while let Some(at) = starts.next() {
            let end = starts.peek().copied().unwrap_or(text.len());
            self.note(Lines { file, at: at as u32, text: &text[at..end] });
        }
    }

    fn note(&mut self, lines: Lines) {
        let first = lines.text.lines().next().unwrap_or_default();
        let mut words = first.split('"').next().unwrap_or_default().split_whitespace();
        let (opener, Some(name)) = (words.next(), words.next()) else { return };
        let others = words.skip_while(|word| *word != "also").skip(1).take_while(|word| *word != "base");
        self.also.extend(others.map(|other| (other.to_owned(), name.to_owned())));
        match opener {
            Some("tube-type") => note(&mut self.tubes, name, lines),
            _ => note(&mut self.diodes, name, lines),
        }
    }
}

fn note<T>(types: &mut BTreeMap<String, OnDemand<T>>, name: &str, lines: Lines) {
    types.insert(name.to_owned(), OnDemand { read: OnceLock::new(), lines: Some(lines) });
}
