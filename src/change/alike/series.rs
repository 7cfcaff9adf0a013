//! Parts in series may stand in any order.

use std::collections::{BTreeMap, BTreeSet};

use super::equal::Equal;
use super::rename::Same;
use super::sketch::{jumper, turnable};
use crate::change::describe;
use crate::circuit::draft::Draft;
use crate::circuit::{CHASSIS, NetId, Part, PartId};

/// Symmetric two-leg parts one after the other, with nothing else where they meet.
#[derive(Debug, Clone)]
struct Chain {
    /// Indices into the draft's parts, in order.
    parts: Vec<usize>,
    /// The nets from end to end, one more than there are parts.
    nets: Vec<NetId>,
}

impl Chain {
    /// Both ends, the lower first.
    fn ends(&self) -> (NetId, NetId) {
        let (a, b) = (self.nets[0], self.nets[self.nets.len() - 1]);
        (a.min(b), a.max(b))
    }
}

/// Legs that sit in each net of a draft: index of the part, and of the leg.
pub(super) fn seats(draft: &Draft) -> Vec<Vec<(usize, usize)>> {
    let mut seats = vec![Vec::new(); draft.nets.len()];
    for (index, part) in draft.parts.iter().enumerate() {
        for (leg, state) in part.part.legs.iter().enumerate() {
            if let Some(net) = state.net {
                seats[net.0 as usize].push((index, leg));
            }
        }
    }
    seats
}

/// A part that may be a member of a chain.
pub(super) fn member(part: &Part) -> bool {
    part.legs.len() == 2 && turnable(part) && !jumper(part) && part.legs.iter().all(|leg| leg.net.is_some())
}

/// The chains of a draft of two parts and more.
fn chains(draft: &Draft) -> Vec<Chain> {
    let seats = seats(draft);
    let next = |part: usize, net: NetId| -> Option<usize> {
        let [one, other] = seats[net.0 as usize].as_slice() else { return None };
        let across = if one.0 == part { other.0 } else { one.0 };
        (net != CHASSIS && across != part && member(&draft.parts[across].part)).then_some(across)
    };
    let far = |part: usize, net: NetId| {
        let legs = &draft.parts[part].part.legs;
        if legs[0].net == Some(net) { legs[1].net } else { legs[0].net }.unwrap_or(net)
    };
    let mut seen = vec![false; draft.parts.len()];
    let mut chains = Vec::new();
    for start in 0..draft.parts.len() {
        let part = &draft.parts[start].part;
        let Some(first) = part.legs.first().and_then(|leg| leg.net).filter(|_| member(part) && !seen[start])
        else {
            continue;
        };
        seen[start] = true;
        let mut chain = Chain { parts: vec![start], nets: vec![first, far(start, first)] };
        for _ in 0..2 {
            // Onwards from the last, then, turned round, from the first.
            while let (Some(last), Some(net)) = (chain.parts.last().copied(), chain.nets.last().copied()) {
                let Some(on) = next(last, net).filter(|on| !seen[*on]) else { break };
                seen[on] = true;
                chain.parts.push(on);
                chain.nets.push(far(on, net));
            }
            chain.parts.reverse();
            chain.nets.reverse();
        }
        if chain.parts.len() > 1 {
            chains.push(chain);
        }
    }
    chains
}

/// Puts chains of the second circuit in the first's order where both have the same parts between the same ends.
pub(super) fn level_series(first: &Draft, second: &mut Draft, same: &mut Same) -> Vec<Equal> {
    let mut by_ends: BTreeMap<(NetId, NetId), Vec<Chain>> = BTreeMap::new();
    for chain in chains(second) {
        let (a, b) = chain.ends();
        if let (Some(x), Some(y)) = (same.nets.get(&a), same.nets.get(&b)) {
            by_ends.entry((*x.min(y), *x.max(y))).or_default().push(chain);
        }
    }
    let mut equal = Vec::new();
    for chain in chains(first) {
        let Some(others) = by_ends.get_mut(&chain.ends()) else { continue };
        if in_order(first, &chain, second, same) {
            continue;
        }
        let Some((at, members)) = others
            .iter()
            .enumerate()
            .find_map(|(at, other)| Some((at, members((first, &chain), (second, other), same)?)))
        else {
            continue;
        };
        let other = others.remove(at);
        let told = |draft: &Draft, chain: &Chain| -> Vec<String> {
            chain.parts.iter().map(|part| draft.parts[*part].part.name.clone()).collect()
        };
        equal.push(Equal {
            first: told(first, &chain),
            second: told(second, &other),
            why: "in series, in another order".into(),
        });
        reseat((first, &chain), (second, &other), &members, same);
    }
    equal
}

/// Whether each part of a chain has a partner that sits in the partners of its nets.
fn in_order(first: &Draft, chain: &Chain, second: &Draft, same: &Same) -> bool {
    chain.parts.iter().zip(chain.nets.windows(2)).all(|(part, nets)| {
        let partner = same.second(first.parts[*part].was).and_then(|id| second.find(id));
        partner.is_some_and(|other| {
            let at: BTreeSet<Option<NetId>> = second.parts[other]
                .part
                .legs
                .iter()
                .map(|leg| leg.net.and_then(|net| same.nets.get(&net).copied()))
                .collect();
            nets.iter().all(|net| at.contains(&Some(*net)))
        })
    })
}

/// For each part of the first chain one of the second's: its partner if it is there, else one with the same body.
fn members(
    (first, chain): (&Draft, &Chain),
    (second, other): (&Draft, &Chain),
    same: &Same,
) -> Option<Vec<usize>> {
    if chain.parts.len() != other.parts.len() {
        return None;
    }
    let partner = |part: usize| same.second(first.parts[part].was).and_then(|id| second.find(id));
    let mut free: Vec<usize> = other.parts.clone();
    let mut found: Vec<Option<usize>> = chain.parts.iter().map(|part| partner(*part)).collect();
    for slot in &mut found {
        match free.iter().position(|part| Some(*part) == *slot) {
            Some(at) => drop(free.remove(at)),
            None => *slot = None,
        }
    }
    for (part, slot) in chain.parts.iter().zip(&mut found) {
        if slot.is_none() {
            let own = &first.parts[*part].part;
            let alike = |other: &usize| {
                let other = &second.parts[*other];
                let body = |part: &Part| (part.kind, describe::body(part.kind, &part.component.body));
                !same.parts.contains_key(&other.was) && body(own) == body(&other.part)
            };
            let at = free.iter().position(alike)?;
            *slot = Some(free.remove(at));
        }
    }
    found.into_iter().collect()
}

/// Seats the second's parts in the first's order.
fn reseat(
    (first, chain): (&Draft, &Chain),
    (second, other): (&mut Draft, &Chain),
    members: &[usize],
    same: &mut Same,
) {
    let straight = same.nets.get(&other.nets[0]) == Some(&chain.nets[0]);
    let mut nets = other.nets.clone();
    if !straight {
        nets.reverse();
    }
    for (m, n) in nets.iter().zip(&chain.nets) {
        same.nets.insert(*m, *n);
    }
    for (at, (part, own)) in chain.parts.iter().zip(members).enumerate() {
        let turned = first.parts[*part].part.legs[0].net != Some(chain.nets[at]);
        let ends = if turned { [nets[at + 1], nets[at]] } else { [nets[at], nets[at + 1]] };
        let legs = &mut second.parts[*own].part.legs;
        for (leg, net) in legs.iter_mut().zip(ends) {
            (leg.net, leg.home) = (Some(net), net);
        }
        same.pair(first.parts[*part].was, second.parts[*own].was, vec![(0, 0), (1, 1)]);
    }
}

/// Names of parts by what they were.
pub(super) fn names(draft: &Draft, ids: &[PartId]) -> Vec<String> {
    ids.iter().filter_map(|id| draft.find(*id)).map(|at| draft.parts[at].part.name.clone()).collect()
}
