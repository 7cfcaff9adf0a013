//! Charge that only a diode lets go: of a doubler's capacitor into the rail that runs down beside it.
//!
//! The network that discharges has its diodes blocking, and a capacitor that nothing else drains would keep its charge in
//! it for good. Where current can leave its upper plate through diodes the way they point, these conduct once the rail
//! behind them has fallen below it. They are taken as conducting from the start: the charge is shared at once rather than
//! when the rail has come down, so that the time is a little longer than it is.

use std::collections::{BTreeMap, VecDeque};

use crate::numeric::network::{Law, Network, Node};

/// A silicon diode that conducts, Ω: nothing against what discharges.
const CONDUCTING_OHMS: f64 = 1.0;

/// The network with the diodes conducting through which a capacitor's charge leaves it, `upper` its plate with the higher
/// volts; `None` where there is no such way.
pub(crate) fn let_go(network: &Network, upper: Node, lower: Node) -> Option<Network> {
    let ways = ways(network);
    let mut came: BTreeMap<Node, (Node, Option<usize>)> = BTreeMap::new();
    let mut queue = VecDeque::from([upper]);
    // Breadth first: of several ways the one of fewest elements, so that no diode conducts that need not.
    while let Some(node) = queue.pop_front().filter(|_| !came.contains_key(&lower)) {
        for (next, diode) in ways.get(&node).into_iter().flatten() {
            if *next != upper && !came.contains_key(next) {
                came.insert(*next, (node, *diode));
                queue.push_back(*next);
            }
        }
    }
    let mut closed = network.clone();
    let mut node = lower;
    while node != upper {
        let (before, diode) = *came.get(&node)?;
        if let Some(law) = diode.map(|diode| &mut closed.elements[diode].law) {
            *law = Law::Resistor { a: before, b: node, ohms: CONDUCTING_OHMS };
        }
        node = before;
    }
    Some(closed)
}

/// Where direct current can go from each node, and through which diode.
fn ways(network: &Network) -> BTreeMap<Node, Vec<(Node, Option<usize>)>> {
    let mut ways: BTreeMap<Node, Vec<(Node, Option<usize>)>> = BTreeMap::new();
    let mut both = |a: Node, b: Node| {
        ways.entry(a).or_default().push((b, None));
        ways.entry(b).or_default().push((a, None));
    };
    for element in &network.elements {
        match &element.law {
            Law::Resistor { a, b, ohms } if ohms.is_finite() => both(*a, *b),
            Law::Inductor { a, b, .. } => both(*a, *b),
            Law::Windings { windings, .. } => windings.iter().for_each(|winding| both(winding.a, winding.b)),
            _ => {}
        }
    }
    for (at, element) in network.elements.iter().enumerate() {
        if let Law::Diode { anode, cathode, .. } = element.law {
            ways.entry(anode).or_default().push((cathode, Some(at)));
        }
    }
    ways
}
