//! The whole of matching, from nothing in common to partners for all that has one.

use super::anchor::Matching;
use super::colour::{Colours, ROUNDS, colours};
use super::cost::SEPARATE;
use super::mend::mend;
use super::pairing::{Pairing, Two};

/// What matching came to.
#[derive(Debug)]
pub(super) struct Found {
    pub pairing: Pairing,
    /// Sets of equals that could be taken in another way as well, by part number in the first circuit.
    pub equals: Vec<Vec<u32>>,
}

/// Finds partners: what is certain first, then what follows, then what is likely; each step makes more certain.
pub(super) fn search(two: Two) -> Found {
    let empty = || Colours { parts: Vec::new(), nets: Vec::new() };
    let pairing = Pairing::new(two);
    let mut matching = Matching { two, pairing, colours: [empty(), empty()], fresh: Vec::new() };
    let mut equals = Vec::new();
    matching.pair_nets(two.a.net_of[0], two.b.net_of[0]);
    loop {
        matching.colours = [colours(two.a, &matching.pairing, 0), colours(two.b, &matching.pairing, 1)];
        matching.extend();
        if !step(&mut matching, &mut equals) {
            break;
        }
    }
    let mut pairing = matching.pairing;
    mend(two, &mut pairing);
    Found { pairing, equals }
}

/// One step, the surest that leads on. Whether there was any.
fn step(matching: &mut Matching, equals: &mut Vec<Vec<u32>>) -> bool {
    if [2, 1, 0].into_iter().any(|floor| matching.unique(floor)) || matching.vote(3) {
        return true;
    }
    if let Some(sets) = matching.settle_equals(ROUNDS, true) {
        equals.extend(sets);
        return true;
    }
    if matching.vote(2) || matching.pair_changed(SEPARATE) || matching.vote(1) {
        return true;
    }
    for round in (0..=ROUNDS).rev() {
        if let Some(sets) = matching.settle_equals(round, false) {
            equals.extend(sets);
            return true;
        }
    }
    false
}
