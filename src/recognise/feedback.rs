//! Feedback from the output transformer's secondary to an earlier stage, with its presence network.

use std::collections::{BTreeMap, BTreeSet};

use super::spell::Spot;
use super::stages::taps;
use super::view::{GROUND, Node, Step};
use super::work::{Electrode, Work};
use crate::circuit::PartId;
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// A feedback path has at most so many parts.
// Resistor, control and a presence network come to four or five parts; longer ways go through other circuits.
const LONGEST: usize = 6;
/// So many steps are tried from one node: any real network takes far fewer, and a mesh must not hang.
const MOST_STEPS: usize = 20_000;

/// Claims the feedback's parts and marks its nodes as still.
pub(super) fn claim(work: &mut Work) {
    for transformer in work.view.parts_of_kind(Kind::OutputTransformer) {
        work.speaker.extend(taps(work, transformer));
    }
    let landings = landings(work);
    let mut paths = Vec::new();
    for node in work.speaker.clone() {
        let mut seeking = Seeking { landings: &landings, way: Vec::new(), found: Vec::new(), steps: 0 };
        seeking.seek(work, node);
        paths.extend(seeking.found);
    }
    let mut nodes: BTreeMap<Node, usize> = BTreeMap::new();
    for steps in &paths {
        let (Some(first), Some(last)) = (steps.first(), steps.last()) else { continue };
        let draft = landings[&last.end()];
        let from = if first.back { first.arm.to } else { first.arm.from };
        let why = work.path(Spot::Node(from), steps, Spot::Node(last.end()));
        for step in steps {
            let kind = match (step.arm.pot, step.arm.flow) {
                (true, _) => RoleKind::PresenceControl,
                (_, Flow::Capacitive) => RoleKind::FeedbackCapacitor,
                _ => RoleKind::FeedbackResistor,
            };
            work.claim_for(step.part(), kind, Some(draft), None, why.clone());
            nodes.entry(step.end()).or_insert(draft);
        }
    }
    nodes.retain(|n, _| *n != GROUND);
    for (node, draft) in &nodes {
        presence(work, *node, *draft);
    }
    // At a grid the feedback has arrived: marked as still, the stage would have no input.
    nodes.retain(|n, _| !work.has(*n, Electrode::Grid));
    work.still.extend(nodes.into_keys());
    dead_ends(work);
}

/// Where feedback may land: cathodes and what is beneath them, grids, the foot of an inverter's grid capacitor.
fn landings(work: &Work) -> BTreeMap<Node, usize> {
    let mut landings = BTreeMap::new();
    for (index, draft) in work.drafts.iter().enumerate().filter(|(_, d)| !d.kind.is_output()) {
        let mut nodes: Vec<Node> = draft.rungs.iter().map(Step::end).collect();
        for valve in &draft.valves {
            nodes.extend(work.valves[*valve].cathode.node);
            nodes.extend(work.valves[*valve].grid.node);
        }
        for (part, claim) in &work.claims {
            let ours = claim
                .electrode
                .is_some_and(|leg| draft.valves.iter().any(|v| work.valves[*v].grid.leg == leg));
            if claim.kind == RoleKind::InverterGridCapacitor && ours {
                nodes
                    .extend(work.view.arms().iter().filter(|a| a.part == *part).flat_map(|a| [a.from, a.to]));
            }
        }
        for node in nodes {
            // A cathode at chassis takes no feedback; a follower's plate is a rail.
            if !work.quiet(node) && !work.has(node, Electrode::Plate) {
                landings.entry(node).or_insert(index);
            }
        }
    }
    landings
}

/// A search of all ways from the secondary to a landing.
struct Seeking<'a> {
    landings: &'a BTreeMap<Node, usize>,
    way: Vec<Step>,
    found: Vec<Vec<Step>>,
    steps: usize,
}

impl Seeking<'_> {
    fn seek(&mut self, work: &Work, node: Node) {
        for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Capacitive]) {
            let end = step.end();
            // All ways, not only the shortest: a capacitor beside the resistor and a second one in series are
            // feedback too.
            let turned = self.way.iter().any(|s| s.part() == step.part() || s.end() == end);
            self.steps += 1;
            let closed = work.quiet(end) || work.speaker.contains(&end) || work.ac.contains(&end);
            if turned || closed || self.steps > MOST_STEPS {
                continue;
            }
            self.way.push(step);
            if self.landings.contains_key(&end) {
                self.found.push(self.way.clone());
            // Past another valve's electrode it would be a path through a stage, not a network.
            } else if !work.has_pins(end) && self.way.len() < LONGEST {
                self.seek(work, end);
            }
            self.way.pop();
        }
    }
}

/// Controls, capacitors and shunts at a node of the feedback network.
fn presence(work: &mut Work, node: Node, draft: usize) {
    let pinned = work.has_pins(node);
    let pots: BTreeSet<PartId> = controls(work, node);
    for pot in &pots {
        let why = format!("{} — {}", work.node_name(node), work.circuit().part(*pot).name);
        work.claim_for(*pot, RoleKind::PresenceControl, Some(draft), None, why);
    }
    let mut nodes = BTreeSet::from([node]);
    for arm in work.view.arms().iter().filter(|a| pots.contains(&a.part)) {
        nodes.extend([arm.from, arm.to].into_iter().filter(|n| *n != GROUND && !work.has_pins(*n)));
    }
    for near in nodes.clone() {
        if near == node && pinned {
            continue;
        }
        for step in work.view.steps_by(near, &[Flow::Capacitive, Flow::Resistive]) {
            let end = step.end();
            let inner = end == GROUND || nodes.contains(&end);
            let why = work.path(Spot::Node(near), &[step], Spot::Node(end));
            match step.arm.flow {
                Flow::Capacitive if inner || !controls(work, end).is_empty() => {
                    work.claim_for(step.part(), RoleKind::PresenceCapacitor, Some(draft), None, why);
                }
                Flow::Resistive if end == GROUND && !step.arm.pot => {
                    work.claim_for(step.part(), RoleKind::FeedbackShunt, Some(draft), None, why);
                }
                _ => {}
            }
        }
    }
    nodes.retain(|n| !work.has_pins(*n));
    work.still.extend(nodes);
}

/// Pots with a leg in the node, or behind one capacitor from it.
fn controls(work: &Work, node: Node) -> BTreeSet<PartId> {
    let pots = |n: Node| work.view.steps(n).into_iter().filter(|s| s.arm.pot).map(|s| s.part());
    let behind = work.view.steps_by(node, &[Flow::Capacitive]).into_iter().map(|s| s.end());
    let behind = behind.filter(|n| *n != GROUND && !work.has_pins(*n) && !work.quiet(*n));
    pots(node).chain(behind.flat_map(pots)).collect()
}

/// What only loads or damps the secondary.
fn dead_ends(work: &mut Work) {
    for node in work.speaker.clone() {
        for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Capacitive]) {
            let why = work.path(Spot::Node(node), &[step], Spot::Node(step.end()));
            if step.end() == GROUND || work.speaker.contains(&step.end()) {
                let kind =
                    if step.arm.flow == Flow::Resistive { RoleKind::LoadResistor } else { RoleKind::Snubber };
                work.claim(step.part(), kind, why);
                continue;
            }
            let next = work.view.steps_by(step.end(), &[Flow::Resistive, Flow::Capacitive]);
            // A Zobel network either way round: resistor and capacitor in series across the secondary.
            let other = next.iter().find(|s| s.end() == GROUND && s.arm.flow != step.arm.flow);
            if let (2, Some(other)) = (next.len(), other) {
                let why = work.path(Spot::Node(node), &[step, *other], Spot::Node(GROUND));
                work.claim(step.part(), RoleKind::Snubber, why.clone());
                work.claim(other.part(), RoleKind::Snubber, why);
            }
        }
    }
}
