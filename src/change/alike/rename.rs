//! The second circuit in the first one's names.

use std::collections::{BTreeMap, BTreeSet};

use super::pairing::{Pairing, Two};
use super::sketch::{NONE, jumper};
use crate::circuit::draft::{Draft, DraftPart};
use crate::circuit::{CHASSIS, Circuit, Contact, NetId, Part, PartId};
use crate::model::Kind;

/// Set behind a name of the second circuit that means something else in the first.
pub const SECOND: char = '′';

/// What is what in the two circuits themselves, jumpers and the nets on both sides of them told apart.
#[derive(Debug, Clone, Default)]
pub(super) struct Same {
    /// Partner in the first circuit of a part of the second.
    pub parts: BTreeMap<PartId, PartId>,
    /// The other way round.
    seconds: BTreeMap<PartId, PartId>,
    /// The same for nets.
    pub nets: BTreeMap<NetId, NetId>,
    /// Legs of paired parts: indices in the first and in the second.
    legs: BTreeMap<PartId, Vec<(u32, u32)>>,
}

/// Turns what was found of the sketches into what holds of the circuits.
pub(super) fn same(two: Two, pairing: &Pairing, before: &Circuit, after: &Circuit) -> Same {
    let mut same = Same::default();
    let mut votes: BTreeMap<(NetId, NetId), u32> = BTreeMap::new();
    for (a, b) in pairing.parts[0].iter().enumerate().filter(|(_, b)| **b != NONE) {
        let (x, y) = (&two.a.parts[a], &two.b.parts[*b as usize]);
        let legs: Vec<(u32, u32)> = pairing
            .legs(x, y)
            .pairs
            .into_iter()
            .map(|(i, j, _)| (x.legs[i].index, y.legs[j].index))
            .collect();
        for (i, j) in &legs {
            let nets = (before.part(x.id).legs[*i as usize].net, after.part(y.id).legs[*j as usize].net);
            let (Some(n), Some(m)) = nets else { continue };
            let partners = pairing.nets[0][two.a.net_of[n.0 as usize] as usize] == two.b.net_of[m.0 as usize];
            // The sketch's partners count most, but a net that a jumper splits is several here: legs then say which.
            *votes.entry((n, m)).or_insert(0) += 1 + 4 * u32::from(partners);
        }
        same.pair(x.id, y.id, legs);
    }
    let mut ranked: Vec<(u32, (NetId, NetId))> =
        votes.into_iter().map(|(nets, votes)| (votes, nets)).collect();
    ranked.sort_by(|x, y| y.0.cmp(&x.0).then(x.1.cmp(&y.1)));
    let mut taken: BTreeSet<NetId> = BTreeSet::from([CHASSIS]);
    same.nets.insert(CHASSIS, CHASSIS);
    for (_, (n, m)) in ranked {
        if !taken.contains(&n) && !same.nets.contains_key(&m) {
            taken.insert(n);
            same.nets.insert(m, n);
        }
    }
    same.jumpers(before, after, &mut taken);
    same
}

/// What two jumpers have in common.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ends {
    Both,
    /// One, and the other is not known otherwise.
    Open,
    One,
}

impl Same {
    pub(super) fn pair(&mut self, first: PartId, second: PartId, legs: Vec<(u32, u32)>) {
        if let Some(old) = self.parts.insert(second, first) {
            self.seconds.remove(&old);
        }
        self.seconds.insert(first, second);
        self.legs.insert(second, legs);
    }

    /// Makes partners of two symmetric two-leg parts. Those that they leave become partners of each other, and are given:
    /// the first circuit's, then the second's.
    pub(super) fn exchange(&mut self, first: PartId, second: PartId) -> Option<(PartId, PartId)> {
        let left = self.second(first).filter(|left| *left != second);
        let gone = self.parts.get(&second).copied().filter(|gone| *gone != first);
        if let Some(left) = left {
            self.parts.remove(&left);
            self.legs.remove(&left);
        }
        self.pair(first, second, vec![(0, 0), (1, 1)]);
        let (gone, left) = (gone?, left?);
        self.pair(gone, left, vec![(0, 0), (1, 1)]);
        Some((gone, left))
    }

    /// Lays a two-leg part's ends over its partner's the way in which more of their nets are one.
    pub(super) fn turn(&mut self, second: PartId, firsts: [Option<NetId>; 2], seconds: [Option<NetId>; 2]) {
        let over = |net: Option<NetId>| net.and_then(|n| self.nets.get(&n).copied());
        let agree = |i: usize, j: usize| usize::from(firsts[i].is_some() && firsts[i] == over(seconds[j]));
        let crossed = agree(0, 1) + agree(1, 0) > agree(0, 0) + agree(1, 1);
        self.legs.insert(second, if crossed { vec![(0, 1), (1, 0)] } else { vec![(0, 0), (1, 1)] });
    }

    /// The partner of a part of the first circuit.
    pub(super) fn second(&self, first: PartId) -> Option<PartId> {
        self.seconds.get(&first).copied()
    }

    /// The leg of its partner that lies over a leg of a part of the second circuit.
    pub(super) fn partner_leg(&self, second: PartId, leg: u32) -> Option<u32> {
        self.legs.get(&second)?.iter().find(|(_, own)| *own == leg).map(|(first, _)| *first)
    }

    /// Jumpers between the same nets; where one end is known, the other; then those that have but one end in common, so
    /// that a net with a jumper in it that ran into another takes its jumper along.
    fn jumpers(&mut self, before: &Circuit, after: &Circuit, taken: &mut BTreeSet<NetId>) {
        let of = |circuit: &Circuit| -> Vec<(PartId, NetId, NetId)> {
            let ids = circuit.part_ids().filter(|id| jumper(circuit.part(*id)));
            ids.filter_map(|id| circuit.ends(id).map(|(a, b)| (id, a, b))).collect()
        };
        let (mut firsts, seconds) = (of(before), of(after));
        // The surest first: a jumper that fits at both ends must not be taken by one that fits at one.
        for ends in [Ends::Both, Ends::Open, Ends::One] {
            for (id, c, d) in &seconds {
                if self.parts.contains_key(id) {
                    continue;
                }
                let partner = |net: &NetId| self.nets.get(net).copied();
                let fits = |(_, a, b): &&(PartId, NetId, NetId)| {
                    let lie = |x: &NetId, y: &NetId| {
                        let (p, q) = (partner(c), partner(d));
                        let open = |net: &NetId| !taken.contains(net);
                        match (p, q) {
                            _ if ends == Ends::One => p == Some(*x) || q == Some(*y),
                            (Some(p), Some(q)) => p == *x && q == *y,
                            (Some(p), None) => ends == Ends::Open && p == *x && open(y),
                            (None, Some(q)) => ends == Ends::Open && q == *y && open(x),
                            (None, None) => false,
                        }
                    };
                    lie(a, b) || lie(b, a)
                };
                let Some(found) = firsts.iter().find(fits).copied() else { continue };
                let (first, a, b) = found;
                firsts.retain(|f| f.0 != first);
                let straight = partner(c) == Some(a) || partner(d) == Some(b);
                let pairs = if straight { [(a, *c), (b, *d)] } else { [(b, *c), (a, *d)] };
                for (n, m) in pairs {
                    if !self.nets.contains_key(&m) && taken.insert(n) {
                        self.nets.insert(m, n);
                    }
                }
                let legs = if straight { vec![(0, 0), (1, 1)] } else { vec![(0, 1), (1, 0)] };
                self.pair(first, *id, legs);
            }
        }
    }
}

/// The second circuit as a draft in which everything that the first has bears the first's name.
pub(super) fn rename(before: &Circuit, draft: &mut Draft, same: &Same) {
    let mut used: BTreeSet<String> = before.parts.iter().map(|p| p.name.clone()).collect();
    let mut names: BTreeMap<String, String> = BTreeMap::new();
    for part in &draft.parts {
        let own = &part.part.name;
        let name = match same.parts.get(&part.was) {
            Some(first) => before.part(*first).name.clone(),
            None => apart(own, &mut used),
        };
        names.insert(own.clone(), name);
    }
    for part in &mut draft.parts {
        if let Some(first) = same.parts.get(&part.was) {
            let legs = same.legs.get(&part.was).map_or(&[][..], Vec::as_slice);
            relabel(part, before.part(*first), legs);
        }
        let new = |name: &String| names.get(name).unwrap_or(name).clone();
        let Part { name, component, .. } = &mut part.part;
        for name in std::iter::once(name).chain(&mut component.body.ganged).chain(&mut component.body.on) {
            *name = new(name);
        }
    }
    let mut used: BTreeSet<String> = before.nets.iter().map(|net| net.name.clone()).collect();
    for (index, net) in draft.nets.iter_mut().enumerate() {
        match same.nets.get(&NetId(index as u32)) {
            Some(first) => {
                let first = before.net(*first);
                net.name.clone_from(&first.name);
                if first.declared.is_some() {
                    net.declared.clone_from(&first.declared);
                }
            }
            None => net.name = apart(&net.name, &mut used),
        }
    }
}

/// A name that the first circuit does not use.
fn apart(name: &str, used: &mut BTreeSet<String>) -> String {
    let mut name = name.to_owned();
    while !used.insert(name.clone()) {
        name.push(SECOND);
    }
    name
}

/// Gives a part's legs, windings and sections the names that its partner's have, in the partner's order.
fn relabel(part: &mut DraftPart, first: &Part, legs: &[(u32, u32)]) {
    let own = part.part.clone();
    let partner = |j: u32| legs.iter().find(|(_, second)| *second == j).map(|(i, _)| *i);
    let mut order: Vec<u32> = (0..own.legs.len() as u32).collect();
    order.sort_by_key(|j| partner(*j).unwrap_or(u32::MAX));
    let mut used: BTreeSet<String> = legs.iter().map(|(i, _)| first.legs[*i as usize].name.clone()).collect();
    let mut leg_names: BTreeMap<String, String> = BTreeMap::new();
    part.part.legs = order
        .iter()
        .map(|j| {
            let mut leg = own.legs[*j as usize].clone();
            let name = match partner(*j) {
                Some(i) => first.legs[i as usize].name.clone(),
                None => apart(&leg.name, &mut used),
            };
            leg_names.insert(std::mem::replace(&mut leg.name, name.clone()), name);
            leg
        })
        .collect();
    let place = |j: u32| order.iter().position(|other| *other == j).map_or(j, |at| at as u32);
    let contact = |c: &Contact| Contact { position: c.position.clone(), a: place(c.a), b: place(c.b) };
    part.part.component.body.contacts = own.component.body.contacts.iter().map(contact).collect();
    // Two-leg parts that were turned keep what their legs touch; only jacks have such contacts.
    if own.kind == Kind::Jack {
        let new = |leg: &String| leg_names.get(leg).unwrap_or(leg).clone();
        part.part.component.body.normals =
            own.component.body.normals.iter().map(|(c, l)| (new(c), new(l))).collect();
    }
    for stray in &mut part.part.component.strays {
        for leg in std::iter::once(&mut stray.from).chain(&mut stray.to) {
            *leg = leg_names.get(leg).unwrap_or(leg).clone();
        }
    }
    let head = |name: &str| {
        let renamed = leg_names.iter().find(|(old, _)| old.split_once('.').is_some_and(|(h, _)| h == name));
        renamed.and_then(|(_, new)| new.split_once('.')).map_or(name.to_owned(), |(h, _)| h.to_owned())
    };
    for winding in &mut part.part.component.body.windings {
        winding.name = head(&winding.name);
    }
    for letter in &mut part.part.unused {
        *letter = head(letter);
    }
    part.part.unused.sort();
    part.legs = order;
}
