//! The whole flow in one place: a stack of documents to circuits, recognised and solved.

use crate::circuit::{Circuit, build, has_errors};
use crate::load::Loaded;
use crate::recognise::{Recognised, recognise};
use crate::solve::{Condition, Outcome, SolvedSet, Unsolved, own_values, solve_all};
use crate::source::{FileId, Problem, Span};

/// One document's circuit with all that is worked out of it.
#[derive(Debug)]
pub struct Worked {
    /// The circuit.
    pub circuit: Circuit,
    /// What was recognised.
    pub recognised: Recognised,
    /// Its operating points.
    pub solved: SolvedSet,
}

/// Why a stack of documents could not be worked out.
#[derive(Debug)]
pub enum Trouble {
    /// The documents are at fault; the problems say where.
    Problems(Vec<Problem>),
    /// A circuit has no operating point.
    Unsolved {
        /// Which document of the stack, 0 the stock spec.
        depth: usize,
        /// In which condition.
        condition: Condition,
        /// How the solver ended.
        unsolved: Unsolved,
        /// The same, at the worst part's or net's place.
        problem: Box<Problem>,
    },
}

/// The circuits of a loaded stack, stock spec first, with notices; or all problems.
pub fn circuits(loaded: &Loaded) -> Result<(Vec<Circuit>, Vec<Problem>), Vec<Problem>> {
    if has_errors(&loaded.problems) {
        return Err(loaded.problems.clone());
    }
    let built = build(&loaded.stack, &loaded.types, &loaded.sources);
    let mut problems = loaded.problems.clone();
    problems.extend(built.problems);
    if has_errors(&problems) {
        return Err(problems);
    }
    Ok((built.circuits.iter().map(own_values).collect(), problems))
}

/// Recognises and solves one circuit of a stack in the conditions asked for.
pub fn work_out(circuit: Circuit, depth: usize, conditions: &[Condition]) -> Result<Worked, Trouble> {
    let recognised = recognise(&circuit);
    match solve_all(&circuit, &recognised, conditions) {
        Ok(solved) => Ok(Worked { circuit, recognised, solved }),
        Err((condition, unsolved)) => {
            let problem = Box::new(unsolved_problem(&circuit, condition, &unsolved));
            Err(Trouble::Unsolved { depth, condition, unsolved, problem })
        }
    }
}

/// How the solver ended, with the parts and nets it names at their places.
pub fn unsolved_problem(circuit: &Circuit, condition: Condition, unsolved: &Unsolved) -> Problem {
    let named: Vec<&str> = match &unsolved.outcome {
        Outcome::SourceLoop { elements } => elements.iter().map(String::as_str).collect(),
        Outcome::Singular { unknown } => vec![unknown],
        Outcome::BadValue { element } | Outcome::UnknownNode { element } => vec![element],
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
    let message = format!("{} has no operating point, {}: {unsolved}", circuit.title, condition.word());
    let mut problem = Problem::error("unsolved", span, message).here(name);
    for (span, name) in places.into_iter().skip(1) {
        problem = problem.also(span, name);
    }
    problem.help(match &unsolved.outcome {
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
