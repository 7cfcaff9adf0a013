//! Colour refinement: what a part is, then what it sits among, then what those sit among, a ring wider each round. What
//! has a partner already keeps one colour in both circuits, so that a difference does not spread past it.

use super::mix::mix;
use super::pairing::Pairing;
use super::sketch::{Look, NONE, Sketch};

/// Rounds of refinement: wider than most stages.
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
    let mut found = Colours { parts: vec![parts], nets: vec![nets] };
    for round in 0..ROUNDS {
        let (parts, nets) = (&found.parts[round], &found.nets[round]);
        let mut next = vec![0_u64; nets.len()];
        for (index, look) in sketch.parts.iter().enumerate() {
            // A partnered part tells no more than its name and its partnered nets.
            let known = fixed_part(index).is_some();
            let colour = |net: u32| match net {
                NONE => 2,
                net if known => fixed_net(net as usize).unwrap_or(1),
                net => nets[net as usize],
            };
            for (leg, rest) in around(look, colour).into_iter().enumerate() {
                let at = &look.legs[leg];
                if at.net != NONE {
                    let told = mix(mix(parts[index], at.class), rest);
                    next[at.net as usize] = next[at.net as usize].wrapping_add(told);
                }
            }
        }
        for (net, colour) in next.iter_mut().enumerate() {
            *colour = fixed_net(net).unwrap_or(mix(*colour, 11));
        }
        let widened = |(index, look): (usize, &Look)| {
            fixed_part(index).unwrap_or_else(|| whole(look, base.of(look), &next))
        };
        let parts = sketch.parts.iter().enumerate().map(widened).collect();
        found.parts.push(parts);
        found.nets.push(next);
    }
    found
}

/// The colour of what has a partner: named after its place in the first circuit.
fn fixed(partner: u32, own: u32, side: usize, salt: u64) -> Option<u64> {
    let name = if side == 0 { own } else { partner };
    (partner != NONE).then(|| mix(mix(salt, 0x5eed), u64::from(name)))
}

/// For each leg of a part what the other legs of its group sit in.
fn around(look: &Look, colour: impl Fn(u32) -> u64) -> Vec<u64> {
    let told: Vec<u64> = look.legs.iter().map(|leg| mix(leg.class, colour(leg.net))).collect();
    let mut sums = vec![0_u64; look.groups as usize];
    for (leg, told) in look.legs.iter().zip(&told) {
        let sum = &mut sums[leg.group as usize];
        *sum = sum.wrapping_add(*told);
    }
    look.legs.iter().map(|leg| sums[leg.group as usize]).collect()
}

/// A part with all its nets.
fn whole(look: &Look, own: u64, nets: &[u64]) -> u64 {
    let mut sums = vec![0_u64; look.groups as usize];
    for leg in &look.legs {
        let net = if leg.net == NONE { 2 } else { nets[leg.net as usize] };
        let sum = &mut sums[leg.group as usize];
        *sum = sum.wrapping_add(mix(leg.class, net));
    }
    mix(own, sums.into_iter().map(|sum| mix(13, sum)).fold(0, u64::wrapping_add))
}
