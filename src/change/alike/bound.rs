//! A cost that no list of changes between two circuits can stay under, whichever part is taken for which: counted
//! from what each circuit has of every kind of part and net, without any matching.
//!
//! ```text
//! First: 100k, 100k, 1M; second: 100k, 220k, 1M, all in the same nets:
//! bodies     one 100k too many against one 220k too many: one body has changed, 2
//! nets       as bags of legs (by kind: "resistor end" twice …) all have their equals: 0
//! least      2; a list that costs 2 is then proven to be the shortest
//! ```

use std::collections::BTreeMap;

use super::cost::{BODY, Price, WIRING, part};
use super::sketch::turnable;
use crate::circuit::{Circuit, LegId, describe};
use crate::model::Kind;

/// The bound.
///
/// Bodies: of each kind, parts that one circuit has more of must come in or go out, and bodies that still differ must
/// change. Nets: a change of wiring makes at most two nets another bag of legs (by kinds, since bodies are counted
/// already), and a part that goes out or comes in at most as many as it has legs.
pub(super) fn least(before: &Circuit, after: &Circuit) -> Price {
    let (first, second) = (bodies(before), bodies(after));
    let (mut price, mut touched, mut changed) = (0, 0, 0);
    for kind in Kind::ALL {
        let of = |bodies: &BTreeMap<(Kind, String), u32>| -> u32 {
            bodies.iter().filter(|((k, _), _)| *k == kind).map(|(_, count)| count).sum()
        };
        let rest = |x: &BTreeMap<(Kind, String), u32>, y: &BTreeMap<(Kind, String), u32>| -> u32 {
            let own = x.iter().filter(|((k, _), _)| *k == kind);
            own.map(|(key, count)| count.saturating_sub(y.get(key).copied().unwrap_or(0))).sum()
        };
        let own = |circuit: &'_ Circuit| -> Vec<usize> {
            circuit.parts.iter().filter(|p| p.kind == kind && p.fitted()).map(|p| p.legs.len()).collect()
        };
        let legs = [own(before), own(after)].concat();
        let (fewest, most) =
            (legs.iter().min().copied().unwrap_or(0), legs.iter().max().copied().unwrap_or(0));
        let (gone, come) = (of(&first).saturating_sub(of(&second)), of(&second).saturating_sub(of(&first)));
        // The cheapest of its kind that either circuit has: which part goes is not known here, and a bound may only
        // be too low.
        price += part(fewest) * gone + if kind == Kind::Link { WIRING } else { part(fewest) } * come;
        // Here the widest, for the same reason the other way round: as many nets as it could explain are forgiven.
        touched += (gone + come) * most as u32;
        changed += rest(&first, &second).min(rest(&second, &first));
    }
    price += BODY * changed;
    let (first, second) = (nets(before), nets(after));
    let left = |x: &BTreeMap<Vec<String>, u32>, y: &BTreeMap<Vec<String>, u32>| -> u32 {
        x.iter().map(|(bag, count)| count.saturating_sub(y.get(bag).copied().unwrap_or(0))).sum()
    };
    // A net that changed is missing on one side and over on the other: the larger count is what had to change.
    let nets = left(&first, &second).max(left(&second, &first)).saturating_sub(touched);
    // A half that goes idle takes its legs out of the bags without a change that `cost` would count.
    if idle_halves(before) == idle_halves(after) { price + rewired(nets, changed) } else { price }
}

/// The least for that many nets. A leg that moves changes two; a part that is taken out and put in again costs as much
/// as the moves it saves, but saves a change of its body too.
fn rewired(nets: u32, changed: u32) -> Price {
    let price = |taken: u32| BODY * taken + WIRING * nets.saturating_sub(4 * taken).div_ceil(2);
    (0..=changed.min(nets)).map(price).min().unwrap_or(0)
}

fn bodies(circuit: &Circuit) -> BTreeMap<(Kind, String), u32> {
    let mut bodies = BTreeMap::new();
    for part in circuit.parts.iter().filter(|p| p.fitted()) {
        *bodies.entry((part.kind, describe::body(part.kind, &part.component.body))).or_insert(0) += 1;
    }
    bodies
}

/// Nets as bags of legs.
fn nets(circuit: &Circuit) -> BTreeMap<Vec<String>, u32> {
    let mut nets = BTreeMap::new();
    // Left out: chassis is no other net's equal, and what is not counted makes a bound only lower.
    for net in circuit.net_ids().skip(1) {
        let mut bag: Vec<String> =
            circuit.net(net).legs.iter().filter_map(|leg| word(circuit, *leg)).collect();
        bag.sort();
        if !bag.is_empty() {
            *nets.entry(bag).or_insert(0) += 1;
        }
    }
    nets
}

/// A leg by what it is; nothing for one that comes and goes with a valve's type.
fn word(circuit: &Circuit, leg: LegId) -> Option<String> {
    let part = circuit.part(leg.part);
    let name = part.legs[leg.leg as usize].name.as_str();
    let name = match part.kind {
        Kind::Tube => {
            // Screens and suppressors come and go with a type of the same socket: a change of body, counted already.
            name.rsplit('.').next().filter(|electrode| ["plate", "grid", "cathode"].contains(electrode))?
        }
        Kind::Switch | Kind::Relay => "lug",
        Kind::Bridge => name.trim_end_matches(['1', '2']),
        _ if turnable(part) => "end",
        _ => name,
    };
    Some(format!("{} {name}", part.kind.word()))
}

fn idle_halves(circuit: &Circuit) -> usize {
    circuit.parts.iter().map(|part| part.unused.len()).sum()
}
