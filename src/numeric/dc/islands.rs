//! Which nodes have defined volts: islands without a DC path to the chassis, and floating grids.
//!
//! Resistors, inductors, windings, voltage sources and semiconductors conduct both ways. Valves conduct from
//! plate and screen to cathode only, current sources only in their own direction. A group of nodes is held
//! when current can come to it from the chassis and go from it to the chassis; a valve or current source
//! that reaches into a group that is not held carries nothing, which may leave others without hold.
//!
//! ```text
//! A triode, plate by 100 kΩ to 250 V, grid by 1 MΩ to chassis, cathode resistor broken:
//! groups      {chassis, 250 V, plate, grid}   {cathode}
//! one ways    plate → cathode: the cathode is fed, nothing draws from it: not held
//! so          the valve carries nothing, the cathode is an island (no volts), the plate is at 250 V
//! with 1 kΩ from cathode to chassis there is one group and nothing to ask
//! ```

use petgraph::unionfind::UnionFind;

use crate::numeric::dc::shorts::Links;
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::numeric::point::{FloatingGrid, FloatingGrids, Island};

/// How a valve or current source takes part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mode {
    /// As its law says.
    Live,
    /// Carries nothing.
    CutOff,
    /// Its control grid floats and is taken to be at the cathode's volts, without grid current.
    GridAtCathode,
}

/// What holds and what does not.
#[derive(Debug, Clone)]
pub(crate) struct Islands {
    /// For each node 0 where it is held, else its island's number from 1.
    pub(crate) island_of: Vec<u32>,
    pub(crate) list: Vec<Island>,
    /// For each element.
    pub(crate) modes: Vec<Mode>,
    pub(crate) floating_grids: Vec<FloatingGrid>,
    /// For each node the number of its group: nodes joined both ways.
    pub(crate) groups: Vec<usize>,
    /// Some nodes are held by valves or current sources alone.
    pub(crate) has_groups_held_by_valves: bool,
}

/// A way for current from one group of nodes to another that is not open in reverse.
struct OneWay {
    element: usize,
    from: usize,
    to: usize,
}

/// Finds the islands; `cut_off` are valves and junctions known to carry nothing.
pub(crate) fn find(network: &Network, links: &Links, floating: FloatingGrids, cut_off: &[usize]) -> Islands {
    let mut modes = vec![Mode::Live; network.elements.len()];
    for &element in cut_off {
        modes[element] = Mode::CutOff;
    }
    let groups = groups(network, links, |element, law, join| {
        if modes[element] == Mode::Live {
            joins_at_dc(law, join);
        }
    });
    let ways = one_ways(network, &groups);
    let held = hold(&groups, &ways, &mut modes);
    let mut floating_grids = Vec::new();
    for (element, part) in network.elements.iter().enumerate() {
        if let Law::Triode { grid, cathode, .. } | Law::Pentode { grid, cathode, .. } = part.law
            && modes[element] == Mode::Live
            && groups[grid] != groups[cathode]
        {
            if !held[groups[cathode]] {
                // All but the grid on an island: nothing relates the grid's volts to it.
                modes[element] = Mode::CutOff;
            // The cathode is held and the grid is not: the valve conducts, only with what bias nobody can say.
            } else if !held[groups[grid]] {
                floating_grids.push(FloatingGrid { element, node: grid });
                modes[element] = Mode::GridAtCathode;
            }
        }
    }
    if floating == FloatingGrids::CutOff && !floating_grids.is_empty() {
        // A section that is cut off may leave others without hold.
        let more: Vec<usize> =
            cut_off.iter().copied().chain(floating_grids.iter().map(|f| f.element)).collect();
        let mut found = find(network, links, FloatingGrids::AtCathode, &more);
        found.floating_grids.extend(floating_grids);
        found.floating_grids.sort_by_key(|grid| grid.element);
        return found;
    }
    let (island_of, list) = number(&groups, &held);
    let by_valves = groups.iter().any(|&group| group != groups[CHASSIS] && held[group]);
    Islands { island_of, list, modes, floating_grids, groups, has_groups_held_by_valves: by_valves }
}

/// For each node the number of its group: linked nodes, and those that `joins` (given each element's position
/// and law) joins to each other.
pub(crate) fn groups(
    network: &Network,
    links: &Links,
    joins: impl Fn(usize, &Law, &mut dyn FnMut(Node, Node)),
) -> Vec<usize> {
    let mut union = UnionFind::new(network.nodes.len());
    for (node, &other) in links.merged.iter().enumerate() {
        // Links have no element left in the equations: without them two halves of one net would be two groups.
        union.union(node, other);
    }
    for (index, element) in network.elements.iter().enumerate() {
        joins(index, &element.law, &mut |a, b| {
            union.union(a, b);
        });
    }
    union.into_labeling()
}

/// Calls `join` for each pair of nodes between which the law conducts both ways at DC.
pub(crate) fn joins_at_dc(law: &Law, join: &mut dyn FnMut(Node, Node)) {
    match *law {
        Law::Resistor { a, b, .. } | Law::Inductor { a, b, .. } => join(a, b),
        Law::VoltageSource { plus, minus, .. } => join(plus, minus),
        Law::Diode { anode, cathode, .. } | Law::Zener { anode, cathode, .. } => join(anode, cathode),
        Law::Windings { ref windings, .. } => windings.iter().for_each(|winding| join(winding.a, winding.b)),
        // A vacuum diode is no path both ways: reversed it has no leakage at all, a junction has.
        Law::Capacitor { .. }
        | Law::CurrentSource { .. }
        | Law::Triode { .. }
        | Law::Pentode { .. }
        | Law::VacuumDiode { .. } => {}
    }
}

fn one_ways(network: &Network, groups: &[usize]) -> Vec<OneWay> {
    let mut ways = Vec::new();
    for (element, part) in network.elements.iter().enumerate() {
        let mut way =
            |from: Node, to: Node| ways.push(OneWay { element, from: groups[from], to: groups[to] });
        match part.law {
            Law::Triode { plate, cathode, .. } => way(plate, cathode),
            Law::Pentode { plate, screen, cathode, .. } => {
                way(plate, cathode);
                way(screen, cathode);
            }
            Law::VacuumDiode { anode, cathode, .. } => way(anode, cathode),
            Law::CurrentSource { from, to, amps } if amps < 0.0 => way(to, from),
            Law::CurrentSource { from, to, .. } => way(from, to),
            _ => {}
        }
    }
    ways
}

/// For each group whether it is held; elements of which a terminal is not are cut off.
fn hold(groups: &[usize], ways: &[OneWay], modes: &mut [Mode]) -> Vec<bool> {
    loop {
        let live: Vec<&OneWay> = ways.iter().filter(|way| modes[way.element] == Mode::Live).collect();
        let fed = reach(groups, live.iter().map(|way| (way.from, way.to)));
        let drawn = reach(groups, live.iter().map(|way| (way.to, way.from)));
        let held: Vec<bool> = fed.iter().zip(&drawn).map(|(fed, drawn)| *fed && *drawn).collect();
        // Each round cuts off at least one more, and what is cut off never comes back: the end does not depend on the
        // order.
        let mut settled = true;
        for way in live {
            // Within one group a current can circulate whether or not the group is held.
            if way.from != way.to && !(held[way.from] && held[way.to]) {
                modes[way.element] = Mode::CutOff;
                settled = false;
            }
        }
        if settled {
            return held;
        }
    }
}

/// Groups reached from the chassis along the ways.
fn reach(groups: &[usize], ways: impl Iterator<Item = (usize, usize)>) -> Vec<bool> {
    let ways: Vec<(usize, usize)> = ways.collect();
    // Rounds rather than a search with a queue: a handful of valves hold groups that resistors do not.
    let mut reached = vec![false; groups.len()];
    reached[groups[CHASSIS]] = true;
    loop {
        let mut grown = false;
        for &(from, to) in &ways {
            grown |= reached[from] && !reached[to];
            reached[to] |= reached[from];
        }
        if !grown {
            return reached;
        }
    }
}

/// Numbers the groups that are not held, in the order of their first nodes.
pub(crate) fn number(groups: &[usize], held: &[bool]) -> (Vec<u32>, Vec<Island>) {
    let mut number_of = vec![0; groups.len()];
    let mut islands: Vec<Island> = Vec::new();
    let mut island_of = vec![0; groups.len()];
    for (node, &group) in groups.iter().enumerate() {
        if held[group] {
            continue;
        }
        // Numbered by their first nodes, so that the order of elements in a document shows in no message.
        if number_of[group] == 0 {
            islands.push(Island { nodes: Vec::new() });
            number_of[group] = islands.len();
        }
        islands[number_of[group] - 1].nodes.push(node);
        island_of[node] = number_of[group] as u32;
    }
    (island_of, islands)
}
