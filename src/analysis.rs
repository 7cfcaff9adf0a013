//! The whole flow in one place: a stack of documents to circuits, recognised and solved.

use crate::circuit::{Circuit, build, has_errors};
use crate::load::Loaded;
use crate::recognise::{Recognised, recognise};
use crate::solve::{Condition, SolvedSet, Unsolved, own_values, solve_all};
use crate::source::Problem;

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
    let solved = solve_all(&circuit, &recognised, conditions)
        .map_err(|(condition, unsolved)| Trouble::Unsolved { depth, condition, unsolved })?;
    Ok(Worked { circuit, recognised, solved })
}
