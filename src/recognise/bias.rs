//! The bias supply: from its raw node, or from where grid leaks end, through resistors and controls.

use std::collections::{BTreeSet, VecDeque};

use super::spell::Spot;
use super::view::{GROUND, Node, Step};
use super::work::{Electrode, Work};
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// Walks from the raw nodes of the negative supplies.
pub(super) fn from_supply(work: &mut Work) {
    let raw = work.negative.clone();
    walk(work, &raw);
}

/// Walks from where the output valves' grid leaks end, for an amplifier whose bias supply is not there.
pub(super) fn from_grids(work: &mut Work) {
    let mut found = BTreeSet::new();
    for (index, valve) in work.valves.iter().enumerate() {
        let output = work.draft_of(index).is_some_and(|d| work.drafts[d].kind.is_output());
        if let (true, Some(grid)) = (output, valve.grid.node) {
            found.extend(reference(work, grid));
        }
    }
    let found: Vec<Node> = found.into_iter().collect();
    walk(work, &found);
}

/// The filtered or adjusted node at most two resistors away from a grid.
fn reference(work: &Work, grid: Node) -> Option<Node> {
    let mut near = vec![grid];
    // A stopper and a leak: what lies further off is no reference of this grid.
    for _ in 0..2 {
        let ends: Vec<Node> = near
            .iter()
            .flat_map(|n| work.view.steps_by(*n, &[Flow::Resistive]))
            .filter(|s| !s.arm.pot)
            .filter_map(|s| work.view.chain(s).last().map(Step::end))
            .filter(|n| *n != grid && !work.quiet(*n) && !work.has_pins(*n))
            .collect();
        if let Some(found) = ends.iter().find(|n| settled(work, **n)) {
            return Some(*found);
        }
        near = ends;
    }
    None
}

/// No signal of its own: every capacitor goes to chassis, and there is one, or a control's leg.
fn settled(work: &Work, node: Node) -> bool {
    let filters = work.view.steps_by(node, &[Flow::Capacitive]);
    let control = work.view.steps(node).iter().any(|s| s.arm.pot && !in_signal(work, s));
    // A coupling capacitor at the node means that signal is there: it is a grid's own node, not the feed of several.
    filters.iter().all(|s| s.end() == GROUND && work.is_big(s.part())) && (control || !filters.is_empty())
}

/// A control in the signal: one of its legs is coupled by a capacitor to something else than chassis or a winding.
fn in_signal(work: &Work, step: &Step) -> bool {
    let nodes = work.view.arms().iter().filter(|a| a.part == step.part()).flat_map(|a| [a.from, a.to]);
    step.arm.pot && nodes.into_iter().filter(|n| *n != GROUND).any(|n| coupled(work, n))
}

fn coupled(work: &Work, node: Node) -> bool {
    let capacitors = work.view.steps_by(node, &[Flow::Capacitive]);
    capacitors.iter().any(|s| s.end() != GROUND && !work.ac.contains(&s.end()))
}

fn walk(work: &mut Work, starts: &[Node]) {
    let mut queue: VecDeque<Node> = starts.iter().copied().collect();
    work.bias.extend(starts.iter().copied());
    while let Some(node) = queue.pop_front() {
        for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound]) {
            let end = step.end();
            if end != GROUND && inside(work, end) && !in_signal(work, &step) && work.bias.insert(end) {
                queue.push_back(end);
            }
        }
    }
}

/// Whether the bias supply may go on here: filtered, or without anything of the signal.
fn inside(work: &Work, node: Node) -> bool {
    let free = !work.has_pins(node) && !work.supply.contains_key(&node) && !work.ac.contains(&node);
    let foreign = work.view.legs_at(node).iter().any(|l| {
        matches!(
            work.kind(l.part),
            Kind::OutputTransformer | Kind::ReverbTransformer | Kind::Jack | Kind::Speaker
        )
    });
    let filtered = work
        .view
        .steps_by(node, &[Flow::Capacitive])
        .iter()
        .any(|s| s.end() == GROUND && work.is_big(s.part()));
    let control = work.view.steps(node).iter().any(|s| in_signal(work, s));
    let high = work.starts.iter().any(|(n, ..)| *n == node) || super::rails::feeds(work, node, None) > 0;
    // Without a filter a node belongs to the bias supply only where nothing of the signal is at it: a grid leak's
    // lower end counts, its upper end does not.
    free && !foreign && !high && (filtered || (!coupled(work, node) && !control))
}

/// Claims the parts of the bias supply.
pub(super) fn claim(work: &mut Work) {
    let upstream = before_controls(work);
    for (step, raw) in super::negative::filters(work) {
        let near = if step.back { step.arm.to } else { step.arm.from };
        let why = work.path(Spot::Node(near), &[step], Spot::Node(GROUND));
        work.claim(step.part(), if raw { RoleKind::Reservoir } else { RoleKind::FilterCapacitor }, why);
    }
    for node in work.bias.clone() {
        for step in work.view.steps(node) {
            let end = step.end();
            if !work.bias.contains(&end) && end != GROUND {
                continue;
            }
            let why = work.path(Spot::Node(node), &[step], Spot::Node(end));
            let raw = upstream.contains(&node) && upstream.contains(&end);
            let kind = match (step.arm.flow, work.kind(step.part())) {
                (Flow::Capacitive, _) => RoleKind::BiasFilter,
                (_, Kind::Pot | Kind::Trimmer) => RoleKind::BiasControl,
                (Flow::Diode, _) => RoleKind::ProtectionDiode,
                (Flow::Load, _) => RoleKind::Indicator,
                _ if end == GROUND => RoleKind::BiasRange,
                _ if raw => RoleKind::BiasDropper,
                _ => RoleKind::BiasFeed,
            };
            work.claim(step.part(), kind, why);
        }
    }
}

/// Bias nodes that the raw supply reaches without passing a control.
fn before_controls(work: &Work) -> BTreeSet<Node> {
    let mut seen: BTreeSet<Node> = work.negative.iter().copied().collect();
    let mut queue: VecDeque<Node> = seen.iter().copied().collect();
    while let Some(node) = queue.pop_front() {
        for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound]) {
            let end = step.end();
            if !step.arm.pot
                && work.bias.contains(&end)
                && !work.has(end, Electrode::Grid)
                && seen.insert(end)
            {
                queue.push_back(end);
            }
        }
    }
    seen
}
