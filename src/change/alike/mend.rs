//! Local repair: partners are exchanged, dropped and found anew where that makes the list of changes cheaper.
//!
//! ```text
//! R1 100k from a to b, R2 220k from a to c; in the second Ra 220k from a to c, Rb 100k from a to b:
//! found as   R1 ≙ Ra and R2 ≙ Rb, by a: another body (2) and one leg elsewhere (2) each, together 8
//! exchanged  R1 ≙ Rb and R2 ≙ Ra: the same bodies in the same places, 0. Kept
//! ```

use std::collections::BTreeMap;

use super::cost::{Price, pair_cost, part, separate};
use super::pairing::{Pairing, Two};
use super::sketch::NONE;

/// So many parts that differ are held against all others of their kind; of more only the next.
// Of a kind in which more than this differ nothing is to be saved by exchanges, and all against all takes the square.
pub(super) const COMPARED: usize = 64;

/// Two parts that have partners, or one without, by their numbers in the two circuits.
pub(super) type Pair = (u32, u32);

/// What a pair costs, or a part alone.
pub(super) fn price(two: Two, pairing: &Pairing, (a, b): Pair) -> Price {
    let alone = |look: &super::sketch::Look| part(look.legs.len());
    let (x, y) = match (a, b) {
        (NONE, NONE) => return 0,
        (NONE, b) => return alone(&two.b.parts[b as usize]),
        (a, NONE) => return alone(&two.a.parts[a as usize]),
        (a, b) => (&two.a.parts[a as usize], &two.b.parts[b as usize]),
    };
    let apart = separate(x, y);
    if x.kind != y.kind {
        // Never chosen, and still a number: sums of trials are compared as they are.
        return 2 * apart;
    }
    let legs = pairing.legs(x, y);
    // Parts that share no place are two parts, unless there is nothing else to say of them.
    let strangers = legs.agree == 0 && legs.stray > 0;
    pair_cost(x, y, &legs) + if strangers { apart } else { 0 }
}

/// Exchanges partners among all parts of a kind that differ.
pub(super) fn exchange(two: Two, pairing: &mut Pairing) -> bool {
    let mut by_kind: BTreeMap<u32, Vec<Pair>> = BTreeMap::new();
    for (a, b) in pairing.parts[0].iter().enumerate() {
        if price(two, pairing, (a as u32, *b)) > 0 {
            by_kind.entry(two.a.parts[a].kind as u32).or_default().push((a as u32, *b));
        }
    }
    for (b, a) in pairing.parts[1].iter().enumerate().filter(|(_, a)| **a == NONE) {
        by_kind.entry(two.b.parts[b].kind as u32).or_default().push((*a, b as u32));
    }
    let mut changed = false;
    for pairs in by_kind.into_values() {
        changed |= improve(two, pairing, pairs);
    }
    changed
}

/// Exchanges partners among these pairs while that is cheaper, and parts those that are dearer together than apart.
pub(super) fn improve(two: Two, pairing: &mut Pairing, mut pairs: Vec<Pair>) -> bool {
    let mut changed = false;
    for i in 0..pairs.len() {
        for j in i + 1..pairs.len().min(i + COMPARED) {
            let ((a, b), (c, d)) = (pairs[i], pairs[j]);
            let cost = |pair| price(two, pairing, pair);
            // Strictly cheaper: ties keep the current partners, and exchanges come to an end.
            if cost((a, d)) + cost((c, b)) < cost((a, b)) + cost((c, d)) {
                (pairs[i], pairs[j]) = ((a, d), (c, b));
                changed = true;
            }
        }
    }
    for (a, b) in pairs {
        let alone = price(two, pairing, (a, NONE)) + price(two, pairing, (NONE, b));
        if a != NONE && b != NONE && too_dear(two, pairing, (a, b), alone) {
            pairing.set(a, NONE);
            pairing.set(NONE, b);
            changed = true;
        } else {
            pairing.set(a, b);
        }
    }
    changed
}

/// A two-leg part with another body in another place is another part; of a wider one the legs decide.
fn too_dear(two: Two, pairing: &Pairing, pair: Pair, alone: Price) -> bool {
    let cost = price(two, pairing, pair);
    let wide = two.a.parts[pair.0 as usize].legs.len() > 2;
    cost > alone || (cost == alone && !wide)
}

/// Lays nets over each other by the votes of all partnered parts. Whether that changed anything.
pub(super) fn revote(two: Two, pairing: &mut Pairing) -> bool {
    let mut votes: BTreeMap<(u32, u32), u32> = BTreeMap::new();
    for (a, b) in pairing.parts[0].iter().enumerate().filter(|(_, b)| **b != NONE) {
        let (x, y) = (&two.a.parts[a], &two.b.parts[*b as usize]);
        // A valve's legs are told apart by name, a resistor's are not: at equal numbers the valve is believed.
        let weight = if x.legs.len() > 2 { 3 } else { 2 };
        for (i, j, _) in pairing.legs(x, y).pairs {
            let (n, m) = (x.legs[i].net, y.legs[j].net);
            if n != NONE && m != NONE {
                *votes.entry((n, m)).or_insert(0) += weight;
            }
        }
    }
    let before = pairing.nets.clone();
    let chassis = (two.a.net_of[0], two.b.net_of[0]);
    // Ties keep the current partner.
    let stands = |(n, m): (u32, u32)| u32::from(before[0][n as usize] == m);
    let mut ranked: Vec<(u32, u32, (u32, u32))> =
        votes.into_iter().map(|(nets, votes)| (votes, stands(nets), nets)).collect();
    ranked.sort_by(|x, y| (y.0, y.1).cmp(&(x.0, x.1)).then(x.2.cmp(&y.2)));
    for side in &mut pairing.nets {
        side.fill(NONE);
    }
    // Chassis is chassis in both; no vote may take it for another net.
    pairing.pair_nets(chassis.0, chassis.1);
    for (_, _, (n, m)) in ranked {
        if pairing.free_nets(n, m) {
            pairing.pair_nets(n, m);
        }
    }
    before != pairing.nets
}
