//! Local repair: partners are exchanged, dropped and found anew where that makes the list of changes cheaper.

use std::collections::BTreeMap;

use super::cost::{Price, SEPARATE, pair_cost};
use super::pairing::{Pairing, Two};
use super::sketch::NONE;

/// Passes over what differs; each makes the whole cheaper or is the last.
const PASSES: usize = 6;

/// So many parts that differ are held against all others of their kind; more only against the next of them.
const COMPARED: usize = 64;

/// Exchanges partners until no exchange of two is cheaper, then lays the nets over each other anew.
pub(super) fn mend(two: Two, pairing: &mut Pairing) {
    for _ in 0..PASSES {
        let nets = revote(two, pairing);
        let parts = exchange(two, pairing);
        if !nets && !parts {
            return;
        }
    }
}

/// What a pair costs; a part alone costs half of two that have nothing to do with each other.
fn price(two: Two, pairing: &Pairing, a: u32, b: u32) -> Price {
    if a == NONE || b == NONE {
        return if a == b { 0 } else { SEPARATE / 2 };
    }
    let (x, y) = (&two.a.parts[a as usize], &two.b.parts[b as usize]);
    if x.kind != y.kind {
        return 2 * SEPARATE;
    }
    let legs = pairing.legs(x, y);
    // Parts that share no place are two parts, unless there is nothing else to say of them.
    let strangers = legs.agree == 0 && legs.stray > 0;
    pair_cost(x, y, &legs) + if strangers { SEPARATE } else { 0 }
}

fn exchange(two: Two, pairing: &mut Pairing) -> bool {
    let mut by_kind: BTreeMap<u32, Vec<(u32, u32)>> = BTreeMap::new();
    for (a, b) in pairing.parts[0].iter().enumerate() {
        if price(two, pairing, a as u32, *b) > 0 {
            by_kind.entry(two.a.parts[a].kind as u32).or_default().push((a as u32, *b));
        }
    }
    for (b, a) in pairing.parts[1].iter().enumerate().filter(|(_, a)| **a == NONE) {
        by_kind.entry(two.b.parts[b].kind as u32).or_default().push((*a, b as u32));
    }
    let mut changed = false;
    for pairs in by_kind.values_mut() {
        for i in 0..pairs.len() {
            for j in i + 1..pairs.len().min(i + COMPARED) {
                let ((a, b), (c, d)) = (pairs[i], pairs[j]);
                let cost = |a, b| price(two, pairing, a, b);
                if cost(a, d) + cost(c, b) < cost(a, b) + cost(c, d) {
                    (pairs[i], pairs[j]) = ((a, d), (c, b));
                    changed = true;
                }
            }
        }
        // A pair that costs more than its two parts alone is none.
        let mut settled = Vec::new();
        for (a, b) in pairs.iter().copied() {
            if a != NONE && b != NONE && price(two, pairing, a, b) >= SEPARATE {
                settled.extend([(a, NONE), (NONE, b)]);
            } else {
                settled.push((a, b));
            }
        }
        for (a, b) in &settled {
            pairing.set(*a, *b);
        }
    }
    changed
}

/// Lays nets over each other by the votes of all partnered parts. Whether that changed anything.
fn revote(two: Two, pairing: &mut Pairing) -> bool {
    let mut votes: BTreeMap<(u32, u32), u32> = BTreeMap::new();
    for (a, b) in pairing.parts[0].iter().enumerate().filter(|(_, b)| **b != NONE) {
        let (x, y) = (&two.a.parts[a], &two.b.parts[*b as usize]);
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
    // What stands is kept where another is only as good.
    let stands = |(n, m): (u32, u32)| u32::from(before[0][n as usize] == m);
    let mut ranked: Vec<(u32, u32, (u32, u32))> =
        votes.into_iter().map(|(nets, votes)| (votes, stands(nets), nets)).collect();
    ranked.sort_by(|x, y| (y.0, y.1).cmp(&(x.0, x.1)).then(x.2.cmp(&y.2)));
    for side in &mut pairing.nets {
        side.fill(NONE);
    }
    pairing.pair_nets(chassis.0, chassis.1);
    for (_, _, (n, m)) in ranked {
        if pairing.free_nets(n, m) {
            pairing.pair_nets(n, m);
        }
    }
    before != pairing.nets
}
