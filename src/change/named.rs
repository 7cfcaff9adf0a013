//! Changes between two circuits with common designators.

use std::collections::BTreeSet;

use super::comparing::{Comparing, Side, leg_edit};
use super::correspond::{Correspondence, common_parts, correspond};
use super::nets::net_changes;
use super::patch::{Between, Edit, Step};
use super::{Change, ChangeKind};
use crate::change::comparing::NetChange;
use crate::circuit::{Circuit, Origin, Part, PartId, State, describe, natural};
use crate::model::{DocumentKind, Kind};

/// The changes from one circuit to another, and how each is put into effect.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// What is different, in listing order.
    pub changes: Vec<Change>,
    /// For each change the edits that make it.
    pub(super) steps: Vec<Step>,
    /// How the nets lie over each other.
    pub(super) nets: Correspondence,
}

impl Comparison {
    /// The first circuit with every change put in: electrically the second.
    pub fn rebuilt(&self, before: &Circuit, after: &Circuit) -> Circuit {
        Between::new(before, after, &self.nets).patched(&self.steps.iter().collect::<Vec<_>>())
    }
}

impl Comparison {
    /// The group that a layer's text puts a change in: `in "lead-stage"`.
    pub fn group(&self, change: usize) -> Option<&str> {
        self.steps.get(change)?.group.as_deref()
    }
}

/// Compares two circuits part by part by designator.
pub fn compare(before: Side, after: Side) -> Comparison {
    compare_over(before, after, correspond(before.circuit, after.circuit))
}

/// The same where it is known which net is which.
pub(super) fn compare_over(before: Side, after: Side, nets: Correspondence) -> Comparison {
    let net_changes = net_changes(before.circuit, after.circuit, &nets);
    let mut comparing = Comparing {
        before,
        after,
        nets: &nets,
        net_changes: &net_changes,
        found: Vec::new(),
        silent: BTreeSet::new(),
    };
    comparing.net_level();
    comparing.exchanged_parts();
    for (a, b) in common_parts(before.circuit, after.circuit) {
        comparing.common(a, b);
    }
    comparing.only_before();
    comparing.only_after();
    let mut found = comparing.found;
    found.sort_by(|a, b| {
        let key = |c: &Change| (c.kind, c.subject.clone());
        a.0.kind
            .cmp(&b.0.kind)
            .then_with(|| natural(&a.0.subject, &b.0.subject))
            .then_with(|| key(&a.0).cmp(&key(&b.0)))
    });
    let (changes, steps) = found.into_iter().unzip();
    Comparison { changes, steps, nets }
}

impl Comparing<'_> {
    fn common(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        match (old.fitted(), new.fitted()) {
            (false, false) => {}
            (true, false) => self.gone(a, b),
            (false, true) => self.back(a, b),
            (true, true) => {
                self.body(a, b);
                self.condition(a, b);
                self.control(a, b);
                self.idle_sections(a, b);
                self.legs(a, b);
            }
        }
    }

    fn gone(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        if let State::ReplacedBy { series, parts } = &new.state {
            self.stood_in(a, b, *series, &parts.clone());
            return;
        }
        // What a plan says is not there, it takes out.
        let planned = self.after.circuit.kind == DocumentKind::Plan && new.looked_at;
        let missing = old.origin == Origin::Stock && !planned;
        let kind = if missing { ChangeKind::Missing } else { ChangeKind::Removed };
        let mut change = self.part_change(kind, (Some(a), Some(b)));
        change.before = describe::body(old.kind, &old.component.body);
        change.after = match &new.state {
            State::Missing { snipped: true, .. } => "snipped".into(),
            _ => "not fitted".into(),
        };
        self.push(change, vec![Edit::Take(b)]);
    }

    /// Stand-ins are judged as one part against the one they stand for.
    fn stood_in(&mut self, a: PartId, b: PartId, series: bool, names: &[String]) {
        let old = self.before.circuit.part(a);
        let stands: Vec<PartId> = names.iter().filter_map(|n| self.after.circuit.find(n)).collect();
        let values: Option<Vec<f64>> = stands.iter().map(|id| self.after.circuit.part(*id).value()).collect();
        let adds_up = series != (old.kind == Kind::Capacitor);
        let total = values
            .map(|v| if adds_up { v.iter().sum() } else { 1.0 / v.iter().map(|x| 1.0 / x).sum::<f64>() });
        let (below, above, _) = old.tolerance();
        let kind = match (total, old.component.body.value) {
            (Some(total), Some(nominal)) if within(total, nominal, below, above) => ChangeKind::Replaced,
            _ => ChangeKind::Revalued,
        };
        let mut change = self.part_change(kind, (Some(a), Some(b)));
        change.before = describe::body(old.kind, &old.component.body);
        let unit = old.kind.unit().unwrap_or(crate::units::Unit::Ratio);
        let sum = total
            .map_or_else(|| "unknown".into(), |t| crate::units::exact(crate::units::significant(t, 4), unit));
        let how = if series { "in series" } else { "in parallel" };
        change.after = format!("{} {how}, together {sum}", names.join(" and "));
        let mut edits = vec![Edit::Take(b)];
        edits.extend(stands.into_iter().map(Edit::Fit));
        self.push(change, edits);
    }

    fn back(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        let mut change = self.part_change(ChangeKind::Restored, (Some(a), Some(b)));
        change.before = match &old.state {
            State::ReplacedBy { parts, .. } => parts.join(" and "),
            _ => "not fitted".into(),
        };
        change.after = describe::body(new.kind, &new.component.body);
        let mut edits = vec![Edit::Fit(b)];
        if let State::ReplacedBy { parts, .. } = &old.state {
            edits.extend(parts.iter().map(|name| Edit::TakeNamed(name.clone())));
        }
        self.push(change, edits);
    }

    /// Another body: valve type, value, rating, or the same again.
    fn body(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        let (x, y) = (fixed(old), fixed(new));
        let same = x == y && old.named_contacts() == new.named_contacts();
        let kind = if same {
            if old.replaced == new.replaced {
                return;
            }
            ChangeKind::Replaced
        } else if x.type_name != y.type_name && old.kind == Kind::Tube {
            ChangeKind::ValveSwapped
        } else if x.value != y.value || x.taper != y.taper || x.type_name != y.type_name {
            ChangeKind::Revalued
        } else {
            ChangeKind::Rerated
        };
        let mut change = self.part_change(kind, (Some(a), Some(b)));
        (change.before, change.after) = describe::bodies(old, new);
        self.push(change, vec![Edit::Body(b)]);
    }

    fn control(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        if (old.component.body.at, &old.component.body.now)
            == (new.component.body.at, &new.component.body.now)
        {
            return;
        }
        let mut change = self.part_change(ChangeKind::ControlSet, (Some(a), Some(b)));
        change.before = describe::setting(&old.component.body);
        change.after = describe::setting(&new.component.body);
        self.push(change, vec![Edit::Setting(b)]);
    }

    /// A section that was idle and is used, or the other way round, with all its legs: one change.
    fn idle_sections(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        let differs = |letter: &&String| old.unused.contains(*letter) != new.unused.contains(*letter);
        let letters: Vec<String> = old.unused.iter().chain(&new.unused).filter(differs).cloned().collect();
        for letter in letters {
            let mut change = self.part_change(ChangeKind::Moved, (Some(a), Some(b)));
            change.subject = format!("{}{letter}", new.name);
            let shown = |part: &Part| if part.unused.contains(&letter) { "idle" } else { "in use" };
            (change.before, change.after) = (shown(old).into(), shown(new).into());
            let prefix = format!("{letter}.");
            let legs = (0..new.legs.len()).filter(|i| new.legs[*i].name.starts_with(&prefix));
            let mut edits: Vec<Edit> = legs.map(|leg| leg_edit(b, leg)).collect();
            edits.push(Edit::Idle(b));
            self.push(change, edits);
        }
    }

    fn only_before(&mut self) {
        for id in self.before.circuit.part_ids() {
            let part = self.before.circuit.part(id);
            let stood_in =
                matches!(&part.origin, Origin::StandsFor { part } if self.after.circuit.find(part).is_some());
            if !part.fitted()
                || stood_in
                || self.after.circuit.find(&part.name).is_some()
                || self.explained(&part.name)
            {
                continue;
            }
            let kind = if part.origin == Origin::Stock { ChangeKind::Missing } else { ChangeKind::Removed };
            let mut change = self.part_change(kind, (Some(id), None));
            change.before = join(
                &describe::body(part.kind, &part.component.body),
                &describe::seat(self.before.circuit, part),
            );
            change.after = "not there".into();
            self.push(change, vec![Edit::TakeNamed(part.name.clone())]);
        }
    }

    fn only_after(&mut self) {
        for id in self.after.circuit.part_ids() {
            let part = self.after.circuit.part(id);
            let stands = matches!(&part.origin, Origin::StandsFor { part } if self.before.circuit.find(part).is_some());
            if !part.fitted()
                || stands
                || self.before.circuit.find(&part.name).is_some()
                || self.explained(&part.name)
            {
                continue;
            }
            let kind = if part.kind == Kind::Link { ChangeKind::Bridged } else { ChangeKind::Added };
            let mut change = self.part_change(kind, (None, Some(id)));
            change.before = "not there".into();
            change.after = join(
                &describe::body(part.kind, &part.component.body),
                &describe::seat(self.after.circuit, part),
            );
            self.push(change, vec![Edit::Fit(id)]);
        }
    }

    /// Whether a net change already speaks of this part (the wire that mends a trace).
    fn explained(&self, name: &str) -> bool {
        self.net_changes.iter().any(|c| matches!(c, NetChange::Repaired { wire, .. } if wire == name))
    }
}

/// The body without what a control's shaft or a switch's lever does, and without the order of statements.
/// Contacts, which count legs, are compared by name.
fn fixed(part: &Part) -> crate::circuit::Body {
    let mut body = part.component.body.clone();
    (body.at, body.now) = (None, None);
    body.contacts.clear();
    body.windings.sort_by(|a, b| a.name.cmp(&b.name));
    body
}

/// The measured value where it lies outside the label's tolerance.
pub fn drifted(part: &Part) -> Option<f64> {
    let (below, above, _) = part.tolerance();
    let value = part.component.measured?;
    (!within(value, part.component.body.value?, below, above)).then_some(value)
}

fn within(value: f64, nominal: f64, below: f64, above: f64) -> bool {
    // A hair's breadth for decimal values that are not exact in binary.
    let slack = 1e-9 * nominal.abs();
    value >= nominal * (1.0 - below) - slack && value <= nominal * (1.0 + above) + slack
}

fn join(a: &str, b: &str) -> String {
    if b.is_empty() { a.to_owned() } else { format!("{a} {b}") }
}
