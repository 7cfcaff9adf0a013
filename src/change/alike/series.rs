//! Parts in series may stand in any order.
//!
//! ```text
//! First: a – R1 1k – x – R2 10k – b; second: c – R7 10k – y – R8 1k – d, a ≙ c and b ≙ d known:
//! chains     of the same bodies between the same ends, with nothing else at x and y
//! members    R1: the 1k, R8; R2: the 10k, R7
//! reseated   the second becomes c – R8 – y – R7 – d, y ≙ x; told as "in series, in another order"
//! ```

use std::collections::{BTreeMap, BTreeSet};

use super::equal::Equal;
use super::rename::Same;
use super::sketch::{jumper, turnable};
use crate::circuit::draft::{Draft, DraftPart};
use crate::circuit::{CHASSIS, Leg, NetId, Part, PartId, describe};

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
        // Exactly two legs: a third at the joint would feel the exchange.
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

/// Whose parts a chain may be made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum From {
    /// Its own partners, and parts without one.
    Own,
    /// Others' partners too, which then are exchanged.
    Any,
}

/// Puts chains of the second circuit in the first's order where both have the same parts between the same ends. Equal
/// chains elsewhere may have been taken for one another: then partners are exchanged, if that brings legs together.
pub(super) fn level_series(first: &Draft, second: &mut Draft, same: &mut Same) -> Vec<Equal> {
    let mut equal = level(first, second, same, From::Own);
    if chains(first).iter().all(|chain| in_order(first, chain, second, same)) {
        return equal;
    }
    let (mut other, mut anew) = (second.clone(), same.clone());
    let more = level(first, &mut other, &mut anew, From::Any);
    // Exchanging partners that others had is only right if legs come to lie over each other by it; else equal chains
    // would just change places.
    if !more.is_empty() && apart(first, &other, &anew) < apart(first, second, same) {
        (*second, *same) = (other, anew);
        equal.extend(more);
    }
    equal
}

/// Legs that do not lie over each other, a part without partner counting as two.
fn apart(first: &Draft, second: &Draft, same: &Same) -> usize {
    let of = |part: &DraftPart| {
        let at = same.second(part.was).and_then(|id| second.find(id));
        at.map_or(2, |at| {
            let other = &second.parts[at];
            let stray = |(j, leg): (usize, &Leg)| {
                let own = same.partner_leg(other.was, j as u32).and_then(|i| part.part.legs.get(i as usize));
                own.and_then(|own| own.net) != leg.net.and_then(|net| same.nets.get(&net).copied())
            };
            other.part.legs.iter().enumerate().filter(|leg| stray(*leg)).count()
        })
    };
    let alone = second.parts.iter().filter(|part| !same.parts.contains_key(&part.was)).count();
    2 * alone + first.parts.iter().map(of).sum::<usize>()
}

fn level(first: &Draft, second: &mut Draft, same: &mut Same, from: From) -> Vec<Equal> {
    let own = chains(first);
    let settled: BTreeSet<usize> = own
        .iter()
        .filter(|chain| in_order(first, chain, second, same))
        .flat_map(|chain| &chain.parts)
        .filter_map(|part| same.second(first.parts[*part].was).and_then(|id| second.find(id)))
        .collect();
    let mut by_ends: BTreeMap<(NetId, NetId), Vec<Chain>> = BTreeMap::new();
    for chain in chains(second).into_iter().filter(|c| c.parts.iter().all(|part| !settled.contains(part))) {
        let (a, b) = chain.ends();
        if let (Some(x), Some(y)) = (same.nets.get(&a), same.nets.get(&b)) {
            by_ends.entry((*x.min(y), *x.max(y))).or_default().push(chain);
        }
    }
    let mut equal = Vec::new();
    for chain in own {
        let Some(others) = by_ends.get_mut(&chain.ends()) else { continue };
        if in_order(first, &chain, second, same) {
            continue;
        }
        let Some((at, members)) = others
            .iter()
            .enumerate()
            .find_map(|(at, other)| Some((at, members((first, &chain), (second, other), same, from)?)))
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

/// For each part of the first chain one of the second's: its partner if it is there, else one with the same body, which
/// may be another one's partner or not.
fn members(
    (first, chain): (&Draft, &Chain),
    (second, other): (&Draft, &Chain),
    same: &Same,
    from: From,
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
                (from == From::Any || !same.parts.contains_key(&other.was)) && body(own) == body(&other.part)
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
        if let Some((gone, left)) = same.exchange(first.parts[*part].was, second.parts[*own].was)
            && let (Some(firsts), Some(seconds)) = (legs_of(first, gone), legs_of(second, left))
        {
            same.turn(left, firsts, seconds);
        }
    }
}

/// Nets of both legs of a two-leg part.
fn legs_of(draft: &Draft, id: PartId) -> Option<[Option<NetId>; 2]> {
    let legs = &draft.parts[draft.find(id)?].part.legs;
    Some([0, 1].map(|leg: usize| legs.get(leg).and_then(|leg| leg.net)))
}

/// Names of parts by what they were.
pub(super) fn names(draft: &Draft, ids: &[PartId]) -> Vec<String> {
    ids.iter().filter_map(|id| draft.find(*id)).map(|at| draft.parts[at].part.name.clone()).collect()
}
