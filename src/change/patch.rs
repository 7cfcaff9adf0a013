//! Circuits between two others: the first with some of the changes put in. Nets of both lie in one space: the
//! first circuit's nets, then those of the second that have no counterpart.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::correspond::Correspondence;
use crate::circuit::{Circuit, Contact, Leg, LegId, NetId, Part, PartId, State, Stray, natural};

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
    /// A path inside, there or not as in the second circuit.
    Stray(PartId, Stray),
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
#[derive(Debug)]
pub(super) struct Between<'a> {
    pub before: &'a Circuit,
    pub after: &'a Circuit,
    pub nets: &'a Correspondence,
    /// The first circuit in the nets of the common space: what every patched one shares with it is there once.
    bare: Circuit,
}

impl<'a> Between<'a> {
    pub(super) fn new(before: &'a Circuit, after: &'a Circuit, nets: &'a Correspondence) -> Between<'a> {
        let lone = after.net_ids().filter(|id| nets.before_of[id.0 as usize].is_none());
        let mut bare = before.with_nets(lone.map(|id| after.net(id).name.clone()));
        bare.types = after.types.clone();
        Between { before, after, nets, bare }
    }

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
        let mut parts = Parts::of(&self.bare);
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
            self.net_edit(&mut parts.list, edit);
        }
        let mut list = parts.list;
        if !parts.come.is_empty() {
            list.sort_by(|a, b| natural(&a.name, &b.name));
        }
        self.bare.with_parts(list)
    }

    fn part_edit(&self, parts: &mut Parts<'_>, edit: &Edit) {
        let source = |id: &PartId| self.after.part(*id);
        match edit {
            Edit::Take(id) => parts.vacate(&source(id).name),
            Edit::TakeNamed(name) => parts.vacate(name),
            Edit::Fit(id) => {
                let mut part = source(id).clone();
                for leg in &mut part.legs {
                    leg.net = leg.net.map(|n| self.common(n));
                    leg.home = self.common(leg.home);
                }
                parts.put(part);
            }
            Edit::Body(id) => parts.change(source(id), |part, new| {
                part.component = part.component.succeeded(&new.component);
                part.replaced = new.replaced;
                // Legs that only the new body has come in free.
                for leg in &new.legs {
                    self.leg_of(part, leg);
                }
                // Contacts count legs, whose order may be another.
                let lug = |index: u32| {
                    part.leg_index(&new.legs[index as usize].name).expect("its legs came with it") as u32
                };
                let counted =
                    |c: &Contact| Contact { position: c.position.clone(), a: lug(c.a), b: lug(c.b) };
                let contacts = new.component.body.contacts.iter().map(counted).collect();
                part.component.body.contacts = contacts;
            }),
            Edit::Measured(id) => {
                parts.change(source(id), |part, new| {
                    part.component.measured = new.component.measured;
                });
            }
            Edit::Leak(id) => parts.change(source(id), |part, new| part.component.leak = new.component.leak),
            Edit::Short(id) => {
                parts.change(source(id), |part, new| {
                    part.component.shorted = new.component.shorted;
                });
            }
            Edit::Stray(id, stray) => parts.change(source(id), |part, new| {
                part.component.strays.retain(|own| own != stray);
                part.component
                    .strays
                    .extend(new.component.strays.iter().filter(|own| *own == stray).cloned());
            }),
            Edit::Setting(id) => parts.change(source(id), |part, new| {
                part.component.body.at = new.component.body.at;
                part.component.body.now.clone_from(&new.component.body.now);
            }),
            Edit::Idle(id) => parts.change(source(id), |part, new| part.unused.clone_from(&new.unused)),
            Edit::Leg(_) | Edit::Cut { .. } | Edit::Bridge { .. } => {}
        }
    }

    fn leg_edit(&self, parts: &mut Parts<'_>, leg: LegId) {
        let source = self.after.part(leg.part);
        let like = &source.legs[leg.leg as usize];
        let net = self.after.net_of(leg).map(|n| self.common(n));
        let Some(part) = parts.find(&source.name) else { return };
        let home = self.common(like.home);
        *self.leg_of(part, like) = Leg { net, home, ..like.clone() };
    }

    /// The leg of a part that the second circuit's part has; it comes in free where the first circuit's had none.
    fn leg_of<'p>(&self, part: &'p mut Part, like: &Leg) -> &'p mut Leg {
        let found = part.leg_index(&like.name);
        let index = found.unwrap_or_else(|| {
            part.legs.push(Leg { net: None, home: self.common(like.home), ..like.clone() });
            part.legs.len() - 1
        });
        &mut part.legs[index]
    }

    fn net_edit(&self, parts: &mut [Arc<Part>], edit: &Edit) {
        match edit {
            Edit::Cut { from, new } => {
                for part in sitting_in(parts, *from) {
                    let Some(other) = self.after.find(&part.name).map(|id| self.after.part(id)) else {
                        continue;
                    };
                    for leg in part.legs.iter_mut().filter(|l| l.net == Some(*from)) {
                        let there = other.leg_index(&leg.name).map(|i| other.legs[i].home);
                        if there == Some(*new) {
                            (leg.net, leg.home) = (Some(self.common(*new)), self.common(*new));
                        }
                    }
                }
            }
            Edit::Bridge { gone, with } => {
                for leg in sitting_in(parts, *gone).flat_map(|part| &mut part.legs) {
                    let moved = |net: &mut NetId| {
                        if *net == *gone {
                            *net = *with;
                        }
                    };
                    moved(&mut leg.home);
                    leg.net.iter_mut().for_each(moved);
                }
            }
            _ => {}
        }
    }
}

/// Parts with a leg in a net, or one that belongs there, to be changed.
fn sitting_in(parts: &mut [Arc<Part>], net: NetId) -> impl Iterator<Item = &mut Part> {
    let sits =
        move |part: &&mut Arc<Part>| part.legs.iter().any(|leg| leg.net == Some(net) || leg.home == net);
    parts.iter_mut().filter(sits).map(Arc::make_mut)
}

/// The parts of a circuit in the making, found by name.
struct Parts<'a> {
    circuit: &'a Circuit,
    /// Those of the circuit in their places, then those that have come.
    list: Vec<Arc<Part>>,
    /// Places of those that have come.
    come: BTreeMap<String, usize>,
}

impl Parts<'_> {
    fn of(circuit: &Circuit) -> Parts<'_> {
        Parts { circuit, list: Vec::clone(&circuit.parts), come: BTreeMap::new() }
    }

    fn find(&mut self, name: &str) -> Option<&mut Part> {
        let there = self.circuit.find(name).map(|id| id.0 as usize);
        let index = there.or_else(|| self.come.get(name).copied())?;
        Some(Arc::make_mut(&mut self.list[index]))
    }

    /// Puts a part in, in place of one of the same name.
    fn put(&mut self, part: Part) {
        if let Some(there) = self.find(&part.name) {
            *there = part;
        } else {
            self.come.insert(part.name.clone(), self.list.len());
            self.list.push(Arc::new(part));
        }
    }

    fn vacate(&mut self, name: &str) {
        if let Some(part) = self.find(name) {
            part.state = State::Removed;
            for leg in &mut part.legs {
                leg.net = None;
            }
        }
    }

    fn change(&mut self, new: &Part, apply: impl Fn(&mut Part, &Part)) {
        if let Some(part) = self.find(&new.name) {
            apply(part, new);
        }
    }
}
