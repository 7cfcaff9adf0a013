//! The whole flow in one place: a stack of documents to circuits, recognised and solved, compared and judged; and the
//! bench's questions about them: the voltage chart, what readings say, what has not been looked at.

mod audit;
mod base;
mod causes;
mod cautions;
mod chart;
mod coverage;
mod example;
mod heads;
mod mains_side;
mod moved;
mod open;
mod reading;
mod response;
mod review;
mod supply;
mod survey;
mod undone;
mod unsolved;

pub use crate::rules::Worked;
pub use audit::{Audit, Step, Three, audit, audit_in, effects_at_idle, judge};
pub use base::Base;
pub use causes::{MainCauses, main_causes};
pub use cautions::{CAUTION, CAUTIONS, at_the_plug, in_its_capacitors, unknown_charge};
pub use chart::{Chart, ChartRow, SectionRows, chart};
pub use coverage::{Coverage, coverage};
pub use example::example_facts;
pub use heads::{Head, Heads, Root, Under, heads, heads_since};
pub use mains_side::{cut_off, mains_side, stock_islands};
pub use moved::{LEAST_HEARD, Moved, moved_by, tone_of};
pub use open::{Matter, Open, open_matters, readings_of};
pub use reading::{Compared, Mark, compare, predicted, predicted_within};
pub use response::{Heard, Question, Unheard, gain_of, hear};
pub use review::{Review, WindowRow, review};
pub use supply::{STING_JOULES, SupplySheet, supply_sheet};
pub use survey::{Shared, Surveyed, Told, shared_changes, shared_findings};
pub use unsolved::unsolved_problem;

use audit::each_worked;
use unsolved::Restless;

use crate::circuit::{Circuit, build};
use crate::load::Loaded;
use crate::model::Condition;
use crate::numeric::Unsolved;
use crate::recognise::recognise;
use crate::solve::{own_values, solve_all};
use crate::source::{Problem, ProblemCode, Severity, has_errors};

/// The circuits of a loaded stack, stock spec first, with notices; or all problems.
pub fn circuits(loaded: &Loaded) -> Result<(Vec<Circuit>, Vec<Problem>), Vec<Problem>> {
    if has_errors(&loaded.problems) {
        return Err(with_names(loaded));
    }
    let built = build(&loaded.stack, &loaded.types, &loaded.sources);
    let mut problems = loaded.problems.clone();
    problems.extend(built.problems);
    if has_errors(&problems) {
        return Err(problems);
    }
    Ok((built.circuits.into_iter().map(own_values).collect(), problems))
}

/// The problems of texts that can't all be read, with the unknown names on the lines that can: those that an
/// unread line does not speak of.
fn with_names(loaded: &Loaded) -> Vec<Problem> {
    let mut problems = loaded.problems.clone();
    let whole = |problem: &&Problem| problem.severity == Severity::Error;
    if loaded.stack.is_empty() || problems.iter().filter(whole).any(|p| BEFORE_NAMES.contains(&p.code)) {
        return problems;
    }
    let unread: Vec<String> =
        problems.iter().filter(whole).map(|p| loaded.sources.line_of(p.span())).collect();
    let spoken_of = |name: &str| {
        let word = |c: char| c.is_alphanumeric() || c == '_' || c == '-';
        unread.iter().any(|line| line.split(|c| !word(c)).any(|w| w == name))
    };
    let built = build(&loaded.stack, &loaded.types, &loaded.sources);
    problems.extend(built.problems.into_iter().filter(|problem| {
        let name = loaded.sources.text(problem.span()).split('.').next().unwrap_or_default();
        matches!(problem.code, ProblemCode::UnknownPart | ProblemCode::UnknownPlace)
            && !spoken_of(name)
            && !spoken_of(name.trim_end_matches(['a', 'b']))
    }));
    problems.sort_by(|a, b| a.span().cmp(&b.span()).then_with(|| a.message.cmp(&b.message)));
    problems.dedup();
    problems
}

/// Problems after which names on other lines say nothing: documents are missing beneath.
const BEFORE_NAMES: [ProblemCode; 5] = [
    ProblemCode::Cycle,
    ProblemCode::UnreadableBase,
    ProblemCode::UnreadableTypes,
    ProblemCode::NoBase,
    ProblemCode::NoHeader,
];

/// What to mind of one amplifier's own: what its plug and its capacitors keep.
pub fn own_cautions(worked: &Worked) -> Vec<String> {
    let mut own = at_the_plug(worked.pulled_plug());
    own.extend(match worked.stored_charge() {
        Ok(charge) => in_its_capacitors(&worked.circuit, charge),
        Err(why) => vec![unknown_charge(why)],
    });
    own
}

/// Recognises and solves the last circuit of a stack in the conditions asked for; or why it has no operating point.
///
/// # Panics
/// Of an empty stack.
pub fn work_out(stack: &[Circuit], conditions: &[Condition]) -> Result<Worked, Box<Problem>> {
    let circuit = stack.last().expect("a stack of documents is never empty").clone();
    let recognised = recognise(&circuit);
    match solve_all(&circuit, &recognised, conditions) {
        Ok(solved) => Ok(Worked::new(circuit, recognised, solved)),
        Err((condition, why)) => Err(Box::new(unsolved_of(stack, condition, why))),
    }
}

/// How the solver ended with a circuit of a stack in a condition, as an error that ends a command.
pub fn unsolved_of(stack: &[Circuit], condition: Condition, why: Unsolved) -> Problem {
    let (worked, _) = each_worked(stack);
    let restless = Restless { depth: stack.len() - 1, state: (condition, None), why };
    Problem { severity: Severity::Error, ..restless.problem(&worked) }
}
