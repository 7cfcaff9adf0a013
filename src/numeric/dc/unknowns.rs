//! Where each unknown stands: nodes' volts first, then branches' currents.
//!
//! ```text
//! nodes chassis, B+, plate, x, y;  B+ a source, plate on 100 kΩ, x–y an island
//! unknowns     0 B+   1 plate   2 y   3 the source's current: size 4
//! known        chassis and x (its island's 0 V): place 4
//! place 4      lies past the matrix: added to, never solved for, always 0
//! ```

use crate::numeric::dc::shorts;
use crate::numeric::dc::shorts::Links;
use crate::numeric::network::{CHASSIS, Law, Network};

/// Where each node's volts and each branch's current stand among the unknowns.
///
/// The chassis and one node of each island are known to be 0: their place is `size`, one past the unknowns.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    /// For each node.
    pub(crate) row: Vec<u32>,
    /// Unknowns from here on are branch currents.
    pub(crate) node_rows: usize,
    /// Number of unknowns.
    pub(crate) size: usize,
    /// For each unknown the node or the element, for messages.
    named: Vec<Named>,
}

#[derive(Debug, Clone, Copy)]
enum Named {
    Node(usize),
    Element(usize),
}

impl Layout {
    /// Numbers the unknowns; with `alternating` also each core's volts per turn.
    pub(crate) fn new(network: &Network, links: &Links, island_of: &[u32], alternating: bool) -> Self {
        const KNOWN: u32 = u32::MAX;
        let count = network.nodes.len();
        let mut named = Vec::with_capacity(count);
        let mut row = vec![KNOWN; count];
        let mut pinned = vec![false; count + 1];
        // A node stands for those merged into it and comes before them.
        for node in 0..count {
            let merged = links.merged[node];
            if merged != node {
                row[node] = row[merged];
                continue;
            }
            let island = island_of[node] as usize;
            // One node of an island must be given, or a constant added to all of them would be an answer too: a
            // singular matrix.
            let first_of_island = island != 0 && !std::mem::replace(&mut pinned[island], true);
            if node != CHASSIS && !first_of_island {
                row[node] = named.len() as u32;
                named.push(Named::Node(node));
            }
        }
        let node_rows = named.len();
        for (index, element) in network.elements.iter().enumerate() {
            shorts::branches(index, &element.law, &links.branched, |_| named.push(Named::Element(index)));
            if alternating && matches!(element.law, Law::Windings { .. }) {
                named.push(Named::Element(index));
            }
        }
        let size = named.len();
        // Only now is the number of unknowns known: KNOWN becomes the place past the last.
        for place in &mut row {
            *place = (*place).min(size as u32);
        }
        Self { row, node_rows, size, named }
    }

    /// The name of an unknown's node or element.
    pub(crate) fn name(&self, network: &Network, unknown: usize) -> String {
        match self.named[unknown] {
            Named::Node(node) => network.nodes[node].clone(),
            Named::Element(element) => network.elements[element].name.clone(),
        }
    }
}
