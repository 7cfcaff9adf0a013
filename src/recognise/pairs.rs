//! Long-tailed pairs: two sections whose cathodes meet over a tail, the second grid still but for feedback.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::recognised::StageKind;
use super::spell::Spot;
use super::stages::{cathode_rungs, free, ohms, plate_load, taps};
use super::view::{GROUND, Node, Step};
use super::work::{Draft, Work};
use crate::circuit::LegId;
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// Cathodes of a pair may be joined over resistors up to this (common practice).
const PAIR_OHMS: f64 = 2200.0;
/// So many cathodes at one node are looked at for pairs.
// A node with more is chassis by another name or a bank of output valves, and each two of them would be tried.
const MOST_CATHODES: usize = 8;
/// A tail is at least this (common practice).
const TAIL_OHMS: f64 = 1000.0;
/// A divider from the speaker to a pair's second grid has at most so many parts in series.
const LONGEST_DIVIDER: usize = 4;

/// Finds them among sections whose cathodes are near one node.
pub(super) fn find(work: &mut Work) {
    let mut near: BTreeMap<Node, Vec<usize>> = BTreeMap::new();
    for (index, valve) in work.valves.iter().enumerate() {
        for node in valve.cathode.node.map(|k| near_cathode(work, k)).unwrap_or_default() {
            near.entry(node).or_default().push(index);
        }
    }
    // A pair has two sections; a node with many cathodes is no tail.
    let groups = near.into_iter().filter(|(node, group)| *node != GROUND && group.len() <= MOST_CATHODES);
    let both = |g: Vec<usize>| g.iter().flat_map(|a| g.iter().map(|b| (*a, *b))).collect::<Vec<_>>();
    let candidates: BTreeSet<(usize, usize)> =
        groups.flat_map(|(_, g)| both(g)).filter(|(a, b)| a != b).collect();
    for (a, b) in candidates {
        if free(work, a)
            && free(work, b)
            && let Some(draft) = pair(work, a, b)
        {
            work.drafts.push(draft);
        }
    }
}

/// A cathode's node, and those one small resistor away.
fn near_cathode(work: &Work, node: Node) -> BTreeSet<Node> {
    let small = |s: &Step| work.view.value(s.part()).is_some_and(|r| r <= PAIR_OHMS);
    let ways = work.view.steps_by(node, &[Flow::Resistive]);
    ways.into_iter().filter(small).map(|s| s.end()).filter(|n| !work.quiet(*n)).chain([node]).collect()
}

/// A pair whose signal enters at `a` and whose second grid, of `b`, is at signal ground.
fn pair(work: &mut Work, a: usize, b: usize) -> Option<Draft> {
    let (first, second) = (&work.valves[a], &work.valves[b]);
    let tail = common_tail(work, first.cathode.node?, second.cathode.node?)?;
    // Grids or plates in common: two sections in parallel, no pair.
    let apart = first.grid.node != second.grid.node && first.plate.node != second.plate.node;
    let loads = [first, second].map(|v| v.plate.node.and_then(|p| plate_load(work, p)));
    // A capacitor over the tail holds the cathodes still: two stages with a common bias, no pair.
    let bypassed = work
        .view
        .steps_by(tail, &[Flow::Capacitive])
        .iter()
        .any(|s| s.end() == GROUND && work.is_big(s.part()));
    let rungs = cathode_rungs(work, tail)?;
    // A value that is not known is taken for long: a pair of missing value keeps its name.
    let long = ohms(work, &rungs).is_none_or(|r| r >= TAIL_OHMS);
    let grounded = still_grid(work, b, &rungs)?;
    // Both orders of the two are tried; only the one with the live grid first is a pair.
    let signal = still_grid(work, a, &rungs).is_none();
    if !(apart && long && signal && !bypassed && loads.iter().any(Option::is_some)) {
        return None;
    }
    let outputs = [first, second].iter().filter_map(|v| v.plate.node).collect();
    let (k1, k2) = (first.cathode.leg, second.cathode.leg);
    let why = format!(
        "{}, {}; {}",
        work.circuit().leg_name(k1),
        work.path(Spot::Leg(k2), &rungs, Spot::Node(rungs.last().map_or(GROUND, Step::end))),
        grounded.1
    );
    for step in grounded.0 {
        let leg = work.valves[b].grid.leg;
        work.claim_for(step.part(), RoleKind::InverterGridCapacitor, None, Some(leg), grounded.1.clone());
    }
    Some(Draft { kind: StageKind::LongTailedPair, valves: vec![a, b], outputs, rungs, why })
}

/// The node where two cathodes meet, at once or over small resistors.
fn common_tail(work: &Work, a: Node, b: Node) -> Option<Node> {
    if a == b {
        return (a != GROUND).then_some(a);
    }
    near_cathode(work, a).intersection(&near_cathode(work, b)).next().copied()
}

/// What holds a pair's second grid still but for feedback, with its text: chassis, a capacitor, or a network that no
/// signal enters but the speaker's.
fn still_grid(work: &Work, valve: usize, rungs: &[Step]) -> Option<(Vec<Step>, String)> {
    grounded_grid(work, valve, rungs).or_else(|| Some((Vec::new(), fed_back_grid(work, valve, rungs)?)))
}

/// The way from a grid to the speaker, or else to its reference, where every way from it ends at one of these.
fn fed_back_grid(work: &Work, valve: usize, rungs: &[Step]) -> Option<String> {
    let grid = work.valves[valve].grid;
    let transformers = work.view.parts_of_kind(Kind::OutputTransformer);
    let secondary: BTreeSet<Node> = transformers.into_iter().flat_map(|t| taps(work, t)).collect();
    let closed = |n: Node| work.quiet(n) || secondary.contains(&n) || rungs.iter().any(|s| s.end() == n);
    let start = grid.node.filter(|n| !closed(*n))?;
    let mut queue = VecDeque::from([(start, Vec::<Step>::new())]);
    let mut seen = BTreeSet::from([start]);
    let mut ways: Vec<Vec<Step>> = Vec::new();
    while let Some((node, steps)) = queue.pop_front() {
        let foreign = |l: &LegId| matches!(work.kind(l.part), Kind::Jack | Kind::ReverbTransformer);
        let others = work.pins.get(&node).map_or(0, Vec::len) > usize::from(node == start);
        if others || steps.len() > LONGEST_DIVIDER || work.view.legs_at(node).iter().any(foreign) {
            return None;
        }
        for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound, Flow::Capacitive]) {
            let longer: Vec<Step> = steps.iter().copied().chain([step]).collect();
            if closed(step.end()) {
                ways.push(longer);
            } else if seen.insert(step.end()) {
                queue.push_back((step.end(), longer));
            }
        }
    }
    let end = |way: &Vec<Step>| way.last().map_or(GROUND, Step::end);
    let way = ways.iter().find(|w| secondary.contains(&end(w))).or(ways.first())?;
    Some(work.path(Spot::Leg(grid.leg), way, Spot::Node(end(way))))
}

/// The capacitor (with its text) that holds a pair's second grid at signal ground or at the feedback's node.
fn grounded_grid(work: &Work, valve: usize, rungs: &[Step]) -> Option<(Vec<Step>, String)> {
    let grid = work.valves[valve].grid;
    let node = grid.node?;
    let leg = Spot::Leg(grid.leg);
    if node == GROUND {
        return Some((Vec::new(), format!("{} — chassis", work.circuit().leg_name(grid.leg))));
    }
    let mut starts = vec![(node, Vec::new())];
    let stoppers = work.view.steps_by(node, &[Flow::Resistive]);
    starts.extend(stoppers.into_iter().filter(|s| !work.quiet(s.end())).map(|s| (s.end(), vec![s])));
    for (near, before) in starts {
        for step in work.view.steps_by(near, &[Flow::Capacitive]) {
            let end = step.end();
            if end == GROUND || feedback_node(work, end, rungs) {
                let steps: Vec<Step> = before.iter().copied().chain([step]).collect();
                return Some((vec![step], work.path(leg, &steps, Spot::Node(end))));
            }
        }
    }
    None
}

/// The foot of the tail, or a node low above chassis beside it.
fn feedback_node(work: &Work, node: Node, rungs: &[Step]) -> bool {
    if work.quiet(node) || work.has_pins(node) {
        return false;
    }
    let rung = rungs.iter().any(|s| s.end() == node);
    let low = |s: &Step| s.end() == GROUND && work.view.value(s.part()).is_none_or(|r| r <= 10_000.0);
    rung || work.view.steps_by(node, &[Flow::Resistive]).iter().any(low)
}
