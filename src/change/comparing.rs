//! Two circuits while they are compared.

use std::collections::BTreeSet;

use super::correspond::Correspondence;
use super::patch::{Edit, Step};
use super::{Change, ChangeKind};
use crate::circuit::{Circuit, LegId, NetId, Origin, Part, PartId};
use crate::model::Construction;
use crate::recognise::Recognised;
use crate::source::Span;

/// One circuit with what was recognised in it.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// Its roles and stages.
    pub recognised: &'a Recognised,
}

pub(super) struct Comparing<'a> {
    pub before: Side<'a>,
    pub after: Side<'a>,
    pub nets: &'a Correspondence,
    pub net_changes: &'a [NetChange],
    pub found: Vec<(Change, Step)>,
    /// Parts whose legs have been told of already, or need not be.
    pub silent: BTreeSet<PartId>,
}

pub(super) fn leg_edit(part: PartId, leg: usize) -> Edit {
    Edit::Leg(LegId { part, leg: leg as u32 })
}

/// Whether a two-leg part may be turned round without a difference.
pub(super) fn turnable(part: &Part) -> bool {
    part.kind.symmetric() && part.component.body.construction != Some(Construction::Electrolytic)
}

fn new_remark(old: Option<&Part>, new: Option<&Part>) -> Option<String> {
    let new = new?;
    // Another component in the place has none of the old one's.
    let remarks = |p: &Part| p.component.remarks.clone();
    let known = old.map(remarks).unwrap_or_default();
    let fresh: Vec<String> =
        remarks(new).into_iter().filter(|r| !known.contains(r)).map(|r| r.value).collect();
    if !fresh.is_empty() {
        return Some(fresh.join("; "));
    }
    if old.is_none() { new.note.clone() } else { None }
}

/// Statements of the second document about the part, or its declarations where there are none.
fn new_spans(old: Option<&Part>, new: Option<&Part>) -> Vec<Span> {
    let known = old.map(|p| p.said.clone()).unwrap_or_default();
    let mut spans: Vec<Span> =
        new.map(|p| p.said.iter().filter(|s| !known.contains(s)).copied().collect()).unwrap_or_default();
    if spans.is_empty() {
        spans.extend(new.map(|p| p.declared));
    }
    spans.extend(old.map(|p| p.declared).filter(|s| !spans.contains(s)));
    spans
}

/// A net that became two, or two that became one.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NetChange {
    /// Joints of `from` now sit in `new`.
    Cut { from: NetId, new: NetId },
    /// As a cut, but a wire joins the two again: electrically none.
    Repaired { from: NetId, new: NetId, wire: String },
    /// All that was in `gone` is now in `into`, which is `with` of the first circuit.
    Bridged { gone: NetId, with: NetId, into: NetId },
}

impl Comparing<'_> {
    pub(super) fn push(&mut self, change: Change, edits: Vec<Edit>) {
        let group = match change.after_part.map(|id| &self.after.circuit.part(id).origin) {
            Some(Origin::Added { group }) => group.clone(),
            _ => None,
        };
        self.found.push((change, Step { edits, group }));
    }

    /// A change of one part with its texts, spans and role filled in.
    pub(super) fn part_change(&self, kind: ChangeKind, ids: (Option<PartId>, Option<PartId>)) -> Change {
        let (before, after) = ids;
        let old = before.map(|id| self.before.circuit.part(id));
        let new = after.map(|id| self.after.circuit.part(id));
        let subject = new.or(old).map(|p| p.name.clone()).unwrap_or_default();
        let role = match (before, after) {
            (Some(id), _) => self.before.recognised.describe(self.before.circuit, id),
            (None, Some(id)) => self.after.recognised.describe(self.after.circuit, id),
            _ => String::new(),
        };
        Change {
            kind,
            subject,
            before_part: before,
            after_part: after,
            before: String::new(),
            after: String::new(),
            role,
            note: new_remark(old, new),
            spans: new_spans(old, new),
        }
    }
}
