//! The way of the signal: from each stage's outputs to the next grids, and from the jacks to the first.
//!
//! ```text
//! V1a.plate – C1 – R5 – V1b.grid, and V1b.plate – C9 2p2 – V1b.grid:
//! ways      V1a → V1b by C1, R5; V1b → V1b by C9
//! backward  a stage to itself, or to one still open on the way down from the jacks: C9's
//! so        C9 is local feedback, and the ways are found anew without it: V1a → V1b alone
//! ```

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::grids::FURTHEST;
use super::spell::Spot;
use super::view::{Node, Step};
use super::work::{Electrode, Work};
use crate::circuit::{LegId, PartId};
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// A way from one stage's output to another's grid.
#[derive(Debug, Clone)]
pub(super) struct Way {
    pub from: usize,
    pub output: Node,
    pub to: usize,
    /// The section whose grid it reaches.
    pub valve: usize,
    pub steps: Vec<Step>,
}

/// A way from an input jack to a grid.
#[derive(Debug, Clone)]
pub(super) struct Entry {
    pub jack: LegId,
    pub to: usize,
    /// The section whose grid it reaches.
    pub valve: usize,
    /// The jack's node.
    pub start: Node,
    pub steps: Vec<Step>,
}

/// Ways between stages and from jacks.
#[derive(Debug, Default)]
pub(super) struct Signal {
    /// Forward ways, by stage and output.
    pub ways: Vec<Way>,
    /// Input jacks of each stage.
    pub jacks: BTreeMap<usize, Vec<PartId>>,
    /// Ways from the jacks to the first grids.
    pub entries: Vec<Entry>,
    /// All nodes on a forward way.
    pub on_way: BTreeSet<Node>,
}

/// Follows the signal; local feedback is claimed and left out.
pub(super) fn follow(work: &mut Work) -> Signal {
    let entries = entries(work);
    let mut jacks: BTreeMap<usize, Vec<PartId>> = BTreeMap::new();
    for entry in &entries {
        let of = jacks.entry(entry.to).or_default();
        if !of.contains(&entry.jack.part) {
            of.push(entry.jack.part);
        }
    }
    let all = ways(work, &jacks);
    let back = backward(work, &all, &jacks);
    for index in &back {
        local_feedback(work, &all, *index, &back);
    }
    let mut signal = Signal { jacks, entries, ..Signal::default() };
    // Ways anew: what was local feedback no longer leads anywhere.
    signal.ways = ways(work, &signal.jacks)
        .into_iter()
        .filter(|w| !all.iter().zip(0..).any(|(a, i)| back.contains(&i) && same(a, w)))
        .collect();
    for way in &signal.ways {
        signal.on_way.insert(way.output);
        signal.on_way.extend(way.steps.iter().map(Step::end));
    }
    signal
}

fn same(a: &Way, b: &Way) -> bool {
    (a.from, a.output, a.to, a.valve) == (b.from, b.output, b.to, b.valve)
}

/// The shortest ways from every stage to every grid it reaches without passing an electrode. A stage that none
/// reaches so may hang on another's grid (a paraphase inverter's second half).
fn ways(work: &Work, jacks: &BTreeMap<usize, Vec<PartId>>) -> Vec<Way> {
    let mut found = ways_by(work, false);
    let entered: BTreeSet<usize> = found.iter().filter(|w| w.from != w.to).map(|w| w.to).collect();
    // Only for stages that nothing else enters: through grids the signal would seem to skip every stage.
    let open = |w: &Way| !entered.contains(&w.to) && !jacks.contains_key(&w.to) && w.from != w.to;
    found.extend(ways_by(work, true).into_iter().filter(open));
    found
}

fn ways_by(work: &Work, through_grids: bool) -> Vec<Way> {
    let mut found: Vec<Way> = Vec::new();
    for (from, draft) in work.drafts.iter().enumerate().filter(|(_, d)| !d.kind.is_output()) {
        for output in &draft.outputs {
            for (node, steps) in reach_by(work, *output, through_grids) {
                for (valve, _) in work.pins[&node].iter().filter(|(_, e)| *e == Electrode::Grid) {
                    if let Some(to) = work.draft_of(*valve) {
                        found.push(Way { from, output: *output, to, valve: *valve, steps: steps.clone() });
                    }
                }
            }
        }
    }
    // Of an inverter's two outputs the nearer one drives a grid; a control across them couples both.
    let mut least: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for way in &found {
        let length = least.entry((way.from, way.valve)).or_insert(usize::MAX);
        *length = way.steps.len().min(*length);
    }
    found.retain(|w| w.steps.len() == least[&(w.from, w.valve)]);
    found
}

/// Grid nodes that a node's signal reaches, each with the shortest way.
pub(super) fn reach(work: &Work, start: Node) -> Vec<(Node, Vec<Step>)> {
    reach_by(work, start, false)
}

fn reach_by(work: &Work, start: Node, through_grids: bool) -> Vec<(Node, Vec<Step>)> {
    let mut found = Vec::new();
    let mut seen = BTreeSet::from([start]);
    let mut queue = VecDeque::from([(start, Vec::<Step>::new())]);
    while let Some((node, steps)) = queue.pop_front().filter(|_| seen.len() < FURTHEST) {
        if work.has(node, Electrode::Grid) {
            found.push((node, steps.clone()));
            if !through_grids {
                continue;
            }
        }
        // Where another stage drives, this signal is lost in its output resistance.
        if node != start && (!work.drivers_at(node).is_empty() || work.has(node, Electrode::Plate)) {
            continue;
        }
        for step in work.signal_steps(node) {
            if seen.insert(step.end()) {
                let mut longer = steps.clone();
                longer.push(step);
                queue.push_back((step.end(), longer));
            }
        }
    }
    found
}

/// Indices of ways that lead back: to the own grid, or to a stage that comes before.
fn backward(work: &Work, ways: &[Way], jacks: &BTreeMap<usize, Vec<PartId>>) -> BTreeSet<usize> {
    let mut back: BTreeSet<usize> = (0..ways.len()).filter(|i| ways[*i].from == ways[*i].to).collect();
    let entered: BTreeSet<usize> = ways.iter().filter(|w| w.from != w.to).map(|w| w.to).collect();
    let mut roots: Vec<usize> = jacks.keys().copied().collect();
    roots.extend((0..work.drafts.len()).filter(|d| !entered.contains(d)));
    // Last, so that a ring without an entry is still gone down once; where it is cut then hangs on the valves' order.
    roots.extend(0..work.drafts.len());
    let mut leaving: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, way) in ways.iter().enumerate() {
        leaving.entry(way.from).or_default().push(index);
    }
    let mut done = BTreeSet::new();
    for root in roots {
        descend(root, &leaving, ways, &mut done, &mut back);
    }
    back
}

/// Goes down from a stage; a way to a stage that is still open leads back.
fn descend(
    root: usize,
    leaving: &BTreeMap<usize, Vec<usize>>,
    ways: &[Way],
    done: &mut BTreeSet<usize>,
    back: &mut BTreeSet<usize>,
) {
    if !done.insert(root) {
        return;
    }
    let mut path = vec![(root, 0)];
    let mut open = BTreeSet::from([root]);
    while let Some((stage, next)) = path.last_mut() {
        // A stack of its own: hundreds of stages in a chain would overflow the program's.
        let Some(index) = leaving.get(stage).and_then(|w| w.get(*next)).copied() else {
            open.remove(stage);
            path.pop();
            continue;
        };
        *next += 1;
        let to = ways[index].to;
        if open.contains(&to) {
            back.insert(index);
        } else if done.insert(to) {
            open.insert(to);
            path.push((to, 0));
        }
    }
}

/// Parts that only a backward way uses are local feedback.
fn local_feedback(work: &mut Work, ways: &[Way], index: usize, back: &BTreeSet<usize>) {
    let forward: BTreeSet<PartId> = ways
        .iter()
        .enumerate()
        .filter(|(i, _)| !back.contains(i))
        .flat_map(|(_, w)| w.steps.iter().map(Step::part))
        .collect();
    let way = &ways[index];
    let leg = Spot::Leg(work.valves[way.valve].grid.leg);
    let why = work.path(Spot::Node(way.output), &way.steps, leg);
    let own: Vec<Step> =
        way.steps.iter().copied().filter(|s| !forward.contains(&s.part()) && !s.arm.pot).collect();
    for step in own {
        let kind = match step.arm.flow {
            Flow::Capacitive => RoleKind::FeedbackCapacitor,
            _ => RoleKind::FeedbackResistor,
        };
        work.claim_for(step.part(), kind, Some(way.to), None, why.clone());
    }
}

impl Signal {
    /// The stage to which an input jack's way past this node leads.
    pub(super) fn enters(&self, node: Node) -> Option<usize> {
        let past = |e: &&Entry| e.start == node || e.steps.iter().any(|s| s.end() == node);
        self.entries.iter().find(past).map(|e| e.to)
    }
}

/// Ways from jacks whose tip or ring reaches a grid and no stage's output.
fn entries(work: &Work) -> Vec<Entry> {
    let mut found = Vec::new();
    for jack in work.view.parts_of_kind(Kind::Jack) {
        let driven = work.circuit().drive.is_some_and(|(d, _)| d == jack);
        for leg in ["tip", "ring"] {
            let Some(leg) = work.view.leg(jack, leg) else { continue };
            let Some(node) = work.view.node(leg).filter(|n| !work.boundary(*n)) else { continue };
            let fed = super::grids::feeders(work, node, super::view::GROUND);
            // A jack that a stage feeds is an output or a send, unless the document says that it is driven.
            if !fed.is_empty() && !driven {
                continue;
            }
            for (grid, steps) in reach(work, node) {
                for (valve, _) in work.pins[&grid].iter().filter(|(_, e)| *e == Electrode::Grid) {
                    if let Some(to) = work.draft_of(*valve) {
                        found.push(Entry { jack: leg, to, valve: *valve, start: node, steps: steps.clone() });
                    }
                }
            }
        }
    }
    found
}
