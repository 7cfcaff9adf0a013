//! Which nodes of a network are joined, on a route.

use std::collections::BTreeSet;

use petgraph::unionfind::UnionFind;

use super::Route;
use super::rig::{Rig, SHARING_OHMS};
use crate::numeric::network::{Law, Node};

impl Rig {
    /// Whether what drives it is joined to something within reach: over every element when alternating, else over what
    /// passes direct current. What a winding or the HT drives comes back by the chassis, which joins nothing.
    pub(super) fn joined(&self, route: Route) -> bool {
        let apart = if route == Route::Mains { None } else { Some(self.chassis()) };
        let groups = self.groups(route, apart.as_slice());
        let live: BTreeSet<usize> = self.live.iter().map(|node| groups[*node]).collect();
        let mut reach = self.reach.iter().flatten().filter(|node| Some(**node) != apart);
        reach.any(|node| live.contains(&groups[*node]))
    }

    /// For each node its group: nodes joined over elements, none of them by way of `apart`.
    pub(super) fn groups(&self, route: Route, apart: &[Node]) -> Vec<usize> {
        self.groups_over(route, apart, |_| true)
    }

    /// The same over the elements that `joins` picks by their index.
    pub(super) fn groups_over(
        &self,
        route: Route,
        apart: &[Node],
        joins: impl Fn(usize) -> bool,
    ) -> Vec<usize> {
        let mut union = UnionFind::new(self.network.nodes.len());
        for (_, element) in self.network.elements.iter().enumerate().filter(|(index, _)| joins(*index)) {
            ways(&element.law, route, |a, b| {
                if !apart.contains(&a) && !apart.contains(&b) {
                    union.union(a, b);
                }
            });
        }
        union.into_labeling()
    }

    /// The chassis' node.
    pub(super) fn chassis(&self) -> Node {
        self.node_of[0].unwrap_or(0)
    }
}

/// Calls `join` for each pair of nodes that an element joins on a route.
pub(super) fn ways(law: &Law, route: Route, mut join: impl FnMut(Node, Node)) {
    match *law {
        Law::Capacitor { a, b, farads }
            if matches!(route, Route::Mains | Route::Winding | Route::Swing) && farads > 0.0 =>
        {
            join(a, b);
        }
        // Rectifiers are sharing resistances there: they place the winding, and lead nothing to a hand.
        Law::Resistor { a, b, ohms } if route != Route::Winding || ohms != SHARING_OHMS => join(a, b),
        Law::Inductor { a, b, .. }
        | Law::Diode { anode: a, cathode: b, .. }
        | Law::Zener { anode: a, cathode: b, .. }
        | Law::VacuumDiode { anode: a, cathode: b, .. } => join(a, b),
        // The mains' own sources stand at earth, which is no part of the amplifier.
        Law::VoltageSource { plus, minus, .. } if route != Route::Mains => join(plus, minus),
        Law::Windings { ref windings, .. } => windings.iter().for_each(|w| join(w.a, w.b)),
        _ => {}
    }
}
