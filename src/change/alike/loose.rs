//! The uncertain part of matching: equals that may be taken either way, nets by the votes of the parts in them, and parts
//! that differ but sit where the other sits.
//!
//! ```text
//! Nets by votes: first n1 {R1, C1, V1.grid}, second m4 {R8, C9, V3.grid}, R1 ≙ R8 and V1 ≙ V3 known
//! sure leg    V1.grid is over V3.grid and no other way: 2 votes for n1 ≙ m4
//! turnable    R1 has two ends of which either could lie in m4: 1 vote
//! rank        3 votes: taken at the first level; an m5 with R8's other end has 1 and waits
//! ```

use std::collections::BTreeMap;

use super::anchor::Matching;
use super::colour::ROUNDS;
use super::cost::{pair_cost, separate};
use super::sketch::NONE;

/// Of so many equals the best fit is sought; of more the next.
// Equals beyond that are as good as interchangeable; holding all against all would take the square of a bank of
// thousands.
const SEARCHED: usize = 16;

/// A net is not searched for candidates past so many legs; the part's other nets are.
// B+ and chassis hold half of all parts, and sitting there says nothing.
const CROWD: usize = 64;

impl Matching<'_> {
    /// Pairs nets by the votes of partnered parts, the clearest first; each must be the other's best. Whether any was.
    pub(super) fn vote(&mut self, least: u32) -> bool {
        let mut votes: BTreeMap<(u32, u32), u32> = BTreeMap::new();
        for (a, b) in self.pairing.parts[0].iter().enumerate().filter(|(_, b)| **b != NONE) {
            let (x, y) = (&self.two.a.parts[a], &self.two.b.parts[*b as usize]);
            let open = |leg: &super::sketch::LegLook| {
                leg.net != NONE && self.pairing.nets[0][leg.net as usize] == NONE
            };
            if !x.legs.iter().any(open) {
                continue;
            }
            for (i, j, sure) in self.pairing.legs(x, y).pairs {
                let (n, m) = (x.legs[i].net, y.legs[j].net);
                if n != NONE && m != NONE && self.pairing.free_nets(n, m) {
                    *votes.entry((n, m)).or_insert(0) += if sure { 2 } else { 1 };
                }
            }
        }
        let mut ranked: Vec<(u32, (u32, u32))> =
            votes.into_iter().map(|(nets, votes)| (votes, nets)).collect();
        // Ties go to the lower net numbers, so that no run differs from another.
        ranked.sort_by(|x, y| y.0.cmp(&x.0).then(x.1.cmp(&y.1)));
        let mut found = false;
        for (votes, (n, m)) in ranked {
            if votes >= least && self.pairing.free_nets(n, m) {
                self.pair_nets(n, m);
                found = true;
            }
        }
        self.extend();
        found
    }

    /// Pairs equals of the widest colour that both circuits have, one after the other, with all that follows from each;
    /// gives the sets of equals, by part number in the first circuit. Below the widest round only one set is taken.
    pub(super) fn settle_equals(&mut self, round: usize, balanced: bool) -> Option<Vec<Vec<u32>>> {
        let mut classes: Vec<[Vec<u32>; 2]> = self.classes(round);
        classes.retain(|[a, b]| !balanced || a.len() == b.len());
        // Sets that both have as many of come first, small ones before large: each choice there settles most for the
        // rest.
        classes.sort_by_key(|[a, b]| (a.len() != b.len(), a.len().max(b.len())));
        let mut sets = Vec::new();
        let mut found = false;
        for [firsts, seconds] in classes {
            let mut open: Vec<u32> = seconds;
            let mut free = false;
            for a in &firsts {
                if self.pairing.parts[0][*a as usize] != NONE {
                    continue;
                }
                open.retain(|b| self.pairing.parts[1][*b as usize] == NONE);
                let Some((b, choice)) = self.best_equal(*a, &open) else { continue };
                free |= choice;
                found = true;
                self.pair_parts(*a, b);
                self.extend();
            }
            if free {
                sets.push(firsts);
            }
            // At less than the widest round equals need not be equal further out: after one choice colours are made
            // anew.
            if found && round < ROUNDS {
                break;
            }
        }
        found.then_some(sets)
    }

    /// The first of the best fitting; and whether another fits as well.
    fn best_equal(&self, a: u32, open: &[u32]) -> Option<(u32, bool)> {
        let x = &self.two.a.parts[a as usize];
        let fit = |b: &u32| {
            let y = &self.two.b.parts[*b as usize];
            let legs = self.pairing.legs(x, y);
            (legs.stray == 0).then_some((legs.agree, u32::from(x.label == y.label)))
        };
        let fits: Vec<(u32, (u32, u32))> =
            open.iter().filter_map(|b| Some((*b, fit(b)?))).take(SEARCHED).collect();
        let best = fits.iter().map(|(_, fit)| *fit).max()?;
        let mut equal = fits.iter().filter(|(_, fit)| *fit == best);
        let first = equal.next()?.0;
        Some((first, equal.next().is_some()))
    }

    /// Unpartnered parts of one colour, where both circuits have some.
    fn classes(&self, round: usize) -> Vec<[Vec<u32>; 2]> {
        let mut classes: BTreeMap<u64, [Vec<u32>; 2]> = BTreeMap::new();
        for side in [0, 1] {
            for (part, partner) in self.pairing.parts[side].iter().enumerate() {
                if *partner == NONE {
                    let colour = self.colours[side].parts[round][part];
                    classes.entry(colour).or_default()[side].push(part as u32);
                }
            }
        }
        let mut shared: Vec<[Vec<u32>; 2]> =
            classes.into_values().filter(|[a, b]| !a.is_empty() && !b.is_empty()).collect();
        shared.sort_by_key(|[a, _]| a.first().copied());
        shared
    }

    /// Pairs parts of one kind that differ, cheapest first, where that costs less than taking one out and putting
    /// the other in and they have a place in common.
    pub(super) fn pair_changed(&mut self) -> bool {
        let mut candidates = Vec::new();
        for (a, look) in self.two.a.parts.iter().enumerate() {
            if self.pairing.parts[0][a] != NONE {
                continue;
            }
            let mut near: Vec<u32> = Vec::new();
            for leg in look.legs.iter().filter(|leg| leg.net != NONE) {
                let partner = self.pairing.nets[0][leg.net as usize];
                let crowd = |net: u32| self.two.b.nets[net as usize].len() > CROWD && look.legs.len() > 1;
                if partner != NONE && !crowd(partner) {
                    near.extend(self.two.b.nets[partner as usize].iter().map(|(part, _)| *part));
                }
            }
            near.sort_unstable();
            near.dedup();
            for b in near {
                let (x, y) = (look, &self.two.b.parts[b as usize]);
                if self.pairing.parts[1][b as usize] == NONE && x.kind == y.kind {
                    let legs = self.pairing.legs(x, y);
                    let cost = pair_cost(x, y, &legs);
                    if legs.agree > 0 && cost < separate(x, y) {
                        // Of two that cost the same the one with more places in common.
                        candidates.push((cost, u32::MAX - legs.agree, a as u32, b));
                    }
                }
            }
        }
        candidates.sort_unstable();
        let mut found = false;
        let cheapest = candidates.first().map_or(0, |c| c.0);
        // Only the cheapest: each pair changes what the next cost, and they are counted anew in the next pass.
        for (_, _, a, b) in candidates.into_iter().take_while(|c| c.0 == cheapest) {
            if self.pairing.free_parts(a, b) {
                self.pair_parts(a, b);
                found = true;
            }
        }
        self.extend();
        found
    }
}
