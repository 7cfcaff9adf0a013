//! The whole of matching, from nothing in common to partners for all that has one.

use super::anchor::Matching;
use super::colour::{Base, Colours, ROUNDS, colours};
use super::pairing::{Pairing, Two};
use crate::change::alike::repair::mend;

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
    // The one net that is known in any two circuits: everything else is found from it.
    matching.pair_nets(two.a.net_of[0], two.b.net_of[0]);
    // Each pass finds a partner for a part or a net at least.
    loop {
        matching.recolour(Base::Body);
        matching.extend();
        if !certain(&mut matching) && !likely(&mut matching, &mut equals) {
            break;
        }
    }
    let mut pairing = matching.pairing;
    mend(two, &mut pairing);
    Found { pairing, equals }
}

impl Matching<'_> {
    fn recolour(&mut self, base: Base) {
        let Two { a, b } = self.two;
        self.colours = [colours(a, &self.pairing, 0, base), colours(b, &self.pairing, 1, base)];
    }
}

/// One step that leaves no choice: by bodies, by votes, and by shapes where values stand in the way.
fn certain(matching: &mut Matching) -> bool {
    // Wide before narrow: at round 0 a part is its value alone, and that it is the only 47k in both may be chance.
    if [2, 1, 0].into_iter().any(|floor| matching.unique(floor)) || matching.vote(3) {
        return true;
    }
    // After an edit the values differ all around it; without values the shape of the stage is still one of its kind.
    matching.recolour(Base::Shape);
    let found = matching.unique(2) || matching.unique(1);
    if !found {
        matching.recolour(Base::Body);
    }
    found
}

/// One step that is a choice, the surest that leads on.
fn likely(matching: &mut Matching, equals: &mut Vec<Vec<u32>>) -> bool {
    // Equals as many in both and equal as far as one sees: any choice among them costs the same, so it is made before
    // votes.
    if let Some(sets) = matching.settle_equals(ROUNDS, true) {
        equals.extend(sets);
        return true;
    }
    if matching.vote(2) || matching.pair_changed() || matching.vote(1) {
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
