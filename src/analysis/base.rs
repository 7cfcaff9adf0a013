//! What many documents rest on, worked out once for all of them.

use std::sync::Arc;

use super::audit::{each_worked, judged_on};
use super::unsolved::Restless;
use super::{Audit, Worked};
use crate::circuit::{Circuit, Laid, build};
use crate::load::{Loaded, Resting};
use crate::model::DocumentKind;
use crate::rules::RuleSet;
use crate::solve::own_values;
use crate::source::has_errors;

/// A stack of documents that others rest on.
#[derive(Debug)]
pub struct Base {
    loaded: Loaded,
    laid: Laid,
    worked: Vec<Arc<Worked>>,
    restless: Vec<Restless>,
}

impl Base {
    /// Works out a stack; `None` where it has errors.
    pub fn of(loaded: Loaded) -> Option<Base> {
        let mut laid = build(&loaded.stack, &loaded.types, &loaded.sources);
        if has_errors(&loaded.problems) || has_errors(&laid.problems) {
            return None;
        }
        laid.problems.clear();
        let circuits: Vec<Circuit> = std::mem::take(&mut laid.circuits).into_iter().map(own_values).collect();
        let (worked, restless) = each_worked(&circuits);
        Some(Base { loaded, laid, worked, restless })
    }

    /// The texts and documents.
    pub fn loaded(&self) -> &Loaded {
        &self.loaded
    }

    /// What the rules find in a document that rests on these, without comparing; `None` where it has errors, and of a
    /// variant of what is no stock spec, which is judged without the spec that the others rest on.
    pub fn judge(&self, resting: &Resting, rules: &RuleSet) -> Option<Audit> {
        if has_errors(&resting.problems) {
            return None;
        }
        let mut laid = self.laid.clone();
        laid.lay(&resting.document, &resting.sources);
        let circuit = laid.circuits.pop().filter(|_| !has_errors(&laid.problems))?;
        let stock = |circuit: &Circuit| circuit.kind == DocumentKind::Stock;
        if stock(&circuit) && self.worked.last().is_some_and(|last| !stock(&last.circuit)) {
            return None;
        }
        Some(judged_on((&self.worked, &self.restless), own_values(circuit), rules))
    }
}
