//! Which part is which and which net is which, as far as it is known.
//!
//! ```text
//! V1 (halves a, b) over V9, whose halves are exchanged; the net of V1's a.plate has the partner of V9's b.plate:
//! straight   a over a: three legs that find their class 12, one stray place −3: 9; b over b: 9; together 18
//! crossed    a over b: 12 + 3 = 15; b over a: 12; together 27: taken, and sure, since no exchange ties with it
//! legs       plate on plate, grid on grid, cathode on cathode within the halves; agree 1, stray 0
//! ```

use super::sketch::{Look, NONE, Sketch};

/// The two circuits that are laid over each other.
#[derive(Debug, Clone, Copy)]
pub(super) struct Two<'a> {
    pub a: &'a Sketch,
    pub b: &'a Sketch,
}

/// Partners so far: `parts[0]` gives for a part of the first circuit its partner in the second, `parts[1]` the other
/// way; the same for nets.
#[derive(Debug, Clone)]
pub(super) struct Pairing {
    pub parts: [Vec<u32>; 2],
    pub nets: [Vec<u32>; 2],
    /// Nets of the first circuit that legs are to follow, dear as it may be: none but in a trial.
    pub firm: Vec<u32>,
}

/// So many places does a leg count for that sits in a firm net.
// More than the other leg of a two-leg part: in a trial it goes where its firm leg does.
const FIRM: i32 = 3;

/// How the legs of two parts lie over each other.
#[derive(Debug)]
pub(super) struct Legs {
    /// Indices into the legs of the first and of the second part; false where the other way round is as good.
    pub pairs: Vec<(usize, usize, bool)>,
    /// Legs that sit in partnered nets.
    pub agree: u32,
    /// Legs that sit in nets with other partners.
    pub stray: u32,
    /// Legs that only one of the parts has.
    pub extra: u32,
}

impl Pairing {
    pub(super) fn new(two: Two) -> Pairing {
        let none = |count: usize| vec![NONE; count];
        Pairing {
            parts: [none(two.a.parts.len()), none(two.b.parts.len())],
            nets: [none(two.a.nets.len()), none(two.b.nets.len())],
            firm: Vec::new(),
        }
    }

    pub(super) fn pair_parts(&mut self, a: u32, b: u32) {
        self.parts[0][a as usize] = b;
        self.parts[1][b as usize] = a;
    }

    pub(super) fn pair_nets(&mut self, a: u32, b: u32) {
        self.nets[0][a as usize] = b;
        self.nets[1][b as usize] = a;
    }

    /// Partners, or the lack of one.
    pub(super) fn set(&mut self, a: u32, b: u32) {
        for (side, own, other) in [(0, a, b), (1, b, a)] {
            if own != NONE {
                self.parts[side][own as usize] = other;
            }
        }
    }

    /// The same for nets.
    pub(super) fn set_nets(&mut self, a: u32, b: u32) {
        for (side, own, other) in [(0, a, b), (1, b, a)] {
            if own != NONE {
                self.nets[side][own as usize] = other;
            }
        }
    }

    /// Whether both are still without a partner.
    pub(super) fn free_parts(&self, a: u32, b: u32) -> bool {
        self.parts[0][a as usize] == NONE && self.parts[1][b as usize] == NONE
    }

    pub(super) fn free_nets(&self, a: u32, b: u32) -> bool {
        self.nets[0][a as usize] == NONE && self.nets[1][b as usize] == NONE
    }

    /// Two places: above 0 where they are partners, below where one of them has another partner, 0 where neither has any.
    fn place(&self, a: u32, b: u32) -> i32 {
        let firm = |a: u32| !self.firm.is_empty() && self.firm.contains(&a);
        match (a, b) {
            // Both free ends: two lifted legs agree as well as two in one net.
            (NONE, NONE) => 1,
            (NONE, _) | (_, NONE) => -1,
            _ if self.free_nets(a, b) => 0,
            _ => {
                let weight = if firm(a) || firm(self.nets[1][b as usize]) { FIRM } else { 1 };
                if self.nets[0][a as usize] == b { weight } else { -weight }
            }
        }
    }

    /// Lays the legs of two parts over each other so that as many as can be agree.
    pub(super) fn legs(&self, x: &Look, y: &Look) -> Legs {
        let mut found = Legs { pairs: Vec::with_capacity(x.legs.len()), agree: 0, stray: 0, extra: 0 };
        let group = |look: &Look, g: usize| -> Vec<usize> {
            (0..look.legs.len()).filter(|leg| look.legs[*leg].group as usize == g).collect()
        };
        let of_x: Vec<Vec<usize>> = (0..x.groups as usize).map(|g| group(x, g)).collect();
        let of_y: Vec<Vec<usize>> = (0..y.groups as usize).map(|g| group(y, g)).collect();
        let worth = |i: usize, j: usize| self.group_worth((x, &of_x[i]), (y, &of_y[j]));
        let (order, sure) = best_order(of_x.len(), of_y.len(), worth);
        for (i, j) in order {
            let (gx, gy) = (&of_x[i], &of_y[j]);
            let (legs, turned) = self.group_legs((x, gx), (y, gy));
            found.pairs.extend(legs.into_iter().map(|(a, b)| (a, b, sure && turned)));
        }
        for (i, j, _) in &found.pairs {
            let place = self.place(x.legs[*i].net, y.legs[*j].net);
            found.agree += u32::from(place > 0);
            found.stray += (-place).max(0) as u32;
        }
        found.extra = (x.legs.len() + y.legs.len() - 2 * found.pairs.len()) as u32;
        // A polarised part: its legs have classes, so only the straight order was tried above.
        if let ([a, b], [c, d], 0) = (x.legs.as_slice(), y.legs.as_slice(), found.agree) {
            // Turned round in its place: one change, and a place in common.
            if self.place(a.net, d.net) > 0 && self.place(b.net, c.net) > 0 {
                (found.agree, found.stray) = (1, 1);
            }
        }
        found
    }

    fn group_worth(&self, (x, gx): (&Look, &[usize]), (y, gy): (&Look, &[usize])) -> i32 {
        let (legs, _) = self.group_legs((x, gx), (y, gy));
        // A leg with a counterpart that strays (1) is still worth more than one without any (0): legs are told as
        // moved, not as lost.
        legs.iter().map(|(i, j)| 4 + 3 * self.place(x.legs[*i].net, y.legs[*j].net)).sum()
    }

    /// Legs of two groups, class by class; and whether it could not be otherwise.
    fn group_legs(
        &self,
        (x, gx): (&Look, &[usize]),
        (y, gy): (&Look, &[usize]),
    ) -> (Vec<(usize, usize)>, bool) {
        let worth = |i: usize, j: usize| {
            let (a, b) = (&x.legs[gx[i]], &y.legs[gy[j]]);
            if a.class == b.class { 4 + 3 * self.place(a.net, b.net) } else { 0 }
        };
        let (order, sure) = best_order(gx.len(), gy.len(), worth);
        let same = |(i, j): &(usize, usize)| x.legs[gx[*i]].class == y.legs[gy[*j]].class;
        (order.into_iter().filter(same).map(|(i, j)| (gx[i], gy[j])).collect(), sure)
    }
}

/// Pairs of 0..n with 0..m of the greatest worth, by exchanging two at a time; and whether no exchange is as good.
fn best_order(n: usize, m: usize, worth: impl Fn(usize, usize) -> i32) -> (Vec<(usize, usize)>, bool) {
    let size = n.max(m);
    let value = |i: usize, j: usize| if i < n && j < m { worth(i, j) } else { 0 };
    let mut order: Vec<usize> = (0..size).collect();
    let gain = |order: &[usize], i: usize, j: usize| {
        value(i, order[j]) + value(j, order[i]) - value(i, order[i]) - value(j, order[j])
    };
    let couples = || (0..size).flat_map(|i| (i + 1..size).map(move |j| (i, j)));
    // Each exchange raises a sum of whole numbers that has a most: it ends. Two at a time is no proof of the best
    // order.
    while let Some((i, j)) = couples().find(|(i, j)| gain(&order, *i, *j) > 0) {
        order.swap(i, j);
    }
    let tied =
        |(i, j): (usize, usize)| value(i, order[i]) + value(j, order[j]) > 0 && gain(&order, i, j) == 0;
    let sure = !couples().any(tied);
    let pairs = order.into_iter().enumerate().filter(|(i, j)| *i < n && *j < m);
    (pairs.collect(), sure)
}
