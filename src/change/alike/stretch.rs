//! Repair further than one part: a net is taken for another, or a part for one of its kind, and what then strays is
//! followed from net to net, as far as a short stretch of the circuit goes. Kept where the whole is cheaper.
//!
//! ```text
//! Two equal channels; one resistor of the second channel was changed, and matching took channel 1 for channel 2':
//! strays     nets that legs of differing pairs disagree on: the mixer's two inputs
//! exchange   n ≙ m' and their old partners with each other: parts on them move along, new legs stray
//! follow     the next stray net, ten at most, while the sum over all touched pairs is compared
//! kept       as soon as that sum is below what it was before; else every pair and net goes back
//! ```

use std::collections::{BTreeMap, BTreeSet};

use super::cost::Price;
use super::mend::{COMPARED, Pair, improve, price};
use super::pairing::{Pairing, Two};
use super::sketch::NONE;
use crate::model::Kind;

/// Nets that one trial may exchange.
const REACH: usize = 10;

/// Circuits that differ in more parts than this have no differences to be narrowed down.
// Past that the circuits are two designs; a trial for each leg that strays would take minutes and save nothing.
const FEW: usize = 512;

/// Where parts go in a trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    /// Where they are cheapest at once.
    Cheapest,
    /// Along with the nets that were exchanged: dearer on the way, but so it is seen how far the stretch goes.
    Along,
}

const WAYS: [Way; 2] = [Way::Cheapest, Way::Along];

/// A trial: what it has touched, as it was before.
struct Trial<'a> {
    two: Two<'a>,
    /// Pairs, and parts alone, with what they cost.
    pairs: BTreeMap<Pair, Price>,
    nets: Vec<Pair>,
    way: Way,
}

/// Tries an exchange from every leg that strays and every two parts that differ. Whether any was kept.
pub(super) fn exchange_stretches(two: Two, pairing: &mut Pairing) -> bool {
    let pairs = differing(two, pairing);
    if pairs.len() > FEW {
        return false;
    }
    let mut changed = false;
    for net in strays(two, pairing, &pairs) {
        changed |= WAYS.into_iter().any(|way| Trial::new(two, way).follow(pairing, Some(net)));
    }
    let pairs = differing(two, pairing);
    for (at, one) in pairs.iter().enumerate() {
        for other in pairs.iter().skip(at + 1).take(COMPARED) {
            changed |=
                WAYS.into_iter().any(|way| exchange_partners(two, pairing, &pairs, (*one, *other), way));
        }
    }
    changed
}

/// Tries to exchange the partners of two pairs among those that differ. Whether it was kept.
fn exchange_partners(
    two: Two,
    pairing: &mut Pairing,
    pairs: &[Pair],
    ((a, b), (c, d)): (Pair, Pair),
    way: Way,
) -> bool {
    let still = |(x, y): Pair| {
        (x == NONE || pairing.parts[0][x as usize] == y) && (y == NONE || pairing.parts[1][y as usize] == x)
    };
    if !still((a, b)) || !still((c, d)) || !(likely(two, pairing, (a, d)) || likely(two, pairing, (c, b))) {
        return false;
    }
    // What is then left over may be what another was looking for.
    let alone = |(x, y): &Pair| {
        (*x == NONE || *y == NONE) && kind(two, (*x, *y)) == kind(two, (a, b)) && still((*x, *y))
    };
    let leftover: Vec<Pair> = pairs.iter().copied().filter(alone).collect();
    let mut trial = Trial::new(two, way);
    trial.touch(pairing, [(a, b), (c, d)]);
    trial.touch(pairing, leftover);
    for (x, y) in [(a, NONE), (NONE, b), (c, NONE), (NONE, d), (a, d), (c, b)] {
        pairing.set(x, y);
    }
    let first = match way {
        Way::Cheapest => None,
        Way::Along => strays(two, pairing, &[(a, d), (c, b)]).first().copied(),
    };
    trial.follow(pairing, first)
}

fn kind(two: Two, (a, b): Pair) -> Kind {
    if a == NONE { two.b.parts[b as usize].kind } else { two.a.parts[a as usize].kind }
}

/// Whether two parts may be one: with the same body, or with as many legs in one place as elsewhere.
fn likely(two: Two, pairing: &Pairing, (a, b): Pair) -> bool {
    if a == NONE || b == NONE {
        return false;
    }
    let (x, y) = (&two.a.parts[a as usize], &two.b.parts[b as usize]);
    let place = || {
        let legs = pairing.legs(x, y);
        legs.agree > 0 && legs.agree >= legs.stray
    };
    x.rated == y.rated || (x.kind == y.kind && place())
}

/// Pairs that cost something, and parts alone.
fn differing(two: Two, pairing: &Pairing) -> Vec<Pair> {
    let firsts = pairing.parts[0].iter().enumerate().map(|(a, b)| (a as u32, *b));
    let alone = pairing.parts[1].iter().enumerate().filter(|(_, a)| **a == NONE);
    let all = firsts.chain(alone.map(|(b, _)| (NONE, b as u32)));
    all.filter(|pair| price(two, pairing, *pair) > 0).collect()
}

/// Nets in which legs of these pairs stray, chassis aside.
fn strays(two: Two, pairing: &Pairing, pairs: &[Pair]) -> BTreeSet<Pair> {
    let mut strays = BTreeSet::new();
    for (a, b) in pairs.iter().filter(|(a, b)| *a != NONE && *b != NONE) {
        let (x, y) = (&two.a.parts[*a as usize], &two.b.parts[*b as usize]);
        let places = pairing.legs(x, y).pairs.into_iter();
        let places = places.map(|(i, j, _)| (x.legs[i].net, y.legs[j].net));
        strays.extend(places.filter(|(n, m)| {
            let chassis = *n == two.a.net_of[0] || *m == two.b.net_of[0];
            !chassis && *n != NONE && *m != NONE && pairing.nets[0][*n as usize] != *m
        }));
    }
    strays
}

impl<'a> Trial<'a> {
    fn new(two: Two<'a>, way: Way) -> Trial<'a> {
        Trial { two, pairs: BTreeMap::new(), nets: Vec::new(), way }
    }

    /// Remembers pairs as they are.
    fn touch(&mut self, pairing: &Pairing, pairs: impl IntoIterator<Item = Pair>) {
        let (firsts, seconds): (BTreeSet<u32>, BTreeSet<u32>) = self.pairs.keys().copied().unzip();
        for (a, b) in pairs {
            let known = (a != NONE && firsts.contains(&a)) || (b != NONE && seconds.contains(&b));
            if !known {
                self.pairs.insert((a, b), price(self.two, pairing, (a, b)));
            }
        }
    }

    /// Exchanges this net and those in which something then strays. Whether that was cheaper in the end; else all is
    /// as it was.
    fn follow(&mut self, pairing: &mut Pairing, first: Option<Pair>) -> bool {
        let mut next = first;
        for _ in 0..REACH {
            if let Some((n, m)) = next {
                self.exchange_net(pairing, n, m);
            }
            let now = self.now(pairing);
            // A rail was exchanged, with everything on it: no short stretch.
            if now.len() > COMPARED {
                break;
            }
            improve(self.two, pairing, now);
            let now = self.now(pairing);
            // What it costs is counted without the firm nets, whose weight is only there to draw parts along.
            let firm = std::mem::take(&mut pairing.firm);
            let cost: Price = now.iter().map(|pair| price(self.two, pairing, *pair)).sum();
            if cost < self.pairs.values().sum() {
                return true;
            }
            pairing.firm = firm;
            let new = |(n, m): &Pair| {
                let there = (pairing.nets[0][*n as usize], pairing.nets[1][*m as usize]);
                // A net exchanged once in this trial is not exchanged back: it would go to and fro.
                !self.nets.iter().any(|(x, y)| x == n || y == m || *x == there.1 || *y == there.0)
            };
            next = strays(self.two, pairing, &now).into_iter().find(new);
            if next.is_none() {
                break;
            }
        }
        self.undo(pairing);
        false
    }

    /// Takes two nets for each other, and their partners, if they have any, for each other too.
    fn exchange_net(&mut self, pairing: &mut Pairing, n: u32, m: u32) {
        let (other_m, other_n) = (pairing.nets[0][n as usize], pairing.nets[1][m as usize]);
        let mut pairs = Vec::new();
        for net in [n, other_n].into_iter().filter(|net| *net != NONE) {
            let parts = self.two.a.nets[net as usize].iter().map(|(part, _)| *part);
            pairs.extend(parts.map(|a| (a, pairing.parts[0][a as usize])));
        }
        for net in [m, other_m].into_iter().filter(|net| *net != NONE) {
            let parts = self.two.b.nets[net as usize].iter().map(|(part, _)| *part);
            pairs.extend(parts.map(|b| (pairing.parts[1][b as usize], b)));
        }
        self.touch(pairing, pairs);
        self.nets.extend([(n, other_m), (other_n, m)]);
        if self.way == Way::Along {
            pairing.firm.extend([n, other_n].into_iter().filter(|net| *net != NONE));
        }
        pairing.set_nets(n, m);
        pairing.set_nets(other_n, other_m);
    }

    /// The parts touched with the partners they have now.
    fn now(&self, pairing: &Pairing) -> Vec<Pair> {
        let mut now: BTreeSet<Pair> = BTreeSet::new();
        for (a, b) in self.pairs.keys() {
            if *a != NONE {
                now.insert((*a, pairing.parts[0][*a as usize]));
            }
            if *b != NONE {
                now.insert((pairing.parts[1][*b as usize], *b));
            }
        }
        now.into_iter().collect()
    }

    fn undo(&self, pairing: &mut Pairing) {
        pairing.firm.clear();
        // Last first: a net may have been exchanged in two steps.
        for (n, m) in self.nets.iter().rev() {
            pairing.set_nets(*n, *m);
        }
        for (a, b) in self.pairs.keys() {
            pairing.set(*a, *b);
        }
    }
}
