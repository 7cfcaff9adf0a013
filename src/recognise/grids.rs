//! What stands before the grids: leaks, stoppers, and resistors that mix channels.

use std::collections::{BTreeSet, VecDeque};

use super::spell::Spot;
use super::view::{GROUND, Node, Step};
use super::work::{Electrode, Work};
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// A series resistor above this share of the leak behind it divides the signal rather than stops it
/// (2 dB; common practice).
pub(super) const DIVIDES: f64 = 0.25;
/// So many nodes are looked at for what feeds one: no signal runs through more between two valves, and longer walks from
/// each of them would take the square of it.
pub(super) const FURTHEST: usize = 256;
/// So many resistors in series are followed from a grid.
// Stopper, mixer, stopper: nothing is known with more before a leak.
const DEPTH: usize = 3;

/// Claims leaks, stoppers and mixers of every stage.
pub(super) fn claim(work: &mut Work) {
    mixers(work);
    for draft in 0..work.drafts.len() {
        for valve in work.drafts[draft].valves.clone() {
            grid(work, draft, valve);
        }
    }
}

/// Resistor chains out of a node, pots aside.
fn ways(work: &Work, node: Node) -> Vec<Vec<Step>> {
    let steps = work.view.steps_by(node, &[Flow::Resistive, Flow::Wound]);
    steps.into_iter().filter(|s| !s.arm.pot).map(|s| work.view.chain(s)).collect()
}

fn end(steps: &[Step]) -> Node {
    steps.last().map_or(GROUND, Step::end)
}

fn grid(work: &mut Work, draft: usize, valve: usize) {
    let pin = work.valves[valve].grid;
    let Some(node) = pin.node else { return };
    let leg = Spot::Leg(pin.leg);
    let mut at = node;
    let mut before: Vec<Step> = Vec::new();
    for depth in 0..DEPTH {
        let all: Vec<Vec<Step>> = ways(work, at)
            .into_iter()
            // Not back over what led here: the stopper is a way from its far end too.
            .filter(|w| !before.iter().any(|b| w.iter().any(|s| s.part() == b.part())))
            .collect();
        let (leaks, series): (Vec<_>, Vec<_>) = all.into_iter().partition(|w| leak_end(work, valve, end(w)));
        let series: Vec<_> = series.into_iter().filter(|w| onward(work, valve, end(w))).collect();
        for leak in &leaks {
            let steps: Vec<Step> = before.iter().chain(leak).copied().collect();
            let why = work.path(leg, &steps, Spot::Node(end(leak)));
            for step in leak {
                work.claim_for(step.part(), RoleKind::GridLeak, Some(draft), Some(pin.leg), why.clone());
            }
        }
        for way in &series {
            if depth == 0 {
                series_part(work, (draft, valve), way, &leaks);
            }
        }
        // Where several come in nothing says which of them the leak behind is of.
        let [only] = series.as_slice() else {
            if depth == 0 {
                for way in &series {
                    behind(work, (draft, valve), way);
                }
            }
            return;
        };
        // A grid has one leak: behind it, or past another electrode, leaks are another's.
        if !leaks.is_empty() || work.has_pins(end(only)) {
            return;
        }
        before.extend(only);
        at = end(only);
    }
}

/// A resistor in series with a grid: a stopper, unless it divides with a leak at the grid.
fn series_part(work: &mut Work, (draft, valve): (usize, usize), way: &[Step], leaks: &[Vec<Step>]) {
    let pin = work.valves[valve].grid;
    let ohms = |steps: &[Step]| steps.iter().map(|s| work.view.value(s.part())).sum::<Option<f64>>();
    let leak = leaks.iter().filter_map(|l| ohms(l)).fold(f64::INFINITY, f64::min);
    // With a leak behind the resistor (infinity here) it only stops; with one at the grid the two make a divider.
    let divides = ohms(way).is_some_and(|r| r >= DIVIDES * leak);
    let kind = if divides { RoleKind::Attenuator } else { RoleKind::GridStopper };
    let why = work.path_back(Spot::Leg(pin.leg), way, Spot::Node(end(way)));
    for step in way {
        work.claim_for(step.part(), kind, Some(draft), Some(pin.leg), why.clone());
    }
}

/// Leaks behind one of several stoppers: two input jacks on one grid.
fn behind(work: &mut Work, (draft, valve): (usize, usize), way: &[Step]) {
    let pin = work.valves[valve].grid;
    if work.has_pins(end(way)) || !has_jack(work, end(way)) {
        return;
    }
    let mut leaks = ways(work, end(way));
    leaks.retain(|w| leak_end(work, valve, end(w)));
    for leak in leaks {
        let steps: Vec<Step> = way.iter().chain(&leak).copied().collect();
        let why = work.path(Spot::Leg(pin.leg), &steps, Spot::Node(end(&leak)));
        for step in leak {
            work.claim_for(step.part(), RoleKind::GridLeak, Some(draft), Some(pin.leg), why.clone());
        }
    }
}

pub(super) fn has_jack(work: &Work, node: Node) -> bool {
    work.view.legs_at(node).iter().any(|l| work.kind(l.part) == Kind::Jack)
}

/// Whether a grid's direct path may end here: chassis, bias, its own cathode and what is beneath, a still node,
/// the other grid of its pair.
fn leak_end(work: &Work, valve: usize, node: Node) -> bool {
    let draft = work.draft_of(valve).map(|d| &work.drafts[d]);
    let own = work.valves[valve].cathode.node == Some(node)
        || draft.is_some_and(|d| d.rungs.iter().any(|s| s.end() == node));
    let partner = draft
        .is_some_and(|d| d.valves.iter().any(|v| *v != valve && work.valves[*v].grid.node == Some(node)));
    node == GROUND || work.bias.contains(&node) || own || partner
}

/// Whether a signal may come in from here; a resistor from the own plate is feedback.
fn onward(work: &Work, valve: usize, node: Node) -> bool {
    let own_plate = work.valves[valve].plate.node == Some(node);
    !work.boundary(node) && !own_plate && !work.has(node, Electrode::Cathode)
}

/// Resistors that meet in one node from different stages.
fn mixers(work: &mut Work) {
    let mut nodes: Vec<Node> = work.circuit().net_ids().map(|n| work.view.node_of(n)).collect();
    nodes.dedup();
    for node in nodes {
        if work.boundary(node) || work.has(node, Electrode::Plate) || !leads_to_grid(work, node) {
            continue;
        }
        let ways: Vec<Vec<Step>> = ways(work, node).into_iter().filter(|w| !work.boundary(end(w))).collect();
        let fed: Vec<(Vec<Step>, BTreeSet<usize>)> = ways
            .into_iter()
            .map(|w| (w.clone(), feeders(work, end(&w), node)))
            .filter(|f| !f.1.is_empty())
            .collect();
        let all: BTreeSet<&BTreeSet<usize>> = fed.iter().map(|f| &f.1).collect();
        // Two ways from one stage are a tone network or feedback, not a mixer.
        if fed.len() < 2 || all.len() < 2 {
            continue;
        }
        for (way, drafts) in &fed {
            let draft = drafts.iter().next().copied();
            let why = work.path_back(Spot::Node(node), way, Spot::Node(end(way)));
            for step in way {
                work.claim_for(step.part(), RoleKind::Mixer, draft, None, why.clone());
            }
        }
    }
}

/// Whether a grid sits in the node, or behind a resistor or capacitor from it.
fn leads_to_grid(work: &Work, node: Node) -> bool {
    work.has(node, Electrode::Grid)
        || work.signal_steps(node).iter().any(|s| work.has(s.end(), Electrode::Grid))
}

/// Stages whose signal reaches a node without passing `not`.
pub(super) fn feeders(work: &Work, node: Node, not: Node) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    let mut seen = BTreeSet::from([node, not]);
    let mut queue = VecDeque::from([node]);
    while let Some(at) = queue.pop_front().filter(|_| seen.len() < FURTHEST) {
        let drivers = work.drivers_at(at);
        // A grid ends the walk: behind it is another stage, which is fed by its own.
        if !drivers.is_empty() || work.has(at, Electrode::Grid) {
            found.extend(drivers);
            continue;
        }
        for step in work.signal_steps(at) {
            if seen.insert(step.end()) {
                queue.push_back(step.end());
            }
        }
    }
    found
}

/// All nodes that a stage's signal reaches: those of which [`feeders`] tells any.
pub(super) fn fed(work: &Work) -> BTreeSet<Node> {
    let drivers = work.drafts.iter().flat_map(|draft| &draft.outputs).copied();
    let mut queue: VecDeque<Node> = drivers.filter(|node| !work.speaker.contains(node)).collect();
    let mut fed: BTreeSet<Node> = queue.iter().copied().collect();
    while let Some(at) = queue.pop_front() {
        for step in work.signal_steps(at).into_iter().filter(|step| fed.insert(step.end())) {
            if !work.has(step.end(), Electrode::Grid) {
                queue.push_back(step.end());
            }
        }
    }
    fed
}
