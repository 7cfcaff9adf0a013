//! Which elements of a lowered circuit are a supply from the mains, and which of its rectifiers are in use.
//!
//! From every winding outwards, through resistances, chokes, capacitors and rectifiers, but not through chassis: to
//! nodes where no valve takes its signal. A node on which valves and output transformers draw belongs to it where a
//! filter capacitor stands there, or a rectifier ends there. Nodes that a `source` feeds do not, and a rectifier onto one of them is inert.

use std::collections::BTreeSet;

use petgraph::unionfind::UnionFind;

use super::primary::feeds;
use crate::circuit::types::TubeConstruction;
use crate::circuit::{Circuit, Part};
use crate::model::Kind;
use crate::numeric::dc::valve::THERMAL_VOLTS;
use crate::numeric::network::{CHASSIS, Law, Node};
use crate::numeric::time::rectifier::law::RectifierLaw;
use crate::numeric::time::rectifier::mesh::{Mesh, Piece};
use crate::solve::lower::Lowered;
use crate::solve::setup::Setup;

/// Capacitance that makes a node on which valves draw one of the filter's: common practice, no source.
const FILTER_FARADS: f64 = 0.8e-6;

/// A supply within a lowered circuit.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    /// The supply without what the rest draws from it.
    pub(super) mesh: Mesh,
    /// The element of each piece.
    pub(super) elements: Vec<usize>,
    /// For each node of the network its node of the mesh, where it has one; linked nodes share one.
    pub(super) place: Vec<Option<usize>>,
    /// Figures that had to be assumed.
    pub(super) assumed: Vec<String>,
    /// Parts that feed the mesh's transformers: index as in the mesh.
    pub(super) transformers: Vec<crate::circuit::PartId>,
}

/// Finds the supply of a circuit, `None` where it has none that runs from the mains.
pub(super) fn plan(circuit: &Circuit, setup: &Setup, lowered: &Lowered) -> Option<Plan> {
    if lowered.windings.is_empty() {
        return None;
    }
    let search = Search::new(circuit, lowered);
    let chosen = search.supply();
    if chosen.is_empty() {
        return None;
    }
    let (transformers, shares, assumed) = feeds(circuit, setup, lowered);
    let mut place: Vec<Option<usize>> = vec![None; lowered.network.nodes.len()];
    let mut mesh = Mesh { nodes: 1, hertz: hertz(circuit), transformers, pieces: Vec::new() };
    let mut number = vec![usize::MAX; place.len()];
    number[search.merged[CHASSIS]] = 0;
    let mut elements = Vec::new();
    for element in chosen {
        let (a, b) = search.ends(element)?;
        let mut at = |node: Node| {
            if number[node] == usize::MAX {
                number[node] = mesh.nodes;
                mesh.nodes += 1;
            }
            number[node]
        };
        let (a, b) = (at(a), at(b));
        if let Some(piece) = search.piece(element, (a, b), &shares) {
            mesh.pieces.push(piece);
            elements.push(element);
        }
    }
    for (node, place) in place.iter_mut().enumerate() {
        *place = Some(number[search.merged[node]]).filter(|at| *at != usize::MAX);
    }
    let parts = lowered.windings.iter().map(|section| section.part).collect::<BTreeSet<_>>();
    Some(Plan { mesh, elements, place, assumed, transformers: parts.into_iter().collect() })
}

fn hertz(circuit: &Circuit) -> f64 {
    circuit.mains.and_then(|mains| mains.hertz).unwrap_or(super::primary::USUAL_HERTZ)
}

/// What is known of the network while looking.
struct Search<'a> {
    lowered: &'a Lowered,
    /// For each node the one that stands for all it is linked to.
    merged: Vec<Node>,
    /// For each element the winding section that it is.
    section: Vec<Option<usize>>,
    /// Nodes that a supply may take in.
    eligible: Vec<bool>,
    /// Nodes that a source holds.
    fed: Vec<bool>,
}

impl<'a> Search<'a> {
    fn new(circuit: &Circuit, lowered: &'a Lowered) -> Self {
        let mut section = vec![None; lowered.network.elements.len()];
        for (index, of) in lowered.windings.iter().enumerate() {
            let mains = circuit.part(of.part).kind == Kind::MainsTransformer && of.volts > 0.0;
            section[of.element] = mains.then_some(index);
        }
        let mut union = UnionFind::<Node>::new(lowered.network.nodes.len());
        for (index, element) in lowered.network.elements.iter().enumerate() {
            if let Law::Resistor { a, b, ohms: 0.0 } = element.law
                && section[index].is_none()
            {
                union.union(a, b);
            }
        }
        let merged = union.into_labeling();
        let count = merged.len();
        let mut search =
            Self { lowered, merged, section, eligible: vec![true; count], fed: vec![false; count] };
        search.judge(circuit);
        search.find_fed(circuit);
        search
    }

    /// The merged ends of a two-ended element.
    fn ends(&self, element: usize) -> Option<(Node, Node)> {
        let (a, b) = match self.lowered.network.elements[element].law {
            Law::Resistor { a, b, .. } | Law::Capacitor { a, b, .. } | Law::Inductor { a, b, .. } => (a, b),
            Law::Diode { anode, cathode, .. }
            | Law::Zener { anode, cathode, .. }
            | Law::VacuumDiode { anode, cathode, .. } => (anode, cathode),
            _ => return None,
        };
        Some((self.merged[a], self.merged[b]))
    }

    /// Decides which nodes may be taken in.
    fn judge(&mut self, circuit: &Circuit) {
        let count = self.merged.len();
        let (mut drawn, mut farads) = (vec![false; count], vec![0.0; count]);
        let mut rectified = vec![false; count];
        for (index, element) in self.lowered.network.elements.iter().enumerate() {
            match element.law {
                Law::Capacitor { a, b, farads: value } => {
                    farads[self.merged[a]] += value;
                    farads[self.merged[b]] += value;
                }
                Law::VoltageSource { plus, minus, .. } => {
                    self.eligible[self.merged[plus]] = false;
                    self.eligible[self.merged[minus]] = false;
                }
                Law::Diode { anode: a, cathode: b, .. } | Law::VacuumDiode { anode: a, cathode: b, .. } => {
                    (rectified[self.merged[a]], rectified[self.merged[b]]) = (true, true);
                }
                Law::Windings { .. } | Law::CurrentSource { .. } => {
                    element.law.each_terminal(|node| drawn[self.merged[node]] = true);
                }
                _ => {}
            }
            if self.is_primary(circuit, index) {
                element.law.each_terminal(|node| self.eligible[self.merged[node]] = false);
            }
        }
        self.judge_valves(circuit, &mut drawn);
        for node in 0..count {
            self.eligible[node] &= !drawn[node] || rectified[node] || farads[node] >= FILTER_FARADS;
        }
        self.eligible[self.merged[CHASSIS]] = false;
    }

    /// Where valves sit that are no rectifiers, also such as are cold.
    fn judge_valves(&mut self, circuit: &Circuit, drawn: &mut [bool]) {
        let rectifies = |part: &Part| {
            let tube = part.component.body.type_name.as_deref().and_then(|name| circuit.types.tube(name));
            tube.is_some_and(|tube| tube.construction == TubeConstruction::Rectifier)
        };
        for part in circuit.parts.iter().filter(|part| part.kind == Kind::Tube && !rectifies(part)) {
            for leg in &part.legs {
                let Some(node) = leg.net.and_then(|net| self.lowered.node_of[net.0 as usize]) else {
                    continue;
                };
                match leg.name.rsplit('.').next() {
                    Some("grid" | "cathode") => self.eligible[self.merged[node]] = false,
                    Some("plate" | "screen") => drawn[self.merged[node]] = true,
                    _ => {}
                }
            }
        }
    }

    fn is_primary(&self, circuit: &Circuit, element: usize) -> bool {
        self.section[element].is_some_and(|index| {
            let of = self.lowered.windings[index];
            circuit.part(of.part).component.body.windings[of.winding].name.starts_with("primary")
        })
    }

    /// Spreads from sources through resistances.
    fn find_fed(&mut self, circuit: &Circuit) {
        let mut open: Vec<Node> = Vec::new();
        for (element, origin) in self.lowered.network.elements.iter().zip(&self.lowered.elements) {
            if origin.part.is_some_and(|part| circuit.part(part).kind == Kind::Source) {
                element.law.each_terminal(|node| open.push(self.merged[node]));
            }
        }
        let chassis = self.merged[CHASSIS];
        let conducts = |element: usize| {
            let law = &self.lowered.network.elements[element].law;
            matches!(law, Law::Resistor { .. } | Law::Inductor { .. }) && self.section[element].is_none()
        };
        let neighbours = self.neighbours(conducts);
        while let Some(node) = open.pop() {
            if node != chassis && !self.fed[node] {
                self.fed[node] = true;
                open.extend(neighbours[node].iter().map(|(_, to)| *to).filter(|to| self.eligible[*to]));
            }
        }
    }

    /// For each node its elements of a kind, each with the node at its other end.
    fn neighbours(&self, of: impl Fn(usize) -> bool) -> Vec<Vec<(usize, Node)>> {
        let mut neighbours = vec![Vec::new(); self.merged.len()];
        for element in 0..self.lowered.network.elements.len() {
            if let Some((a, b)) = self.ends(element).filter(|(a, b)| a != b && of(element)) {
                neighbours[a].push((element, b));
                neighbours[b].push((element, a));
            }
        }
        neighbours
    }

    /// The elements of every group with a winding and a rectifier, in order.
    fn supply(&self) -> Vec<usize> {
        let takes = |node: Node| self.eligible[node] && !self.fed[node];
        let chassis = self.merged[CHASSIS];
        let within = |element: usize| {
            let inside = |node: Node| node == chassis || takes(node);
            self.ends(element).is_some_and(|(a, b)| inside(a) && inside(b))
        };
        let neighbours = self.neighbours(within);
        let mut seen = vec![false; self.merged.len()];
        seen[chassis] = true;
        let mut chosen = BTreeSet::new();
        for start in self.section.iter().enumerate().filter(|(_, s)| s.is_some()).map(|(element, _)| element)
        {
            let Some((a, b)) = self.ends(start).filter(|_| within(start)) else { continue };
            let mut group = BTreeSet::new();
            let mut open = vec![a, b];
            while let Some(node) = open.pop() {
                if !std::mem::replace(&mut seen[node], true) {
                    group.extend(neighbours[node].iter().map(|(element, _)| *element));
                    open.extend(neighbours[node].iter().map(|(_, to)| *to));
                }
            }
            if group.iter().any(|element| self.rectifies(*element)) {
                chosen.extend(group);
            }
        }
        self.prune(chosen)
    }

    fn rectifies(&self, element: usize) -> bool {
        let law = &self.lowered.network.elements[element].law;
        matches!(law, Law::Diode { .. } | Law::Zener { .. } | Law::VacuumDiode { .. })
    }

    /// Leaves out what hangs on by one end, and a capacitor whose other end nothing else of the supply holds: it couples
    /// a signal, and its volts there are set outside.
    fn prune(&self, mut chosen: BTreeSet<usize>) -> Vec<usize> {
        let mut others = vec![false; self.merged.len()];
        for (index, element) in self.lowered.network.elements.iter().enumerate() {
            if !chosen.contains(&index) && self.ends(index).is_none_or(|(a, b)| a != b) {
                element.law.each_terminal(|node| others[self.merged[node]] = true);
            }
        }
        // Each pass takes out one element at least.
        loop {
            let mut count = vec![0; self.merged.len()];
            let ends: Vec<(usize, (Node, Node))> =
                chosen.iter().filter_map(|element| Some((*element, self.ends(*element)?))).collect();
            for (_, (a, b)) in &ends {
                count[*a] += 1;
                count[*b] += 1;
            }
            let elements = &self.lowered.network.elements;
            let couples = |element: usize| matches!(elements[element].law, Law::Capacitor { .. });
            let loose = |element: usize, node: Node| {
                node != self.merged[CHASSIS] && count[node] == 1 && (!others[node] || couples(element))
            };
            let hanging = ends.iter().filter(|(at, (a, b))| loose(*at, *a) || loose(*at, *b));
            let hanging: Vec<usize> = hanging.map(|(element, _)| *element).collect();
            if hanging.is_empty() {
                return chosen.into_iter().collect();
            }
            for element in hanging {
                chosen.remove(&element);
            }
        }
    }

    /// An element as a piece between two nodes of the mesh.
    fn piece(&self, element: usize, (a, b): (usize, usize), shares: &[(usize, f64)]) -> Option<Piece> {
        let junction = |saturation_amps, emission: f64| (saturation_amps, emission * THERMAL_VOLTS);
        let law = match self.lowered.network.elements[element].law {
            Law::Resistor { ohms, .. } => {
                return Some(match self.section[element] {
                    Some(section) => {
                        let (transformer, ratio) = shares[section];
                        Piece::Winding { a, b, ohms, ratio, transformer }
                    }
                    None => Piece::Resistor { a, b, ohms },
                });
            }
            Law::Capacitor { farads, .. } if farads > 0.0 => return Some(Piece::Capacitor { a, b, farads }),
            Law::Inductor { henries, ohms, .. } if henries > 0.0 => {
                return Some(Piece::Inductor { a, b, henries, ohms });
            }
            Law::Inductor { ohms, .. } if ohms > 0.0 => return Some(Piece::Resistor { a, b, ohms }),
            Law::VacuumDiode { perveance, .. } => RectifierLaw::Vacuum { perveance },
            Law::Diode { saturation_amps, emission, .. } => {
                let (saturation_amps, thermal_volts) = junction(saturation_amps, emission);
                RectifierLaw::Junction { saturation_amps, thermal_volts }
            }
            Law::Zener { saturation_amps, emission, zener_volts, zener_ohms, .. } => {
                let (saturation_amps, thermal_volts) = junction(saturation_amps, emission);
                RectifierLaw::Zener { saturation_amps, thermal_volts, zener_volts, zener_ohms }
            }
            _ => return None,
        };
        Some(Piece::Rectifier { anode: a, cathode: b, law })
    }
}
