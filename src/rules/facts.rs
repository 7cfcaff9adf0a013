//! What rules judge: one document's circuit, what was recognised and solved, and the same of what it rests on.

use crate::change::{Change, Side, compare};
use crate::circuit::Circuit;
use crate::recognise::Recognised;
use crate::solve::SolvedSet;
use crate::syntax::tree::DocumentKind;

use super::RuleSet;
use super::check::check;
use super::finding::Finding;

/// One circuit with all that was worked out of it.
#[derive(Debug, Clone, Copy)]
pub struct View<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// Its rails, stages and roles.
    pub recognised: &'a Recognised,
    /// Its operating points by condition.
    pub solved: &'a SolvedSet,
}

/// Everything rules may ask about one document.
#[derive(Debug, Clone, Copy)]
pub struct Facts<'a> {
    /// The document that is judged.
    pub now: View<'a>,
    /// The document beneath, if it rests on one.
    pub before: Option<View<'a>>,
    /// The nearest stock spec beneath; `None` where the document is one itself.
    pub stock: Option<View<'a>>,
    /// Changes since the document beneath.
    pub changes: &'a [Change],
    /// Differences from the stock spec.
    pub differences: &'a [Change],
    /// Findings on the document beneath, for a plan.
    pub before_findings: Option<&'a [Finding]>,
}

/// One circuit with all that was worked out of it, owned.
#[derive(Debug, Clone)]
pub struct OwnedView {
    /// The circuit.
    pub circuit: Circuit,
    /// Its rails, stages and roles.
    pub recognised: Recognised,
    /// Its operating points by condition.
    pub solved: SolvedSet,
}

/// [`Facts`] that own what they are about: what [`super::prove()`] asks its caller for.
#[derive(Debug, Clone)]
pub struct OwnedFacts {
    /// The document that is judged.
    pub now: OwnedView,
    /// The document beneath.
    pub before: Option<OwnedView>,
    /// The nearest stock spec beneath.
    pub stock: Option<OwnedView>,
    /// Changes since the document beneath.
    pub changes: Vec<Change>,
    /// Differences from the stock spec.
    pub differences: Vec<Change>,
    /// Findings on the document beneath.
    pub before_findings: Option<Vec<Finding>>,
}

impl OwnedView {
    /// Borrows it.
    pub fn view(&self) -> View<'_> {
        View { circuit: &self.circuit, recognised: &self.recognised, solved: &self.solved }
    }

    fn side(&self) -> Side<'_> {
        Side { circuit: &self.circuit, recognised: &self.recognised }
    }
}

impl OwnedFacts {
    /// Facts of the last of a stack of documents, stock spec first; `None` of an empty stack. A plan's come with the
    /// findings on the document beneath.
    pub fn of_stack(set: &RuleSet, mut views: Vec<OwnedView>) -> Option<OwnedFacts> {
        let now = views.pop()?;
        let plan = now.circuit.kind == DocumentKind::Plan;
        let stock = views.iter().rev().find(|v| v.circuit.kind == DocumentKind::Stock).cloned();
        let stock = stock.filter(|_| now.circuit.kind != DocumentKind::Stock);
        let before = views.last().cloned();
        let since = |then: &Option<OwnedView>| {
            then.as_ref().map_or_else(Vec::new, |then| compare(then.side(), now.side()).changes)
        };
        let (changes, differences) = (since(&before), since(&stock));
        let before_findings = if plan {
            OwnedFacts::of_stack(set, views).map(|beneath| check(set, &beneath.facts()).findings)
        } else {
            None
        };
        Some(OwnedFacts { now, before, stock, changes, differences, before_findings })
    }

    /// Borrows them.
    pub fn facts(&self) -> Facts<'_> {
        Facts {
            now: self.now.view(),
            before: self.before.as_ref().map(OwnedView::view),
            stock: self.stock.as_ref().map(OwnedView::view),
            changes: &self.changes,
            differences: &self.differences,
            before_findings: self.before_findings.as_deref(),
        }
    }
}
