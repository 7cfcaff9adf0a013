//! What the pins of a plug hold two seconds after it is pulled.
//!
//! Pulled at the mains' peak, with its neutral at earth: from then on capacitors discharge through what joins them.
//!
//! ```text
//! 0.47 µF across the mains with 1 MΩ beside it, pulled at 325 V:
//! pull      τ = 0.47 s: after 2 s 325 · e^(−4.26) = 4.6 V
//! one step  of 2 s / 2²² by backward Euler, its matrix squared 22 times: 2²² steps
//! twice     the same with 2²³ steps; 2·second − first takes the error of the step's length away
//! without the resistor 325 V stay: 25 mJ, told
//! ```

use std::collections::{BTreeMap, BTreeSet};

use num_complex::Complex64;

use super::evaluate::Question;
use super::rig::Rig;
use super::situation::{Situation, Supply};
use super::{Route, assumed_mains, within_reach};
use crate::circuit::{Circuit, PartId};
use crate::model::Kind;
use crate::numeric::ac::linearised::{Drive, Linearised};
use crate::numeric::network::{Law, Network, Node};
use crate::numeric::outcome::Unsolved;

/// Seconds after pulling the plug: IEC 62368-1 clause 5.5.2.2, from memory; IEC 60065 clause 9.1.6 likewise.
pub const PLUG_SECONDS: f64 = 2.0;
/// Below this, what is between two pins is charged to less than harm whatever its volts, F: IEC 62368-1 table 5, from
/// memory.
pub const PLUG_FARADS: f64 = 300e-9;
/// Pairs of pins.
const PAIRS: [[&str; 2]; 3] = [["live", "neutral"], ["live", "earth"], ["neutral", "earth"]];
/// The step is this power of two of the time: the first order's error and, by the next step, its square are left.
const HALVINGS: u32 = 22;
/// More nodes on the mains side than this are not followed.
// Full matrices, squared two dozen times: cubic in the nodes; a mains side has a dozen.
const MOST_NODES: usize = 60;
/// Keeps a winding without resistance from being a short for arithmetic; what is no more joins its ends for good.
const LEAST_OHMS: f64 = 1e-3;

/// Between two pins of a plug.
#[derive(Debug, Clone, PartialEq)]
pub struct PlugCharge {
    /// The inlet.
    pub inlet: PartId,
    /// `live`, `neutral`, `earth`.
    pub pins: [&'static str; 2],
    /// Volts left.
    pub volts: f64,
    /// Capacity between them.
    pub farads: f64,
    /// Energy left, J.
    pub joules: f64,
    /// "S1 at off", or nothing.
    pub state: String,
    /// What it takes for granted of the mains because the document doesn't say it.
    pub assumed: Option<String>,
    /// Capacitors that hold it, the largest first.
    pub capacitors: Vec<PartId>,
}

impl PlugCharge {
    /// Between which pins, with which switch where, and what is assumed: "live and neutral, S1 at off".
    pub fn between(&self) -> String {
        let state = if self.state.is_empty() { String::new() } else { format!(", {}", self.state) };
        let assumed = self.assumed.as_ref().map_or(String::new(), |assumed| format!(" ({assumed})"));
        format!("{} and {}{state}{assumed}", self.pins[0], self.pins[1])
    }
}

/// What is known of a pulled plug.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PulledPlug {
    /// Between every two pins that a capacitor joins.
    pub charges: Vec<PlugCharge>,
    /// A case that could not be worked out, and why: nothing is known to be harmless.
    pub unjudged: Option<String>,
}

/// What is left between every two pins that a capacitor joins, in the worst position of all switches.
pub fn plug_charge(circuit: &Circuit) -> PulledPlug {
    let inlets: Vec<PartId> = circuit
        .part_ids()
        .filter(|id| circuit.part(*id).kind == Kind::Inlet && circuit.part(*id).fitted())
        .collect();
    let reach = within_reach(circuit);
    let question = Question { circuit, reach: &reach, removed: BTreeSet::new(), only: None };
    let mut worst: BTreeMap<(PartId, usize), PlugCharge> = BTreeMap::new();
    let mut unjudged = None;
    for situation in Situation::all(circuit).into_iter().filter(|s| !s.plugged) {
        // A plug fits both ways round in most of Europe; which pole the neutral's capacitor is on then decides.
        for exchanged in [false, true] {
            let rig = question.mains(&situation, Supply { earth: true, exchanged });
            let state = situation.told(circuit).join(", ");
            for inlet in &inlets {
                let left = left(circuit, &rig, *inlet).unwrap_or_else(|why| {
                    let at = if state.is_empty() { String::new() } else { format!("with {state}: ") };
                    unjudged.get_or_insert(format!("what the plug keeps can't be worked out: {at}{why}"));
                    Vec::new()
                });
                for (pair, charge) in left {
                    let found = PlugCharge { state: state.clone(), ..charge };
                    let known = worst.get(&(*inlet, pair));
                    // Ties keep the first situation, which is the plain one.
                    if known.is_none_or(|k| found.joules > k.joules) {
                        worst.insert((*inlet, pair), found);
                    }
                }
            }
        }
    }
    PulledPlug { charges: worst.into_values().collect(), unjudged }
}

/// Between the pins of one inlet, from where a network stands when its mains is at the peak.
fn left(circuit: &Circuit, rig: &Rig, inlet: PartId) -> Result<Vec<(usize, PlugCharge)>, String> {
    let groups = rig.groups(Route::Mains, &[rig.chassis()]);
    let part = circuit.part(inlet);
    let node = |leg: &str| {
        let net = part.leg_index(leg).and_then(|i| part.legs[i].net)?;
        rig.node_of[net.0 as usize].filter(|_| leg != "earth" || !part.component.body.two_core)
    };
    let pins: Vec<(&str, Node)> =
        ["live", "neutral", "earth"].into_iter().filter_map(|leg| Some((leg, node(leg)?))).collect();
    let on: BTreeSet<usize> =
        pins.iter().filter(|(leg, _)| *leg != "earth").map(|(_, n)| groups[*n]).collect();
    let here = |node: Node| node == rig.chassis() || on.contains(&groups[node]);
    let mut mains = Network::new();
    mains.nodes.clone_from(&rig.network.nodes);
    let mut capacitors: Vec<(PartId, f64)> = Vec::new();
    for (element, part) in rig.network.elements.iter().zip(&rig.part_of) {
        let outside = element.law.terminals().into_iter().any(|n| n == 0 || !here(n));
        let between = element.law.terminals().into_iter().any(|n| n != rig.chassis());
        if outside || !between {
            continue;
        }
        passive(&element.law, |law| {
            if let (Law::Capacitor { farads, .. }, Some(part)) = (&law, part) {
                capacitors.push((*part, *farads));
            }
            mains.add("", law);
        });
    }
    if capacitors.is_empty() {
        return Ok(Vec::new());
    }
    capacitors.sort_by(|x, y| y.1.total_cmp(&x.1).then(x.0.cmp(&y.0)));
    // The instant of pulling is any: the peak is the worst.
    let start = at_the_peak(rig).map_err(|why| why.to_string())?;
    let volts = after_pulling(&mains, &start, PLUG_SECONDS)?;
    let mut found = Vec::new();
    for (index, names) in PAIRS.iter().enumerate() {
        let at = |name: &str| pins.iter().find(|(leg, _)| *leg == name).map(|(_, n)| *n);
        let [Some(a), Some(b)] = names.map(at) else { continue };
        let farads = capacity(&mains, rig.hertz, (a, b)).map_err(|why| why.to_string())?;
        // Pins that nothing joins hold nothing between them.
        let Some(farads) = farads else { continue };
        let volts = (volts[a] - volts[b]).abs();
        let charge = PlugCharge {
            inlet,
            pins: *names,
            volts,
            farads,
            joules: 0.5 * farads * volts * volts,
            state: String::new(),
            assumed: assumed_mains(circuit, Route::Mains),
            capacitors: capacitors.iter().map(|(part, _)| *part).collect(),
        };
        found.push((index, charge));
    }
    Ok(found)
}

/// What an element is to direct current and to charge.
fn passive(law: &Law, mut take: impl FnMut(Law)) {
    match *law {
        Law::Resistor { .. } | Law::Capacitor { .. } => take(law.clone()),
        Law::Inductor { a, b, ohms, .. } => take(Law::Resistor { a, b, ohms: ohms.max(LEAST_OHMS) }),
        Law::Windings { ref windings, .. } => {
            for winding in windings {
                take(Law::Resistor { a: winding.a, b: winding.b, ohms: winding.ohms.max(LEAST_OHMS) });
            }
        }
        _ => {}
    }
}

/// Volts of every node when line stands at its peak.
fn at_the_peak(rig: &Rig) -> Result<Vec<f64>, Unsolved> {
    let mut equations = Linearised::passive(&rig.network, Drive::Sources)?;
    equations.tune(rig.hertz)?;
    equations.excite()?;
    let volts = |node| equations.phasor(node).map_or(0.0, |volts: Complex64| volts.re);
    Ok((0..rig.network.nodes.len()).map(|node| std::f64::consts::SQRT_2 * volts(node)).collect())
}

/// Capacity between two nodes as alternating current of some hertz meets it; `None` where nothing joins them.
pub fn capacity(network: &Network, hertz: f64, (a, b): (Node, Node)) -> Result<Option<f64>, Unsolved> {
    let mut equations = Linearised::passive(network, Drive::Sources)?;
    equations.tune(hertz)?;
    equations.inject(&[(a, 1.0), (b, -1.0)])?;
    let farads = |impedance: Complex64| ((1.0 / impedance).im / (std::f64::consts::TAU * hertz)).max(0.0);
    Ok(equations.phasor_between(a, b).map(farads))
}

/// Volts of every node of a network of resistors and capacitors some seconds after it was left to itself, from the volts
/// it had; nodes that nothing joins to a capacitor keep theirs. Why not, where it is too large.
pub fn after_pulling(network: &Network, start: &[f64], seconds: f64) -> Result<Vec<f64>, String> {
    let (network, at, start) = &without_joints(network, start);
    let mut volts = start.clone();
    let islands = islands(network);
    if islands.iter().any(|island| island.len() > MOST_NODES) {
        return Err(format!("more than {MOST_NODES} nets on the mains side"));
    }
    for island in islands {
        let index: BTreeMap<Node, usize> = island.iter().enumerate().map(|(i, node)| (*node, i)).collect();
        let first: Vec<f64> = island.iter().map(|node| start[*node] - start[island[0]]).collect();
        // Volts are told from the island's first node; Richardson's step takes the first order's error away.
        let [once, twice] = [HALVINGS, HALVINGS + 1].map(|n| fallen(network, &index, &first, (seconds, n)));
        let (Some(once), Some(twice)) = (once, twice) else {
            return Err(format!("nothing determines {}", network.nodes[island[0]]));
        };
        for ((node, once), twice) in island.iter().zip(once).zip(twice) {
            volts[*node] = start[island[0]] + 2.0 * twice - once;
        }
    }
    Ok(at.iter().map(|node| volts[*node]).collect())
}

/// A network in which nodes that [`LEAST_OHMS`] join are one, where each node is in it, and its volts with the charge that
/// it had. Beside such a joint's conductance what picofarads hold over a step would be lost to rounding.
fn without_joints(network: &Network, start: &[f64]) -> (Network, Vec<Node>, Vec<f64>) {
    let mut union = petgraph::unionfind::UnionFind::<usize>::new(network.nodes.len());
    let mut farads = vec![0.0; network.nodes.len()];
    for element in &network.elements {
        match element.law {
            Law::Resistor { a, b, ohms } if ohms <= LEAST_OHMS => drop(union.union(a, b)),
            Law::Capacitor { a, b, farads: size } => [a, b].into_iter().for_each(|node| farads[node] += size),
            _ => {}
        }
    }
    let at = union.into_labeling();
    let mut sums = vec![(0.0, 0.0); at.len()];
    for (node, group) in at.iter().enumerate() {
        sums[*group].0 += farads[node] * start[node];
        sums[*group].1 += farads[node];
    }
    let volts = |(group, (charge, farads)): (usize, &(f64, f64))| {
        // Charge is what stays when two nodes become one, not volts.
        if *farads > 0.0 { charge / farads } else { start[group] }
    };
    let mut joined = Network::new();
    joined.nodes.clone_from(&network.nodes);
    for element in &network.elements {
        let law = match element.law {
            Law::Resistor { a, b, ohms } => Law::Resistor { a: at[a], b: at[b], ohms },
            Law::Capacitor { a, b, farads } => Law::Capacitor { a: at[a], b: at[b], farads },
            _ => continue,
        };
        let ends = law.terminals();
        if ends[0] != ends[1] {
            joined.add("", law);
        }
    }
    let start = sums.iter().enumerate().map(volts).collect();
    (joined, at, start)
}

/// Nodes that elements join, the lowest of each group first; nodes alone aside.
fn islands(network: &Network) -> Vec<Vec<Node>> {
    let mut union = petgraph::unionfind::UnionFind::<usize>::new(network.nodes.len());
    for element in &network.elements {
        let ends = element.law.terminals();
        ends.windows(2).for_each(|pair| {
            union.union(pair[0], pair[1]);
        });
    }
    let mut groups: BTreeMap<usize, Vec<Node>> = BTreeMap::new();
    for node in 0..network.nodes.len() {
        groups.entry(union.find(node)).or_default().push(node);
    }
    groups.into_values().filter(|group| group.len() > 1).collect()
}

/// Backward Euler in 2ⁿ equal steps: the matrix of one step squared n times.
fn fallen(
    network: &Network,
    index: &BTreeMap<Node, usize>,
    first: &[f64],
    (seconds, halvings): (f64, u32),
) -> Option<Vec<f64>> {
    let n = index.len() - 1;
    let step = seconds / libm::exp2(f64::from(halvings));
    let (mut left, mut right) = (vec![vec![0.0; n]; n], vec![vec![0.0; n]; n]);
    for element in &network.elements {
        let (a, b, held, kept) = match element.law {
            Law::Resistor { a, b, ohms } => (a, b, 1.0 / ohms, 0.0),
            Law::Capacitor { a, b, farads } => (a, b, farads / step, farads / step),
            _ => continue,
        };
        let (Some(a), Some(b)) = (index.get(&a), index.get(&b)) else { continue };
        stamp(&mut left, (*a, *b), held);
        stamp(&mut right, (*a, *b), kept);
    }
    let mut power = solved(left, right)?;
    for _ in 0..halvings {
        power = product(&power, &power);
    }
    let after = power.iter().map(|row| row.iter().zip(&first[1..]).map(|(p, v)| p * v).sum());
    Some(std::iter::once(0.0).chain(after).collect())
}

/// Adds a conductance; the first node is the reference and has no row.
fn stamp(matrix: &mut [Vec<f64>], (a, b): (usize, usize), siemens: f64) {
    for (row, column, sign) in [(a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0)] {
        if row > 0 && column > 0 {
            matrix[row - 1][column - 1] += sign * siemens;
        }
    }
}

/// `left⁻¹·right` by elimination with partial pivoting.
fn solved(mut left: Vec<Vec<f64>>, mut right: Vec<Vec<f64>>) -> Option<Vec<Vec<f64>>> {
    let n = left.len();
    for pivot in 0..n {
        let best = (pivot..n).max_by(|x, y| left[*x][pivot].abs().total_cmp(&left[*y][pivot].abs()))?;
        left.swap(pivot, best);
        right.swap(pivot, best);
        if left[pivot][pivot] == 0.0 {
            return None;
        }
        let (row, across) = (left[pivot].clone(), right[pivot].clone());
        for other in (0..n).filter(|other| *other != pivot) {
            let factor = left[other][pivot] / row[pivot];
            if factor != 0.0 {
                left[other].iter_mut().zip(&row).for_each(|(x, y)| *x -= factor * y);
                right[other].iter_mut().zip(&across).for_each(|(x, y)| *x -= factor * y);
            }
        }
    }
    for (row, across) in left.iter().enumerate().map(|(i, row)| row[i]).zip(&mut right) {
        for x in across.iter_mut() {
            *x /= row;
        }
    }
    Some(right)
}

fn product(a: &[Vec<f64>], b: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = a.len();
    let row = |row: &Vec<f64>| (0..n).map(|j| (0..n).map(|k| row[k] * b[k][j]).sum()).collect();
    a.iter().map(row).collect()
}
