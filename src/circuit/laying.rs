//! Laying one document onto the board: the order of its passes, and what is wrong with it.

use super::board::Board;
use super::natural;
use super::types::Types;
use crate::source::{MOST_PROBLEMS, Problem, ProblemCode, Severity};
use crate::syntax::tree::{Said, Statement};

/// What the passes over one document work with.
pub(super) struct Laying<'a> {
    pub board: &'a mut Board,
    pub types: &'a Types,
    pub problems: Vec<Problem>,
    /// Whether the document is a variant of a stock spec, whose declarations count as the spec's.
    pub variant: bool,
}

/// What a pass does with each statement.
pub(super) type Pass = fn(&mut Laying<'_>, &Statement);

impl Laying<'_> {
    /// Runs a pass over all statements, until too much is wrong for more to be worth telling.
    pub(super) fn pass(&mut self, statements: &[&Statement], pass: impl Fn(&mut Self, &Statement)) {
        for statement in statements {
            if self.gives_up() {
                return;
            }
            pass(self, statement);
        }
    }

    /// The first two passes over any document. The order of windings and contacts is that of their names, so that the
    /// order of statements decides nothing.
    pub(super) fn declarations(&mut self, statements: &[&Statement]) {
        self.pass(statements, Self::declare);
        let mut extensions: Vec<(String, &Statement)> =
            statements.iter().filter_map(|statement| Some((extends(&statement.said)?, *statement))).collect();
        extensions.sort_by(|a, b| natural(&a.0, &b.0));
        let extensions: Vec<&Statement> = extensions.into_iter().map(|(_, statement)| statement).collect();
        self.pass(&extensions, Self::extend);
    }

    fn gives_up(&self) -> bool {
        let error = |p: &&Problem| p.severity == Severity::Error;
        self.problems.len() >= MOST_PROBLEMS && self.problems.iter().filter(error).count() >= MOST_PROBLEMS
    }

    /// The problems found, with a last one where there would be more.
    pub(super) fn told(mut self) -> Vec<Problem> {
        if self.gives_up()
            && let Some(last) = self.problems.last().map(Problem::span)
        {
            let problem = Problem::error(ProblemCode::TooManyProblems, last, "not told: what else is wrong")
                .help("does this document rest on the one it was written for?");
            self.problems.push(problem);
        }
        self.problems
    }

    /// Keeps the problem of a failed step.
    pub(super) fn note<T>(&mut self, result: Result<T, Problem>) -> Option<T> {
        result.map_err(|problem| self.problems.push(problem)).ok()
    }
}

/// By what the order of windings and contacts is decided.
fn extends(said: &Said) -> Option<String> {
    match said {
        Said::Winding(winding) => Some(winding.name.value.clone()),
        Said::Contact { switch, position, a, b } => {
            Some(format!("{} {} {} {}", switch.value, position.value, a.value, b.value))
        }
        _ => None,
    }
}
