//! Circuits between two others: the first with some of the changes put in. Nets of both lie in one space: the
//! first circuit's nets, then those of the second that have no counterpart.

use std::collections::BTreeSet;

use super::correspond::Correspondence;
use crate::circuit::{Circuit, LegId, NetId, Part, PartId, State, natural};

/// One step of a change; part and leg ids are the second circuit's.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Edit {
    /// The part goes out.
    Take(PartId),
    /// A part of the first circuit that the second does not know goes out.
    TakeNamed(String),
    /// The part comes in as the second circuit has it.
    Fit(PartId),
    /// The second circuit's body.
    Body(PartId),
    /// The second circuit's measured value.
    Measured(PartId),
    /// The second circuit's leakage.
    Leak(PartId),
    /// Conducts or not, as in the second circuit.
    Short(PartId),
    /// Shaft or lever as in the second circuit.
    Setting(PartId),
    /// Idle sections as in the second circuit.
    Idle(PartId),
    /// One leg where the second circuit has it.
    Leg(LegId),
    /// Joints of `from` that the second circuit has in `new` go there.
    Cut { from: NetId, new: NetId },
    /// All of `gone` joins `with`.
    Bridge { gone: NetId, with: NetId },
}

/// A change's edits and the group it was made in.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub edits: Vec<Edit>,
    pub group: Option<String>,
}

/// What patching works from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Between<'a> {
    pub before: &'a Circuit,
    pub after: &'a Circuit,
    pub nets: &'a Correspondence,
}

impl Between<'_> {
    /// A net of the second circuit in the common space.
    pub(super) fn common(&self, net: NetId) -> NetId {
        self.nets.before_of[net.0 as usize].unwrap_or_else(|| {
            let earlier = self.nets.lone[net.0 as usize];
            NetId(self.before.nets.len() as u32 + earlier)
        })
    }

    /// Nets of the common space that the first circuit does not have and an edit brings in.
    pub(super) fn new_nets(&self, edits: &[Edit]) -> BTreeSet<NetId> {
        let fresh = |net: NetId| Some(self.common(net)).filter(|n| n.0 as usize >= self.before.nets.len());
        let of_part =
            |id: PartId| self.after.part(id).legs.iter().filter_map(|l| fresh(l.net?)).collect::<Vec<_>>();
        let mut nets = BTreeSet::new();
        for edit in edits {
            match edit {
                Edit::Fit(id) => nets.extend(of_part(*id)),
                Edit::Leg(leg) => nets.extend(self.after.net_of(*leg).and_then(fresh)),
                Edit::Cut { new, .. } => nets.extend(fresh(*new)),
                _ => {}
            }
        }
        nets
    }

    /// The first circuit with these steps put in.
    pub(super) fn patched(&self, steps: &[&Step]) -> Circuit {
        let mut parts: Vec<Part> = self.before.parts.clone();
        let edits = || steps.iter().flat_map(|step| &step.edits);
        for edit in edits() {
            self.part_edit(&mut parts, edit);
        }
        for edit in edits() {
            if let Edit::Leg(leg) = edit {
                self.leg_edit(&mut parts, *leg);
            }
        }
        for edit in edits() {
            self.net_edit(&mut parts, edit);
        }
        parts.sort_by(|a, b| natural(&a.name, &b.name));
        let lone = self.after.net_ids().filter(|id| self.nets.before_of[id.0 as usize].is_none());
        let names = self.before.nets.iter().map(|n| n.name.clone());
        let names = names.chain(lone.map(|id| self.after.net(id).name.clone())).collect();
        self.before.rewired(parts, names, self.after.types.clone())
    }

    fn part_edit(&self, parts: &mut Vec<Part>, edit: &Edit) {
        let source = |id: &PartId| self.after.part(*id);
        match edit {
            Edit::Take(id) => vacate(parts, &source(id).name),
            Edit::TakeNamed(name) => vacate(parts, name),
            Edit::Fit(id) => {
                let mut part = source(id).clone();
                for leg in &mut part.legs {
                    leg.net = leg.net.map(|n| self.common(n));
                    leg.home = self.common(leg.home);
                }
                parts.retain(|p| p.name != part.name);
                parts.push(part);
            }
            Edit::Body(id) => change(parts, source(id), |part, new| {
                let (at, now) = (part.body.at, part.body.now.clone());
                part.body = new.body.clone();
                (part.body.at, part.body.now) = (at, now);
                (part.measured, part.leak, part.shorted) = (None, None, false);
                // Electrodes that only the new type has come in with their legs free.
                for leg in &new.legs {
                    if part.leg_index(&leg.name).is_none() {
                        let mut leg = leg.clone();
                        leg.net = None;
                        part.legs.push(leg);
                    }
                }
            }),
            Edit::Measured(id) => change(parts, source(id), |part, new| part.measured = new.measured),
            Edit::Leak(id) => change(parts, source(id), |part, new| part.leak = new.leak),
            Edit::Short(id) => change(parts, source(id), |part, new| part.shorted = new.shorted),
            Edit::Setting(id) => change(parts, source(id), |part, new| {
                part.body.at = new.body.at;
                part.body.now.clone_from(&new.body.now);
            }),
            Edit::Idle(id) => change(parts, source(id), |part, new| part.unused.clone_from(&new.unused)),
            Edit::Leg(_) | Edit::Cut { .. } | Edit::Bridge { .. } => {}
        }
    }

    fn leg_edit(&self, parts: &mut [Part], leg: LegId) {
        let source = self.after.part(leg.part);
        let name = &source.legs[leg.leg as usize].name;
        let net = self.after.net_of(leg).map(|n| self.common(n));
        let part = parts.iter_mut().find(|p| p.name == source.name);
        if let Some(leg) = part.and_then(|p| p.legs.iter_mut().find(|l| &l.name == name)) {
            leg.net = net;
        }
    }

    fn net_edit(&self, parts: &mut [Part], edit: &Edit) {
        match edit {
            Edit::Cut { from, new } => {
                for part in parts {
                    let Some(other) = self.after.find(&part.name).map(|id| self.after.part(id)) else {
                        continue;
                    };
                    for leg in part.legs.iter_mut().filter(|l| l.net == Some(*from)) {
                        let there = other.leg_index(&leg.name).map(|i| other.legs[i].home);
                        if there == Some(*new) {
                            leg.net = Some(self.common(*new));
                        }
                    }
                }
            }
            Edit::Bridge { gone, with } => {
                for leg in parts.iter_mut().flat_map(|p| &mut p.legs).filter(|l| l.net == Some(*gone)) {
                    leg.net = Some(*with);
                }
            }
            _ => {}
        }
    }
}

fn vacate(parts: &mut [Part], name: &str) {
    if let Some(part) = parts.iter_mut().find(|p| p.name == name) {
        part.state = State::Removed;
        for leg in &mut part.legs {
            leg.net = None;
        }
    }
}

fn change(parts: &mut [Part], new: &Part, apply: impl Fn(&mut Part, &Part)) {
    if let Some(part) = parts.iter_mut().find(|p| p.name == new.name) {
        apply(part, new);
    }
}
