//! How the solver ended, as a problem at the places it names; or at the change without which it had not.

use std::sync::Arc;

use super::Worked;
use crate::change::{Change, compare, preventing};
use crate::circuit::Circuit;
use crate::model::Condition;
use crate::numeric::{Outcome, Unsolved};
use crate::source::{FileId, Problem, ProblemCode, Span};

/// A state in which a circuit of a stack has no operating point.
#[derive(Debug, Clone)]
pub(super) struct Restless {
    /// Which circuit, 0 the lowest.
    pub(super) depth: usize,
    /// The condition and its case.
    pub(super) state: (Condition, Option<String>),
    /// How the solver ended.
    pub(super) why: Unsolved,
}

impl Restless {
    /// An error; where a change against the nearest circuit beneath that rests there prevents it, a notice at that
    /// change: then the rest is judged, and findings decide.
    pub(super) fn problem(&self, stack: &[Arc<Worked>]) -> Problem {
        let top = &stack[self.depth];
        let (condition, case) = (self.state.0, self.state.1.as_deref());
        let rests = |below: &&Arc<Worked>| {
            below.solved.cases(condition).iter().any(|one| one.solved.case.as_deref() == case)
        };
        let prevented = stack[..self.depth].iter().rev().find(rests).map(|below| {
            let comparison = compare(below.side(), top.side());
            let by = preventing(&comparison, below.side(), &top.circuit, (condition, case));
            by.into_iter().map(|index| comparison.changes[index].clone()).collect::<Vec<_>>()
        });
        match prevented.filter(|by| !by.is_empty()) {
            Some(by) => prevented_problem(&top.circuit, condition, &by),
            None => unsolved_problem(&top.circuit, condition, &self.why),
        }
    }
}

/// That each of these changes alone keeps a circuit from an operating point.
fn prevented_problem(circuit: &Circuit, condition: Condition, by: &[Change]) -> Problem {
    let start = Span { file: FileId(0), start: 0, end: 0 };
    let place = |change: &Change| change.spans.last().copied().unwrap_or(start);
    let words = |change: &Change| format!("{} {}", change.subject, change.kind.word());
    let message = format!(
        "{} has no operating point, {}, with {}; without that, it has one",
        circuit.title,
        condition.phrase(),
        by.iter().map(words).collect::<Vec<_>>().join(" or "),
    );
    let problem = Problem::notice(ProblemCode::Prevented, place(&by[0]), message).here(words(&by[0]));
    let problem = by[1..].iter().fold(problem, |problem, change| problem.also(place(change), words(change)));
    problem.help("put it right before any power; what is told needs no figure of that state")
}

/// How the solver ended, with the parts and nets it names at their places.
pub fn unsolved_problem(circuit: &Circuit, condition: Condition, unsolved: &Unsolved) -> Problem {
    let named: Vec<&str> = match &unsolved.outcome {
        Outcome::SourceLoop { elements } => elements.iter().map(String::as_str).collect(),
        Outcome::Singular { unknown } => vec![unknown],
        Outcome::BadValue { element }
        | Outcome::UnknownNode { element }
        | Outcome::SupplyUnsettled { element } => vec![element],
        Outcome::Several { places } => places.iter().map(|(name, _)| name.as_str()).collect(),
        Outcome::Stalled | Outcome::Diverged | Outcome::OutOfSteps | Outcome::Unstable => Vec::new(),
    };
    let mut places: Vec<(Span, &str)> = Vec::new();
    for name in named.into_iter().chain(unsolved.worst.as_deref()) {
        if let Some(span) = declared(circuit, name).filter(|span| places.iter().all(|(s, _)| s != span)) {
            places.push((span, name));
        }
    }
    let start = Span { file: FileId(0), start: 0, end: 0 };
    let first = places.first().copied().or(circuit.parts.first().map(|p| (p.declared, p.name.as_str())));
    let (span, name) = first.unwrap_or((start, ""));
    let (title, state) = (&circuit.title, condition.phrase());
    let message = match &unsolved.outcome {
        Outcome::Several { .. } => format!("{title} has no one operating point, {state}: {unsolved}"),
        _ => format!("{title} has no operating point, {state}: {unsolved}"),
    };
    let mut problem = Problem::error(ProblemCode::Unsolved, span, message).here(name);
    for (span, name) in places.into_iter().skip(1) {
        problem = problem.also(span, name);
    }
    problem.help(match &unsolved.outcome {
        Outcome::Several { .. } => {
            "what holds it where it is feeds back on itself; one figure for each place would be a guess"
        }
        Outcome::SourceLoop { .. } => "give one of the sources its resistance: behind 10R",
        _ => "look at the values of the parts that meet there",
    })
}

/// The statement behind a name that the solver gives: a part, a valve section, a leg, a net.
fn declared(circuit: &Circuit, name: &str) -> Option<Span> {
    let part = |name: &str| circuit.find(name).map(|id| circuit.part(id).declared);
    let head = name.split(['.', ',', ' ']).next().unwrap_or(name);
    let tube = head.strip_suffix(|c: char| c.is_ascii_lowercase());
    let net = || circuit.find_net(name).and_then(|id| circuit.net(id).declared.as_ref().map(|d| d.span));
    part(name).or_else(net).or_else(|| part(head)).or_else(|| tube.and_then(part))
}
