//! Colour refinement: what a part is, then what it sits among, then what those sit among, a ring wider each round. What
//! has a partner already keeps one colour in both circuits, so that a difference does not spread past it. (B. Weisfeiler and
//! A. Leman, 1968, from memory.)
//!
//! ```text
//! B+ – R1 100k – p – C1 22n – g – R2 1M – chassis, chassis and B+ paired:
//! round 0    parts: 100k, 22n, 1M; nets p, g: nothing
//! round 1    p: {100k from B+, 22n}, g: {22n, 1M to chassis}; R1: {B+, p}, C1: {p, g}, R2: {g, chassis}
//! round 2    p: its 22n leads to where a 1M goes to chassis …
//! another    circuit has the same colours for the same things, whatever they are called and in whatever order
//! ```

use super::mix::mix;
use super::pairing::Pairing;
use super::sketch::{Look, NONE, Sketch};

/// Rounds of refinement: wider than most stages.
// One round passes a part and a net: eight reach from a grid past the next stage's. Each costs a walk over all that
// is open.
pub(super) const ROUNDS: usize = 8;

/// Colours of one circuit, by round.
#[derive(Debug)]
pub(super) struct Colours {
    pub parts: Vec<Vec<u64>>,
    pub nets: Vec<Vec<u64>>,
}

/// What a part is before any of its surroundings are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Base {
    /// Kind, type and value.
    Body,
    /// Kind alone, so that a changed value does not spread.
    Shape,
}

impl Base {
    fn of(self, look: &Look) -> u64 {
        match self {
            Base::Body => look.body,
            Base::Shape => mix(look.kind as u64 + 1, look.legs.len() as u64),
        }
    }
}

/// Colours of one side (0 or 1) of a pairing. Round 0 is a part by itself; of a net it is nothing.
pub(super) fn colours(sketch: &Sketch, pairing: &Pairing, side: usize, base: Base) -> Colours {
    let fixed_part = |part: usize| fixed(pairing.parts[side][part], part as u32, side, 3);
    let fixed_net = |net: usize| fixed(pairing.nets[side][net], net as u32, side, 5);
    let parts: Vec<u64> =
        (0..sketch.parts.len()).map(|p| fixed_part(p).unwrap_or_else(|| base.of(&sketch.parts[p]))).collect();
    let nets: Vec<u64> = (0..sketch.nets.len()).map(|n| fixed_net(n).unwrap_or(1)).collect();
    // Only what is open, and what touches it, is looked at again.
    let open_net = |net: u32| net != NONE && pairing.nets[side][net as usize] == NONE;
    let open_part = |part: usize| pairing.parts[side][part] == NONE;
    let touches =
        |part: &usize| open_part(*part) || sketch.parts[*part].legs.iter().any(|leg| open_net(leg.net));
    let near: Vec<usize> = (0..sketch.parts.len()).filter(touches).collect();
    let open_nets: Vec<usize> = (0..sketch.nets.len()).filter(|net| open_net(*net as u32)).collect();
    let mut sums = Vec::new();
    let mut found = Colours { parts: vec![parts], nets: vec![nets] };
    for round in 0..ROUNDS {
        let (parts, nets) = (&found.parts[round], &found.nets[round]);
        let mut next = nets.clone();
        for net in &open_nets {
            next[*net] = 0;
        }
        for index in &near {
            let look = &sketch.parts[*index];
            // A partnered part tells no more than its name and its partnered nets.
            let known = !open_part(*index);
            group_sums(look, &mut sums, |net| match net {
                NONE => 2,
                net if known && open_net(net) => 1,
                net => nets[net as usize],
            });
            for leg in look.legs.iter().filter(|leg| open_net(leg.net)) {
                // With the part's other ends: else a net between two resistors could not tell which of them goes
                // where.
                let told = mix(mix(parts[*index], leg.class), sums[leg.group as usize]);
                // Sums, not sequences: the order of parts in a document must not matter. Equal parts twice count
                // twice.
                next[leg.net as usize] = next[leg.net as usize].wrapping_add(told);
            }
        }
        for net in &open_nets {
            // Mixed after summing, so that the sums of two rounds are never summed into each other.
            next[*net] = mix(next[*net], 11);
        }
        let mut widened = parts.clone();
        for index in near.iter().filter(|index| open_part(**index)) {
            let look = &sketch.parts[*index];
            group_sums(look, &mut sums, |net| if net == NONE { 2 } else { next[net as usize] });
            // Groups too are summed: poles and halves may come in any order.
            let around = sums.iter().map(|sum| mix(13, *sum)).fold(0, u64::wrapping_add);
            widened[*index] = mix(base.of(look), around);
        }
        found.parts.push(widened);
        found.nets.push(next);
    }
    found
}

/// The colour of what has a partner: named after its place in the first circuit.
fn fixed(partner: u32, own: u32, side: usize, salt: u64) -> Option<u64> {
    // Both sides must come to one number for one pair: the first circuit's.
    let name = if side == 0 { own } else { partner };
    (partner != NONE).then(|| mix(mix(salt, 0x5eed), u64::from(name)))
}

/// What the legs of each group of a part sit in, whatever their order.
fn group_sums(look: &Look, sums: &mut Vec<u64>, colour: impl Fn(u32) -> u64) {
    sums.clear();
    sums.resize(look.groups as usize, 0);
    for leg in &look.legs {
        let sum = &mut sums[leg.group as usize];
        *sum = sum.wrapping_add(mix(leg.class, colour(leg.net)));
    }
}
