//! What matching sees of a circuit: parts by their looks, legs by what they are rather than what they are called, nets
//! with all that plain wire joins taken as one.
//!
//! ```text
//! a double triode      two groups of plate, grid, cathode: either group may lie over either of another
//! a resistor           one group, two legs of one class: either way round
//! a diode, a film cap  the diode's legs have classes, the capacitor's (unless electrolytic) have one
//! a three-way switch   lugs by the positions in which they touch; poles are groups
//! ```

use std::collections::BTreeMap;

use petgraph::unionfind::UnionFind;

use super::mix::{mix, mix_text};
use crate::circuit::{Circuit, Part, PartId, Winding};
use crate::model::{Construction, Kind};
use crate::units::significant;

/// No part, no net.
pub(super) const NONE: u32 = u32::MAX;

/// One circuit as it is matched. Links are no parts here.
#[derive(Debug)]
pub(super) struct Sketch {
    pub parts: Vec<Look>,
    /// Legs that sit in each net: part and index into [`Look::legs`].
    pub nets: Vec<Vec<(u32, u32)>>,
    /// The sketch's net of each of the circuit's.
    pub net_of: Vec<u32>,
}

/// One part.
#[derive(Debug)]
pub(super) struct Look {
    pub id: PartId,
    pub kind: Kind,
    /// Kind, type and value.
    pub body: u64,
    /// The same with ratings and construction.
    pub rated: u64,
    /// All of it with the setting and the quoted purpose: decides between equals only.
    pub label: u64,
    pub legs: Vec<LegLook>,
    /// How many groups its legs fall into.
    pub groups: u32,
}

/// One leg. Legs of one group and class are interchangeable, and so are groups with the same classes: the ends of a
/// resistor, the halves of a double triode, the poles of a switch.
#[derive(Debug, Clone, Copy)]
pub(super) struct LegLook {
    pub class: u64,
    pub group: u32,
    pub net: u32,
    /// Index into the part's own legs.
    pub index: u32,
}

/// Plain wire: joins its two nets whatever it is called.
pub(super) fn jumper(part: &Part) -> bool {
    part.kind == Kind::Link && part.fitted() && part.legs.len() == 2
}

/// Whether the two legs of a part may be exchanged without a difference.
pub(super) fn turnable(part: &Part) -> bool {
    part.kind.symmetric() && part.component.body.construction != Some(Construction::Electrolytic)
}

/// The circuit as it is matched; parts that are not fitted are not there.
pub(super) fn sketch(circuit: &Circuit) -> Sketch {
    let mut joined = UnionFind::<u32>::new(circuit.nets.len());
    for id in circuit.part_ids().filter(|id| jumper(circuit.part(*id))) {
        if let Some((a, b)) = circuit.ends(id) {
            joined.union(a.0, b.0);
        }
    }
    let mut numbers: BTreeMap<u32, u32> = BTreeMap::new();
    let net_of: Vec<u32> = (0..circuit.nets.len() as u32)
        .map(|net| {
            let next = numbers.len() as u32;
            *numbers.entry(joined.find(net)).or_insert(next)
        })
        .collect();
    let seen = circuit.part_ids().filter(|id| circuit.part(*id).fitted() && !jumper(circuit.part(*id)));
    let parts: Vec<Look> = seen.map(|id| look(id, circuit.part(id), &net_of)).collect();
    let mut nets = vec![Vec::new(); numbers.len()];
    for (part, look) in parts.iter().enumerate() {
        for (leg, at) in look.legs.iter().enumerate().filter(|(_, leg)| leg.net != NONE) {
            nets[at.net as usize].push((part as u32, leg as u32));
        }
    }
    Sketch { parts, nets, net_of }
}

fn look(id: PartId, part: &Part, net_of: &[u32]) -> Look {
    let named = leg_classes(part);
    let mut groups: BTreeMap<&str, u32> = BTreeMap::new();
    let legs = part.legs.iter().zip(&named).enumerate().map(|(index, (leg, (group, class)))| {
        let next = groups.len() as u32;
        let group = *groups.entry(group).or_insert(next);
        let net = leg.net.map_or(NONE, |net| net_of[net.0 as usize]);
        LegLook { class: *class, group, net, index: index as u32 }
    });
    let legs = legs.collect();
    let body = body_look(part);
    let rated = rated_look(part, body);
    let label = mix(mix(rated, value_bits(part.component.body.at)), part.note.as_deref().map_or(0, mix_text));
    Look { id, kind: part.kind, body, rated, label, legs, groups: groups.len() as u32 }
}

fn body_look(part: &Part) -> u64 {
    let body = &part.component.body;
    let mut look = mix(part.kind as u64 + 1, value_bits(body.value));
    look = mix(look, body.type_name.as_deref().map_or(0, mix_text));
    look = mix(look, body.taper.map_or(0, |taper| taper as u64 + 1));
    for (_, ohms) in &body.output_taps {
        look = mix(look, value_bits(Some(*ohms)));
    }
    // Windings are written in any order.
    mix(look, body.windings.iter().map(winding_look).fold(0, u64::wrapping_add))
}

fn rated_look(part: &Part, body: u64) -> u64 {
    let b = &part.component.body;
    let numbers = [b.power, b.volts, b.amps, b.ohms, b.henries, b.made.map(f64::from)];
    let look = numbers.into_iter().fold(body, |look, number| mix(look, value_bits(number)));
    mix(look, b.construction.map_or(0, |c| c as u64 + 1))
}

/// A value to nine digits, so that one that was reckoned is the same as one that was written.
fn value_bits(value: Option<f64>) -> u64 {
    // The last bit set, so that 0 Ω is not the same as no value at all.
    value.map_or(0, |value| significant(value, 9).to_bits() | 1)
}

fn winding_look(winding: &Winding) -> u64 {
    // The one name that means something: what goes to the mains is no secondary of the same volts.
    let primary = u64::from(winding.name == "primary");
    let look = mix(value_bits(Some(winding.volts)), primary + 2 * u64::from(winding.centre_tapped));
    mix(look, winding.taps.len() as u64)
}

/// For each leg its group, by a name of this part's own, and its class.
fn leg_classes(part: &Part) -> Vec<(&str, u64)> {
    match part.kind {
        Kind::Tube => part.legs.iter().map(|leg| in_section(&leg.name)).collect(),
        Kind::MainsTransformer | Kind::ReverbTransformer if !part.component.body.windings.is_empty() => {
            part.legs.iter().map(|leg| in_winding(part, &leg.name)).collect()
        }
        Kind::Switch | Kind::Relay => lugs(part),
        Kind::Bridge => {
            part.legs.iter().map(|leg| ("", mix_text(leg.name.trim_end_matches(['1', '2'])))).collect()
        }
        _ if part.legs.len() == 2 && turnable(part) => vec![("", 1), ("", 1)],
        _ => part.legs.iter().map(|leg| ("", mix_text(&leg.name))).collect(),
    }
}

fn in_section(leg: &str) -> (&str, u64) {
    match leg.split_once('.') {
        Some((section, electrode)) => (section, mix_text(electrode)),
        None => ("", mix_text(leg)),
    }
}

/// Windings are known by their volts, not by their names.
fn in_winding<'a>(part: &Part, leg: &'a str) -> (&'a str, u64) {
    let Some((name, end)) = leg.split_once('.') else { return ("", mix_text(leg)) };
    let look = part.component.body.windings.iter().find(|w| w.name == name).map_or(0, winding_look);
    (name, mix(look, mix_text(end)))
}

/// Lugs are known by the positions in which they touch another; a pole is the lugs that contacts join.
fn lugs(part: &Part) -> Vec<(&str, u64)> {
    let mut poles = UnionFind::<usize>::new(part.legs.len());
    let mut classes = vec![1_u64; part.legs.len()];
    for contact in &part.component.body.contacts {
        let (a, b) = (contact.a as usize, contact.b as usize);
        poles.union(a, b);
        let position = part.component.body.positions.iter().position(|p| *p == contact.position).unwrap_or(0);
        for lug in [a, b] {
            // Summed over its contacts: a common lug touches in every position, a throw in one.
            classes[lug] = classes[lug].wrapping_add(mix(7, position as u64));
        }
    }
    let pole = |lug: usize| part.legs[poles.find(lug)].name.as_str();
    classes.iter().enumerate().map(|(lug, class)| (pole(lug), *class)).collect()
}
