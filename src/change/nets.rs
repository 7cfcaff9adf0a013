//! Changes of nets as a whole (a cut, a bridge, a trace mended by wire), and of legs between nets.

use std::collections::BTreeSet;

use super::comparing::{Comparing, NetChange, leg_edit, turnable};
use super::correspond::{Correspondence, common_parts};
use super::patch::Edit;
use super::{Change, ChangeKind};
use crate::circuit::{Circuit, NetId, PartId, describe};
use crate::model::Kind;

/// Nets cut and bridged between two circuits.
pub(super) fn net_changes(before: &Circuit, after: &Circuit, nets: &Correspondence) -> Vec<NetChange> {
    let homes: Vec<(NetId, NetId)> = common_parts(before, after)
        .into_iter()
        .flat_map(|(a, b)| {
            let (a, b) = (before.part(a), after.part(b));
            let pairs = a.legs.iter().filter_map(|leg| {
                let other = b.leg_index(&leg.name)?;
                Some((leg.home, b.legs[other].home))
            });
            pairs.collect::<Vec<_>>()
        })
        .collect();
    let mut found = Vec::new();
    for new in after.net_ids().filter(|id| nets.before_of[id.0 as usize].is_none()) {
        let from: BTreeSet<NetId> = homes.iter().filter(|(_, y)| *y == new).map(|(x, _)| *x).collect();
        let joints = homes.iter().filter(|(_, y)| *y == new).count();
        let said = after.cuts.iter().any(|(n, _)| *n == new);
        if let ([from], true) = (Vec::from_iter(from).as_slice(), said || joints >= 2) {
            found.push(match mending_wire(before, after, new, nets.after_of[from.0 as usize]) {
                Some(wire) => NetChange::Repaired { from: *from, new, wire },
                None => NetChange::Cut { from: *from, new },
            });
        }
    }
    for gone in before.net_ids().filter(|id| nets.after_of[id.0 as usize].is_none()) {
        let into: BTreeSet<NetId> = homes.iter().filter(|(x, _)| *x == gone).map(|(_, y)| *y).collect();
        let joints = homes.iter().filter(|(x, _)| *x == gone).count();
        let named = before.net(gone).declared.is_some();
        if let ([into], true) = (Vec::from_iter(into).as_slice(), named || joints >= 2)
            && let Some(with) = nets.before_of[into.0 as usize]
        {
            found.push(NetChange::Bridged { gone, with, into: *into });
        }
    }
    found
}

/// An added wire between a cut-off net and the one it came from.
fn mending_wire(before: &Circuit, after: &Circuit, new: NetId, old: Option<NetId>) -> Option<String> {
    let wires = after.part_ids().map(|id| (id, after.part(id)));
    wires
        .filter(|(_, part)| part.kind == Kind::Link && before.find(&part.name).is_none())
        .find(|(id, _)| after.across(*id, new).is_some() && after.across(*id, new) == old)
        .map(|(_, part)| part.name.clone())
}

impl Comparing<'_> {
    /// Tells the changes of whole nets.
    pub(super) fn net_level(&mut self) {
        for change in self.net_changes {
            let (kind, subject, before, after, edit, note) = self.net_texts(change);
            let told = Change {
                kind,
                subject,
                before_part: None,
                after_part: None,
                before,
                after,
                role: "net".into(),
                note,
                spans: self.net_spans(change),
            };
            let mut edits = vec![edit];
            if let NetChange::Repaired { wire, .. } = change {
                edits.extend(self.after.circuit.find(wire).map(Edit::Fit));
            }
            self.push(told, edits);
        }
    }

    fn net_texts(&self, change: &NetChange) -> (ChangeKind, String, String, String, Edit, Option<String>) {
        let old = |id: &NetId| self.before.circuit.net(*id).name.clone();
        let legs = |id: &NetId| {
            let net = self.after.circuit.net(*id);
            net.legs.iter().map(|leg| self.after.circuit.leg_name(*leg)).collect::<Vec<_>>().join(", ")
        };
        let new_name = |id: &NetId| self.after.circuit.net(*id).name.clone();
        match change {
            NetChange::Cut { from, new } => (
                ChangeKind::Cut,
                old(from),
                "one net".into(),
                format!("{} apart on {}", legs(new), new_name(new)),
                Edit::Cut { from: *from, new: *new },
                None,
            ),
            NetChange::Repaired { from, new, wire } => (
                ChangeKind::Repaired,
                old(from),
                "one net".into(),
                format!("cut, and joined to {} by wire {wire}", new_name(new)),
                Edit::Cut { from: *from, new: *new },
                Some("electrically none".into()),
            ),
            NetChange::Bridged { gone, with, .. } => (
                ChangeKind::Bridged,
                old(gone),
                "apart".into(),
                format!("one net with {}", old(with)),
                Edit::Bridge { gone: *gone, with: *with },
                None,
            ),
        }
    }

    fn net_spans(&self, change: &NetChange) -> Vec<crate::source::Span> {
        let net = match change {
            NetChange::Cut { new, .. } | NetChange::Repaired { new, .. } => self.after.circuit.net(*new),
            NetChange::Bridged { gone, .. } => self.before.circuit.net(*gone),
        };
        net.declared.iter().map(|d| d.span).collect()
    }

    /// Whether a leg that is in another net is there by a change of the whole net.
    fn net_explains(&self, before: Option<NetId>, after: Option<NetId>) -> bool {
        let (Some(x), Some(y)) = (before, after) else { return false };
        self.net_changes.iter().any(|change| match change {
            NetChange::Cut { from, new } | NetChange::Repaired { from, new, .. } => *from == x && *new == y,
            NetChange::Bridged { gone, into, .. } => *gone == x && *into == y,
        })
    }

    fn leg_same(&self, before: Option<NetId>, after: Option<NetId>) -> bool {
        self.nets.same(before, after) || self.net_explains(before, after)
    }

    /// Leg indices of a part that are elsewhere: (in the first circuit, in the second).
    fn strayed(&self, a: PartId, b: PartId) -> Vec<(usize, usize)> {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        // Legs of a section that was put to use or to rest are told with the section.
        let told = |name: &str| {
            let letter = name.split_once('.').map_or("", |(letter, _)| letter).to_owned();
            old.unused.contains(&letter) != new.unused.contains(&letter)
        };
        let own = old.legs.iter().enumerate().filter(|(_, leg)| !told(&leg.name));
        let pairs = own.filter_map(|(i, leg)| Some((i, new.leg_index(&leg.name)?)));
        pairs.filter(|(i, j)| !self.leg_same(old.legs[*i].net, new.legs[*j].net)).collect()
    }

    /// Changes of a part's legs.
    pub(super) fn legs(&mut self, a: PartId, b: PartId) {
        if self.exchanged(b) {
            return;
        }
        self.further_legs(a, b);
        let strayed = self.strayed(a, b);
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        if let [(i, j), (k, l)] = strayed.as_slice()
            && self.leg_same(old.legs[*i].net, new.legs[*l].net)
            && self.leg_same(old.legs[*k].net, new.legs[*j].net)
        {
            if turnable(old) && turnable(new) {
                return;
            }
            let mut change = self.part_change(ChangeKind::Reversed, (Some(a), Some(b)));
            let (one, two) = (&old.legs[*i].name, &old.legs[*k].name);
            change.before = format!("{one} at {}", describe::place(self.before.circuit, old.legs[*i].net));
            change.after = format!("{two} at {}", describe::place(self.after.circuit, new.legs[*l].net));
            let edits = vec![leg_edit(b, *j), leg_edit(b, *l)];
            self.push(change, edits);
            return;
        }
        for (i, j) in strayed {
            self.leg(a, b, i, j);
        }
    }

    /// Legs that only the second circuit's part has and that are joined to something: they come with its new body
    /// (electrodes of a valve, lugs of a switch), or are a change of their own (a jack's ring).
    fn further_legs(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        let joined = |net: NetId| self.after.circuit.net(net).legs.len() > 1;
        let further: Vec<usize> = (0..new.legs.len())
            .filter(|j| old.leg_index(&new.legs[*j].name).is_none() && new.legs[*j].net.is_some_and(joined))
            .collect();
        let own = self.found.iter_mut().rev().take_while(|(change, _)| change.after_part == Some(b));
        if let Some((_, step)) = own.into_iter().find(|(_, step)| step.edits.contains(&Edit::Body(b))) {
            step.edits.extend(further.into_iter().map(|leg| leg_edit(b, leg)));
            return;
        }
        for leg in further {
            let mut change = self.part_change(ChangeKind::Moved, (Some(a), Some(b)));
            change.before = format!("{} free", new.leg_name(leg));
            change.after = describe::place(self.after.circuit, new.legs[leg].net);
            self.push(change, vec![leg_edit(b, leg)]);
        }
    }

    fn leg(&mut self, a: PartId, b: PartId, i: usize, j: usize) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        let (from, to) = (old.legs[i].net, new.legs[j].net);
        let at_home = |leg: &crate::circuit::Leg| leg.net == Some(leg.home);
        let kind = if to.is_none() {
            ChangeKind::Lifted
        } else if at_home(&new.legs[j]) && !at_home(&old.legs[i]) {
            ChangeKind::Restored
        } else {
            ChangeKind::Moved
        };
        let mut change = self.part_change(kind, (Some(a), Some(b)));
        change.before = format!("{} at {}", new.leg_name(j), describe::place(self.before.circuit, from));
        change.after = describe::place(self.after.circuit, to);
        let edits = vec![leg_edit(b, j)];
        self.push(change, edits);
    }

    /// Two valves, or the two sections of one, that have changed places; and two parts in series that have.
    pub(super) fn exchanged_parts(&mut self) {
        let strays: Vec<(PartId, PartId)> = common_parts(self.before.circuit, self.after.circuit)
            .into_iter()
            .filter(|(a, b)| self.before.circuit.part(*a).fitted() && self.after.circuit.part(*b).fitted())
            .filter(|(a, b)| !self.strayed(*a, *b).is_empty())
            .collect();
        for (index, one) in strays.iter().enumerate() {
            self.exchanged_sections(*one);
            for two in &strays[index + 1..] {
                if self.took_places(*one, *two) {
                    self.tell_exchange(*one, *two);
                } else if self.reordered(*one, *two) {
                    self.silent.extend([one.1, two.1]);
                }
            }
        }
    }

    fn exchanged(&self, part: PartId) -> bool {
        self.silent.contains(&part)
    }

    /// V2a and V2b exchanged: every leg of one section is where the other's was.
    fn exchanged_sections(&mut self, (a, b): (PartId, PartId)) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        let pairs: Vec<(usize, usize)> = (0..old.legs.len())
            .filter_map(|i| {
                let electrode = old.legs[i].name.strip_prefix("a.")?;
                Some((i, old.leg_index(&format!("b.{electrode}"))?))
            })
            .collect();
        let crossed = |(i, j): &(usize, usize)| {
            self.leg_same(old.legs[*i].net, new.legs[*j].net)
                && self.leg_same(old.legs[*j].net, new.legs[*i].net)
        };
        if pairs.is_empty() || !pairs.iter().all(crossed) {
            return;
        }
        let mut change = self.part_change(ChangeKind::ValveSwapped, (Some(a), Some(b)));
        change.before = "sections in their places".into();
        change.after = "sections a and b exchanged".into();
        let edits = (0..new.legs.len()).map(|leg| leg_edit(b, leg)).collect();
        self.silent.insert(b);
        self.push(change, edits);
    }

    fn took_places(&self, one: (PartId, PartId), two: (PartId, PartId)) -> bool {
        let (p, q) = (self.before.circuit.part(one.0), self.before.circuit.part(two.0));
        let (r, s) = (self.after.circuit.part(one.1), self.after.circuit.part(two.1));
        p.kind == q.kind
            && p.legs.len() == q.legs.len()
            && p.legs.iter().zip(&s.legs).all(|(x, y)| self.leg_same(x.net, y.net))
            && q.legs.iter().zip(&r.legs).all(|(x, y)| self.leg_same(x.net, y.net))
    }

    fn tell_exchange(&mut self, one: (PartId, PartId), two: (PartId, PartId)) {
        let other = self.after.circuit.part(two.1).name.clone();
        let valve = self.after.circuit.part(one.1).kind == Kind::Tube;
        let kind = if valve { ChangeKind::ValveSwapped } else { ChangeKind::Moved };
        let mut change = self.part_change(kind, (Some(one.0), Some(one.1)));
        change.before = "in its place".into();
        change.after = format!("exchanged with {other}");
        let mut edits = Vec::new();
        for (_, id) in [one, two] {
            edits.extend((0..self.after.circuit.part(id).legs.len()).map(|leg| leg_edit(id, leg)));
        }
        self.silent.extend([one.1, two.1]);
        self.push(change, edits);
    }

    /// Two two-leg parts in series in the other order: no change.
    fn reordered(&self, one: (PartId, PartId), two: (PartId, PartId)) -> bool {
        let turn = |id: PartId| turnable(self.after.circuit.part(id));
        let ends = |circuit: &Circuit, x: PartId, y: PartId| series_ends(circuit, x, y);
        if !turn(one.1) || !turn(two.1) {
            return false;
        }
        let (Some(old), Some(new)) =
            (ends(self.before.circuit, one.0, two.0), ends(self.after.circuit, one.1, two.1))
        else {
            return false;
        };
        let same = |x: NetId, y: NetId| self.leg_same(Some(x), Some(y));
        (same(old.0, new.0) && same(old.1, new.1)) || (same(old.0, new.1) && same(old.1, new.0))
    }
}

/// The outer ends of two parts that share a net of just their two legs.
fn series_ends(circuit: &Circuit, x: PartId, y: PartId) -> Option<(NetId, NetId)> {
    let (a, b) = circuit.ends(x)?;
    let middle = [a, b]
        .into_iter()
        .find(|net| circuit.across(y, *net).is_some() && circuit.net(*net).legs.len() == 2)?;
    Some((circuit.across(x, middle)?, circuit.across(y, middle)?))
}
