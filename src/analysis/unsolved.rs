//! How the solver ended, as a problem at the places it names.

use crate::circuit::Circuit;
use crate::solve::{Condition, Outcome, Unsolved};
use crate::source::{FileId, Problem, Span};

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
    let mut problem = Problem::error("unsolved", span, message).here(name);
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
