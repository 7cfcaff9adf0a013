//! Ideal links, and loops of ideal sources: what must be settled before equations can be written.
//!
//! Nodes joined by exactly 0 Ω become one, and the links' currents are found afterwards along a spanning
//! tree. A source that closes a loop of sources either contradicts it, which is an error that names the
//! loop, or is redundant and carries 0 A.
//!
//! ```text
//! Links a–b, b–c (0 Ω); into a flows 3 mA, out of b 1 mA, out of c 2 mA by other elements:
//! merged       a, b, c are one node: one unknown
//! tree         from a: a–b, then b–c; leaves first: b–c, a–b
//! b–c          carries what leaves at c: 2 mA, which then leaves at b as well
//! a–b          1 + 2 = 3 mA
//! ```

use petgraph::unionfind::UnionFind;

use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::numeric::outcome::{Outcome, Unsolved};

/// Voltages around a loop of sources may miss 0 by this share of the largest: rounding of decimal values.
// Written values add up to a last digit or so: 0.1 + 0.2 is not 0.3.
const LOOP_SHARE: f64 = 1e-12;

/// Below this a resistor's current has to be an unknown of its own: volts differ too little to give it …
// At 1 Ω and 400 V the last digit of a volt is 6e-14 V, and so many amperes: as good as the balance asks, not better.
const LEAST_OHMS: f64 = 1.0;
/// … and below this it is laid out so, that small changes of value need no new layout.
// Ten times the other: a tolerance or a fuse's spread never carries a value over both.
const BRANCH_OHMS: f64 = 10.0;

/// Which nodes are one, how the links between them hang together, and which branches are redundant.
#[derive(Debug, Clone)]
pub(crate) struct Links {
    /// For each node the one that stands for all it is linked to; the chassis stands for itself.
    pub(crate) merged: Vec<Node>,
    /// Links that carry current, leaves first.
    pub(crate) tree: Vec<TreeLink>,
    /// For each branch (see [`branches`]): redundant at DC.
    pub(crate) idle: Vec<bool>,
    /// For each branch: redundant at AC.
    pub(crate) idle_ac: Vec<bool>,
    /// For each element: a resistor whose current is an unknown of its own.
    pub(crate) branched: Vec<bool>,
    /// Some sources form a loop, so that a change of their values needs a new check.
    pub(crate) looped: bool,
}

/// A link of the spanning tree: the current of everything beyond `leaf` flows through it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct TreeLink {
    pub(crate) element: usize,
    pub(crate) leaf: Node,
    pub(crate) root: Node,
}

/// A part of an element whose current is an unknown of its own: `Va − Vb = (ohms + jωL)·i + volts`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Branch {
    pub(crate) element: usize,
    pub(crate) a: Node,
    pub(crate) b: Node,
    pub(crate) ohms: f64,
    pub(crate) henries: f64,
    pub(crate) volts: f64,
    pub(crate) ac_volts: f64,
    /// Of a winding; 0 for the rest.
    pub(crate) turns: f64,
}

impl Branch {
    const fn ideal(&self) -> bool {
        self.ohms == 0.0
    }

    const fn is_source(&self) -> bool {
        self.ideal() && self.henries == 0.0 && self.turns == 0.0
    }
}

/// Calls `visit` for each branch of the element, in terminal order; `branched` are [`Links::branched`].
pub(crate) fn branches(element: usize, law: &Law, branched: &[bool], mut visit: impl FnMut(Branch)) {
    let mut branch = |a, b, ohms, henries, (volts, ac_volts), turns| {
        visit(Branch { element, a, b, ohms, henries, volts, ac_volts, turns });
    };
    match *law {
        Law::Resistor { a, b, ohms } if branched[element] => branch(a, b, ohms, 0.0, (0.0, 0.0), 0.0),
        Law::Inductor { a, b, henries, ohms } => branch(a, b, ohms, henries, (0.0, 0.0), 0.0),
        Law::VoltageSource { plus, minus, volts, ac_volts } => {
            branch(plus, minus, 0.0, 0.0, (volts, ac_volts), 0.0);
        }
        Law::Windings { ref windings, .. } => {
            for winding in windings {
                branch(winding.a, winding.b, winding.ohms, 0.0, (0.0, 0.0), winding.turns);
            }
        }
        _ => {}
    }
}

/// Whether a resistor's equation may stay as it was laid out when its value changes.
pub(crate) fn keeps_place(before: f64, now: f64) -> bool {
    match before {
        0.0 => now == 0.0,
        // A branch is good at any resistance but 0, which would merge its nodes; a conductor only where it isn't too
        // small.
        _ if before < BRANCH_OHMS => now > 0.0,
        _ => now >= LEAST_OHMS,
    }
}

/// Merges linked nodes and checks the loops of sources.
pub(crate) fn join(network: &Network) -> Result<Links, Unsolved> {
    let (merged, tree) = merge(network);
    let branched: Vec<bool> = network.elements.iter().map(|element| is_branched(&element.law)).collect();
    let mut list = Vec::new();
    for (index, element) in network.elements.iter().enumerate() {
        branches(index, &element.law, &branched, |branch| list.push(branch));
    }
    let idle = vec![false; list.len()];
    let mut links = Links { idle_ac: idle.clone(), idle, merged, tree, branched, looped: false };
    let mut dc = Forest::new(network.nodes.len());
    let mut ac = Forest::new(network.nodes.len());
    for (index, branch) in list.iter().enumerate() {
        let (a, b) = (links.merged[branch.a], links.merged[branch.b]);
        // At DC an ideal inductor is a source of 0 V: two in parallel have a current that nothing shares out.
        if branch.ideal() {
            links.idle[index] =
                !dc.add(Arc { from: b, to: a, rise: branch.volts, element: branch.element }, network)?;
        }
        if branch.is_source() {
            let arc = Arc { from: b, to: a, rise: branch.ac_volts, element: branch.element };
            links.idle_ac[index] = !ac.add(arc, network)?;
        }
        links.looped |= links.idle[index];
    }
    Ok(links)
}

fn is_branched(law: &Law) -> bool {
    matches!(*law, Law::Resistor { ohms, .. } if ohms > 0.0 && ohms < BRANCH_OHMS)
}

fn merge(network: &Network) -> (Vec<Node>, Vec<TreeLink>) {
    let count = network.nodes.len();
    let mut union = UnionFind::new(count);
    let mut neighbours: Vec<Vec<(usize, Node)>> = Vec::new();
    for (index, element) in network.elements.iter().enumerate() {
        if let Law::Resistor { a, b, ohms: 0.0 } = element.law
            // A link that closes a loop of links is left out: how they share the current is up to ohms that nobody
            // wrote.
            && union.union(a, b)
        {
            neighbours.resize(count, Vec::new());
            neighbours[a].push((index, b));
            neighbours[b].push((index, a));
        }
    }
    if neighbours.is_empty() {
        return ((0..count).collect(), Vec::new());
    }
    let mut merged = vec![usize::MAX; count];
    let mut tree = Vec::new();
    // The chassis comes first and so stands for all it is linked to: the one node whose volts are known.
    for start in CHASSIS..count {
        if merged[start] != usize::MAX {
            continue;
        }
        merged[start] = start;
        let mut stack = vec![start];
        while let Some(root) = stack.pop() {
            for &(element, leaf) in &neighbours[root] {
                if merged[leaf] == usize::MAX {
                    merged[leaf] = start;
                    tree.push(TreeLink { element, leaf, root });
                    stack.push(leaf);
                }
            }
        }
    }
    // Roots were found before their leaves; currents are summed from the leaves on.
    tree.reverse();
    (merged, tree)
}

/// An ideal source between two merged nodes.
#[derive(Debug, Clone, Copy)]
struct Arc {
    from: Node,
    to: Node,
    rise: f64,
    element: usize,
}

/// The ideal sources seen so far that close no loop.
struct Forest {
    union: UnionFind<usize>,
    arcs: Vec<Arc>,
}

impl Forest {
    fn new(nodes: usize) -> Self {
        Self { union: UnionFind::new(nodes), arcs: Vec::new() }
    }

    /// Adds a source; false where it closes a loop that it agrees with.
    fn add(&mut self, arc: Arc, network: &Network) -> Result<bool, Unsolved> {
        if self.union.union(arc.from, arc.to) {
            self.arcs.push(arc);
            return Ok(true);
        }
        let path = self.path(arc.from, arc.to);
        // A few arcs even in a large amplifier: a walk is cheaper than potentials kept up to date.
        let rise: f64 = path.iter().map(|step| step.rise).sum();
        let largest = path.iter().map(|step| step.rise.abs()).fold(arc.rise.abs(), f64::max);
        if (rise - arc.rise).abs() <= LOOP_SHARE * largest {
            return Ok(false);
        }
        let mut names: Vec<String> =
            path.iter().chain([&arc]).map(|step| network.elements[step.element].name.clone()).collect();
        // The loop has no first element; sorted it reads the same however the document is ordered.
        names.sort();
        names.dedup();
        Err(Unsolved::before(Outcome::SourceLoop { elements: names }))
    }

    /// The arcs from one node to another, each turned in the direction of travel.
    fn path(&self, from: Node, to: Node) -> Vec<Arc> {
        let mut trail: Vec<Arc> = Vec::new();
        let mut came: std::collections::BTreeMap<Node, Option<Arc>> = [(from, None)].into();
        let mut stack = vec![from];
        while let Some(node) = stack.pop() {
            for arc in &self.arcs {
                let turned = Arc { from: arc.to, to: arc.from, rise: -arc.rise, ..*arc };
                for step in [*arc, turned] {
                    if step.from == node && !came.contains_key(&step.to) {
                        came.insert(step.to, Some(step));
                        stack.push(step.to);
                    }
                }
            }
        }
        let mut node = to;
        while let Some(Some(step)) = came.get(&node) {
            trail.push(*step);
            node = step.from;
        }
        trail
    }
}
