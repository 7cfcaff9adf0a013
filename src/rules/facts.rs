//! What rules judge: one document's circuit, what was recognised and solved, and the same of what it rests on.

use std::sync::Arc;

use crate::change::{Change, Side, compare};
use crate::circuit::Circuit;
use crate::model::{Condition, DocumentKind};
use crate::recognise::Recognised;
use crate::solve::SolvedSet;
use crate::solve::decay::Charge;
use crate::solve::touch::PulledPlug;

use super::RuleSet;
use super::check::check;
use super::context::Kept;
use super::finding::Finding;

/// One circuit with all that is worked out of it. What rules ask for beyond is worked out once and kept with it.
#[derive(Debug)]
pub struct Worked {
    /// The circuit.
    pub circuit: Circuit,
    /// Its rails, stages and roles.
    pub recognised: Recognised,
    /// Its operating points by condition.
    pub solved: SolvedSet,
    pub(crate) kept: Kept,
}

impl Worked {
    /// A circuit with what was recognised and solved of it.
    pub fn new(circuit: Circuit, recognised: Recognised, solved: SolvedSet) -> Worked {
        Worked { circuit, recognised, solved, kept: Kept::default() }
    }

    /// What its pulled plug keeps.
    pub fn pulled_plug(&self) -> &PulledPlug {
        self.kept.touch.pulled_plug(self)
    }

    /// What its capacitors keep after switching off from idle; why not, where that is not known.
    pub fn stored_charge(&self) -> &Result<Charge, String> {
        self.kept.charge.all(self, Condition::Idle)
    }

    /// As comparisons see it.
    pub fn side(&self) -> Side<'_> {
        Side { circuit: &self.circuit, recognised: &self.recognised }
    }
}

/// Everything rules may ask about one document.
#[derive(Debug, Clone)]
pub struct Facts {
    /// The document that is judged.
    pub now: Arc<Worked>,
    /// The document beneath, if it rests on one.
    pub before: Option<Arc<Worked>>,
    /// The nearest stock spec beneath; `None` where the document is one itself.
    pub stock: Option<Arc<Worked>>,
    /// Changes since the document beneath.
    pub changes: Vec<Change>,
    /// Differences from the stock spec.
    pub differences: Vec<Change>,
    /// Findings on the document beneath, for a plan.
    pub before_findings: Option<Vec<Finding>>,
}

impl Facts {
    /// Facts of the last of a stack of documents, stock spec first; `None` of an empty stack. A plan's come with the
    /// findings on the document beneath.
    pub fn of_stack(set: &RuleSet, stack: &[Arc<Worked>]) -> Option<Facts> {
        let (now, beneath) = stack.split_last()?;
        let is_stock = |worked: &&Arc<Worked>| worked.circuit.kind == DocumentKind::Stock;
        let before = beneath.last();
        let stock = beneath.iter().rev().find(is_stock).filter(|_| !is_stock(&now));
        let since = |then: &Arc<Worked>| compare(then.side(), now.side()).changes;
        let changes = before.map_or_else(Vec::new, since);
        let differences = match (before, stock) {
            (Some(before), Some(stock)) if Arc::ptr_eq(before, stock) => changes.clone(),
            _ => stock.map_or_else(Vec::new, since),
        };
        let before_findings = if now.circuit.kind == DocumentKind::Plan {
            Facts::of_stack(set, beneath).map(|facts| check(set, &facts).findings)
        } else {
            None
        };
        Some(Facts {
            now: now.clone(),
            before: before.cloned(),
            stock: stock.cloned(),
            changes,
            differences,
            before_findings,
        })
    }
}
