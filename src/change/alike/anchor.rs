//! The certain part of matching: what is one of its kind in both circuits, and what follows from it place by place.
//!
//! ```text
//! Two 100k resistors at B+ in each circuit; chassis and B+ have partners already:
//! round 8    one of them meets V1's plate, the other V2's, and the stages differ in a cathode's value
//! so         each has a colour that its circuit has once and the other once: paired, R4 ≙ R31
//! follows    both plates' nets from the resistors, from them whatever is one of its kind there …
//! left over  what is twice in both however far one looks: `loose` takes it by order of names
//! ```

use super::colour::{Colours, ROUNDS};
use super::mix::mix;
use super::pairing::{Pairing, Two};
use super::sketch::NONE;

/// Rounds at which places are compared, the widest first.
// Widest first: what agrees far around is surely the same. Narrower ones are for places near a difference, where no
// wide colour agrees any more.
const DEPTHS: [usize; 4] = [ROUNDS, 4, 2, 1];

/// Something that has just got a partner, by its number in the first circuit.
#[derive(Debug, Clone, Copy)]
pub(super) enum Fresh {
    Part(u32),
    Net(u32),
}

/// Matching in progress.
#[derive(Debug)]
pub(super) struct Matching<'a> {
    pub two: Two<'a>,
    pub pairing: Pairing,
    /// Of both circuits.
    pub colours: [Colours; 2],
    pub fresh: Vec<Fresh>,
}

impl Matching<'_> {
    pub(super) fn pair_parts(&mut self, a: u32, b: u32) {
        self.pairing.pair_parts(a, b);
        self.fresh.push(Fresh::Part(a));
    }

    pub(super) fn pair_nets(&mut self, a: u32, b: u32) {
        self.pairing.pair_nets(a, b);
        self.fresh.push(Fresh::Net(a));
    }

    /// Pairs what has a colour of its own in both circuits, from the widest round down to `floor`, and all that
    /// follows. Whether anything was.
    pub(super) fn unique(&mut self, floor: usize) -> bool {
        let before = self.fresh.len();
        for round in (floor..=ROUNDS).rev() {
            for (a, b) in one_of_each(self.free_nets(round.max(1))) {
                if self.pairing.free_nets(a, b) {
                    self.pair_nets(a, b);
                }
            }
            // Nets before parts of the same round: with its nets known a part's legs can be held against each other.
            for (a, b) in one_of_each(self.free_parts(round)) {
                let legs = self.pairing.legs(&self.two.a.parts[a as usize], &self.two.b.parts[b as usize]);
                // A body alone is no proof without a place that agrees.
                if self.pairing.free_parts(a, b) && legs.stray == 0 && (round > 0 || legs.agree > 0) {
                    self.pair_parts(a, b);
                }
            }
        }
        let found = self.fresh.len() > before;
        self.extend();
        found
    }

    fn free_parts(&self, round: usize) -> Vec<(u64, usize, u32)> {
        let free = |side: usize| {
            let partners = self.pairing.parts[side].iter().enumerate();
            let colours = &self.colours[side].parts[round];
            partners
                .filter(|(_, partner)| **partner == NONE)
                .map(move |(index, _)| (colours[index], side, index as u32))
        };
        free(0).chain(free(1)).collect()
    }

    fn free_nets(&self, round: usize) -> Vec<(u64, usize, u32)> {
        let free = |side: usize| {
            let partners = self.pairing.nets[side].iter().enumerate();
            let colours = &self.colours[side].nets[round];
            partners
                .filter(|(_, partner)| **partner == NONE)
                .map(move |(index, _)| (colours[index], side, index as u32))
        };
        free(0).chain(free(1)).collect()
    }

    /// Follows what has just got partners until nothing more is certain.
    pub(super) fn extend(&mut self) {
        while let Some(fresh) = self.fresh.pop() {
            match fresh {
                Fresh::Net(net) => self.around_net(net),
                Fresh::Part(part) => self.around_part(part),
            }
        }
    }

    /// Parts that sit in two partnered nets by the same kind of leg and are one of their colour there.
    fn around_net(&mut self, a: u32) {
        let b = self.pairing.nets[0][a as usize];
        for depth in DEPTHS {
            let mut keys = Vec::new();
            for (side, net) in [a, b].into_iter().enumerate() {
                let sketch = if side == 0 { self.two.a } else { self.two.b };
                for (part, leg) in &sketch.nets[net as usize] {
                    if self.pairing.parts[side][*part as usize] == NONE {
                        let class = sketch.parts[*part as usize].legs[*leg as usize].class;
                        let colour = self.colours[side].parts[depth][*part as usize];
                        keys.push((mix(colour, class), side, *part));
                    }
                }
            }
            for (x, y) in one_of_each(keys) {
                let legs = self.pairing.legs(&self.two.a.parts[x as usize], &self.two.b.parts[y as usize]);
                if self.pairing.free_parts(x, y) && legs.stray == 0 {
                    self.pair_parts(x, y);
                }
            }
        }
    }

    /// Nets of two partnered parts that are alike and can't be any other.
    fn around_part(&mut self, a: u32) {
        let b = self.pairing.parts[0][a as usize];
        let (x, y) = (&self.two.a.parts[a as usize], &self.two.b.parts[b as usize]);
        let legs = self.pairing.legs(x, y);
        for (i, j, sure) in legs.pairs {
            let (n, m) = (x.legs[i].net, y.legs[j].net);
            // A leg that was moved takes no net along: the net must be one by its own neighbours too, be it for one
            // round.
            let alike = n != NONE
                && m != NONE
                && self.colours[0].nets[1][n as usize] == self.colours[1].nets[1][m as usize];
            if sure && alike && self.pairing.free_nets(n, m) {
                self.pair_nets(n, m);
            }
        }
        for depth in DEPTHS {
            let mut keys = Vec::new();
            for (side, look) in [x, y].into_iter().enumerate() {
                let free = look.legs.iter().filter(|leg| leg.net != NONE);
                for leg in free.filter(|leg| self.pairing.nets[side][leg.net as usize] == NONE) {
                    let colour = self.colours[side].nets[depth][leg.net as usize];
                    keys.push((mix(colour, leg.class), side, leg.net));
                }
            }
            for (n, m) in one_of_each(keys) {
                if self.pairing.free_nets(n, m) {
                    self.pair_nets(n, m);
                }
            }
        }
    }
}

/// Pairs of the two sides whose key nothing else has.
pub(super) fn one_of_each(mut keys: Vec<(u64, usize, u32)>) -> Vec<(u32, u32)> {
    keys.sort_unstable();
    // A part with both legs in one net, or two of a class there, comes twice: once is what it is.
    keys.dedup();
    let runs = keys.chunk_by(|x, y| x.0 == y.0);
    runs.filter_map(|run| match run {
        [(_, 0, a), (_, 1, b)] => Some((*a, *b)),
        _ => None,
    })
    .collect()
}
