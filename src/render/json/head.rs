//! The documents, and how much was solved, as JSON.

use serde::Serialize;

use super::{Figure, ProblemJson};
use crate::circuit::Circuit;
use crate::solve::{Solved, Undefined};

/// What every report on a document begins with.
#[derive(Debug, Serialize)]
pub struct Head<'a> {
    /// The document asked for, and those that it rests on.
    pub documents: Vec<DocumentJson<'a>>,
    /// Problems that did not stop it.
    pub problems: Vec<ProblemJson>,
}

/// A report on a document: which it is, of what, and what is told.
#[derive(Debug, Serialize)]
pub struct Report<'a, T> {
    schema: &'static str,
    #[serde(flatten)]
    head: Head<'a>,
    #[serde(flatten)]
    told: T,
}

impl<'a, T> Report<'a, T> {
    pub(super) fn new(schema: &'static str, head: Head<'a>, told: T) -> Report<'a, T> {
        Report { schema, head, told }
    }
}

/// One document of a stack.
#[derive(Debug, Serialize)]
pub struct DocumentJson<'a> {
    path: &'a str,
    kind: &'static str,
    title: &'a str,
    subtitle: Option<&'a str>,
    mains: Option<MainsJson>,
}

/// The mains.
#[derive(Debug, Serialize)]
struct MainsJson {
    volts: Figure,
    hertz: Option<Figure>,
    low: Option<Figure>,
    high: Option<Figure>,
    measured: Option<Figure>,
}

/// The documents, the one asked for first.
pub fn documents<'a>(stack: &[(&'a str, &'a Circuit)]) -> Vec<DocumentJson<'a>> {
    stack.iter().rev().map(|(path, circuit)| document(path, circuit)).collect()
}

/// One document.
pub fn document<'a>(path: &'a str, circuit: &'a Circuit) -> DocumentJson<'a> {
    let mains = circuit.mains.map(|mains| MainsJson {
        volts: Figure(mains.volts),
        hertz: mains.hertz.map(Figure),
        low: mains.limits.map(|(low, _)| Figure(low)),
        high: mains.limits.map(|(_, high)| Figure(high)),
        measured: circuit.mains_measured.as_ref().map(|m| Figure(m.value)),
    });
    DocumentJson {
        path,
        kind: circuit.kind.word(),
        title: &circuit.title,
        subtitle: circuit.subtitle.as_deref(),
        mains,
    }
}

/// What was not solved, and what was assumed.
#[derive(Debug, Serialize)]
pub struct SolvingJson<'a> {
    /// Something has no defined value.
    partly_solved: bool,
    undefined: Vec<UndefinedJson<'a>>,
    floating_grids: Vec<String>,
    unknown: Vec<&'a str>,
    assumed: &'a [String],
}

/// A net without defined volts.
#[derive(Debug, Serialize)]
struct UndefinedJson<'a> {
    net: &'a str,
    cut_by: Option<&'a str>,
}

/// How much of a circuit was solved.
pub fn solving<'a>(circuit: &'a Circuit, solved: &'a Solved, cut_off: &[Undefined]) -> SolvingJson<'a> {
    let name = |id| circuit.part(id).name.as_str();
    let undefined: Vec<UndefinedJson> = cut_off
        .iter()
        .map(|u| UndefinedJson { net: &circuit.net(u.net).name, cut_by: u.cut_by.map(name) })
        .collect();
    let floating_grids: Vec<String> =
        solved.floating_grids.iter().map(|leg| circuit.leg_name(*leg)).collect();
    let unknown: Vec<&str> = solved.unknown.iter().map(|id| name(*id)).collect();
    SolvingJson {
        partly_solved: !(undefined.is_empty() && floating_grids.is_empty() && unknown.is_empty()),
        undefined,
        floating_grids,
        unknown,
        assumed: &solved.assumed,
    }
}
