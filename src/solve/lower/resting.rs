//! Nets that capacitors alone join to the rest: a mixing node, an input behind a capacitor, a send without a load; and an
//! output transformer's secondary that is not joined to chassis, which only its core joins. They rest at 0 V by
//! leakage, which is assumed and said; a signal passes them as any other. What holds a source, a semiconductor,
//! another transformer, a primary, a valve's electrode, an electrolytic's leg or a part of unknown value is none of
//! these: its volts stay undefined.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::unionfind::UnionFind;

use super::lowered::{Lowered, Origin};
use crate::circuit::{Circuit, LegId, NetId};
use crate::model::{Construction, Kind};
use crate::numeric::dc::islands::joins_at_dc;
use crate::numeric::network::{CHASSIS, Law, Node};

/// Leakage of such a net to chassis. No direct current flows in it, so that any figure gives 0 V; this one is far above
/// what a signal would notice.
const LEAKAGE_OHMS: f64 = 1e12;

/// Holds every such net at 0 V.
pub(in crate::solve) fn rest_by_leakage(circuit: &Circuit, lowered: &mut Lowered) {
    let mut groups = UnionFind::<usize>::new(lowered.network.nodes.len());
    for element in &lowered.network.elements {
        joins_at_dc(&element.law, &mut |a, b| {
            groups.union(a, b);
        });
    }
    let mut nets_of: BTreeMap<Node, Vec<NetId>> = BTreeMap::new();
    for net in circuit.net_ids() {
        if let Some(node) = lowered.node_of[net.0 as usize] {
            nets_of.entry(groups.find(node)).or_default().push(net);
        }
    }
    nets_of.remove(&groups.find(CHASSIS));
    let mut coupled: BTreeSet<Node> = BTreeSet::new();
    for element in &lowered.network.elements {
        let ends = match &element.law {
            Law::Capacitor { a, b, .. } => vec![groups.find(*a), groups.find(*b)],
            Law::Windings { windings, .. } => windings.iter().map(|w| groups.find(w.a)).collect(),
            _ => continue,
        };
        if ends.iter().any(|end| *end != ends[0]) {
            coupled.extend(ends);
        }
    }
    for (group, nets) in nets_of {
        let other = |leg: &LegId| lowered.unknown.contains(&leg.part) || holds_charge(circuit, *leg);
        if !coupled.contains(&group) || nets.iter().any(|net| circuit.net(*net).legs.iter().any(other)) {
            continue;
        }
        let names: Vec<&str> = nets.iter().map(|net| circuit.net(*net).name.as_str()).collect();
        let (names, rest) = (names.join(", "), if nets.len() == 1 { "rests" } else { "rest" });
        let wound = |leg: &LegId| circuit.part(leg.part).kind == Kind::OutputTransformer;
        let by_core = nets.iter().any(|net| circuit.net(*net).legs.iter().any(wound));
        let way = if by_core { "only a transformer's core leads" } else { "only capacitors lead" };
        lowered.assumed.push(format!("{names}: {way} there, so {rest} at 0 V by leakage"));
        // A winding's signal is read above its common end, so that one is held.
        let common =
            |leg: &LegId| wound(leg) && circuit.part(leg.part).legs[leg.leg as usize].name == "common";
        let held = nets.iter().find(|net| circuit.net(**net).legs.iter().any(common));
        let a = held.and_then(|net| lowered.node_of[net.0 as usize]).unwrap_or(group);
        lowered.network.add("leakage", Law::Resistor { a, b: CHASSIS, ohms: LEAKAGE_OHMS });
        lowered.elements.push(Origin { part: None, section: None, heats: false, legs: vec![None, None] });
        lowered.resting.push(nets);
    }
}

/// Whether a leg brings volts or a leakage of its own to its net.
fn holds_charge(circuit: &Circuit, leg: LegId) -> bool {
    let part = circuit.part(leg.part);
    match part.kind {
        Kind::Capacitor => part.component.body.construction == Some(Construction::Electrolytic),
        Kind::OutputTransformer => {
            let name = part.legs[leg.leg as usize].name.as_str();
            name.starts_with("plate") || name.starts_with("ul") || name == "supply"
        }
        Kind::Tube
        | Kind::Diode
        | Kind::Zener
        | Kind::Led
        | Kind::Bridge
        | Kind::MainsTransformer
        | Kind::ReverbTransformer
        | Kind::Source
        | Kind::Inlet => true,
        _ => false,
    }
}
