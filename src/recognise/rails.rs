//! From the supply's start outwards: which nets are rails, and what feeds each.
//!
//! ```text
//! D1 – A (47 µF) – choke – B (47 µF, the output transformer) – R5 10k – C (22 µF, two plate loads) – R6 1M – g:
//! A     depth 0: where the rectifier ends
//! B, C  depth 1, 2: filtered, one chain of parts further out each
//! g     neither filtered nor feeding two plates: R6 is a leak or a divider, and the walk ends
//! with R5 missing C is still found, by its joint, and is told as not fed
//! ```

use std::collections::{BTreeMap, VecDeque};

use super::spell::Spot;
use super::view::{GROUND, Node, Step};
use super::work::{Electrode, Reach, Work};
use crate::circuit::PartId;
use crate::model::Kind;
use crate::recognise::flow::Flow;

/// Capacitors in series are followed this far.
const STACK: usize = 4;

/// Walks the supply and fills [`Work::supply`].
pub(super) fn walk(work: &mut Work) {
    work.to_ground = stacks(work);
    for (node, entry, fed, why) in work.starts.clone() {
        if !work.supply.contains_key(&node) && !work.bias.contains(&node) {
            reach(
                work,
                node,
                Reach { depth: 0, from: None, steps: Vec::new(), entry, throw: None, fed, why },
            );
        }
    }
    spread(work);
    // Rails cut off from every source are rails still: by declaration, or by their capacitor and what they feed.
    loop {
        // Below all that is fed, so that the numbers of those stay as they were.
        let depth = work.supply.values().map(|r| r.depth + 1).max().unwrap_or(0);
        let Some((node, from)) = cut_off(work) else { break };
        let entry = work.view.nets(node)[0];
        let why = work.net_name(entry);
        let depth = from.and_then(|f| work.supply.get(&f)).map_or(depth, |r| r.depth);
        reach(work, node, Reach { depth, from, steps: Vec::new(), entry, throw: None, fed: false, why });
        spread(work);
    }
}

fn reach(work: &mut Work, node: Node, reach: Reach) {
    work.order.push(node);
    work.supply.insert(node, reach);
}

/// Spreads from all reached nodes: joined parts first, then missing and lifted ones by their joints.
fn spread(work: &mut Work) {
    // What is really fed keeps its depth and its name, whatever a fault makes of the rest: joints come second.
    for joined_only in [true, false] {
        let mut queue: VecDeque<Node> = work.order.iter().copied().collect();
        while let Some(node) = queue.pop_front() {
            for next in onward(work, node, joined_only) {
                let end = next.0;
                if !work.supply.contains_key(&end) {
                    reach(work, end, next.1);
                    queue.push_back(end);
                }
            }
        }
    }
    let depth = |n: &Node| work.supply[n].depth;
    let mut order = work.order.clone();
    // Stable: of one depth those found first stay first.
    order.sort_by_key(depth);
    work.order = order;
}

/// Supply nodes one dropper, choke or open standby contact further out.
fn onward(work: &Work, node: Node, joined_only: bool) -> Vec<(Node, Reach)> {
    let here = &work.supply[&node];
    let mut found = Vec::new();
    for throw in &work.view.throws {
        let far = if throw.a == node { throw.b } else { throw.a };
        if (throw.a == node || throw.b == node) && behind_standby(work, far) {
            let entry = work.view.nets(far)[0];
            let why =
                format!("{} — {} — {}", here.why, work.circuit().part(throw.part).name, work.net_name(entry));
            let reach = Reach {
                depth: here.depth,
                from: Some(node),
                steps: Vec::new(),
                entry,
                // An open standby contact is no step further out: closed, both its sides are one rail.
                throw: Some(throw.part),
                fed: here.fed,
                why,
            };
            found.push((far, reach));
        }
    }
    for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound]) {
        // A control between two rails is a bias or hum control: rails have droppers.
        if step.arm.pot {
            continue;
        }
        let steps = work.view.chain(step);
        let joined = steps.iter().all(|s| work.view.joined(s.part()));
        let (Some(end), Some(last)) = (steps.last().map(Step::end), steps.last()) else { continue };
        if (joined || !joined_only)
            && qualifies(work, end, Some(step.part()))
            && let Some(entry) = work.view.seat(last.exit())
        {
            let tail = work.path(Spot::Node(node), &steps, Spot::Node(end));
            let tail = tail.split_once(" — ").map_or(tail.as_str(), |(_, rest)| rest);
            let why = format!("{} — {tail}", here.why);
            let fed = here.fed && joined;
            let reach =
                Reach { depth: here.depth + 1, from: Some(node), steps, entry, throw: None, fed, why };
            found.push((end, reach));
        }
    }
    found
}

/// What an open contact leads to counts as supply where nothing of the signal or of chassis is.
fn behind_standby(work: &Work, node: Node) -> bool {
    let foreign = |leg: &crate::circuit::LegId| {
        matches!(work.kind(leg.part), Kind::Jack | Kind::Pot | Kind::Led | Kind::Lamp | Kind::Inlet)
    };
    node != GROUND
        && !work.ac.contains(&node)
        && !work.has_pins(node)
        && !work.view.legs_at(node).iter().any(foreign)
}

/// Whether a node is a rail: declared, filtered, or feeding two or more.
fn qualifies(work: &Work, node: Node, by: Option<PartId>) -> bool {
    if node == GROUND
        || work.bias.contains(&node)
        || work.ac.contains(&node)
        // No rail is at a grid or a cathode: what is filtered there is bias.
        || work.has(node, Electrode::Grid)
        || work.has(node, Electrode::Cathode)
        || heater_reference(work, node)
        || middle(work, node)
    {
        return false;
    }
    let declared = work.view.nets(node).iter().any(|n| work.declared_rail(*n));
    let feeds = feeds(work, node, by);
    let filtered = !filters(work, node).is_empty();
    let screens =
        work.pins.get(&node).map_or(0, |p| p.iter().filter(|(_, e)| *e == Electrode::Screen).count());
    let enough = match (work.has(node, Electrode::Plate), screens) {
        // A plate's own node feeds other plates only in a direct-coupled stage: a filter has to prove the rail.
        (true, _) => filtered,
        (_, 0) => filtered || feeds >= 2,
        // One screen behind its resistor, bypassed, looks like a filtered rail; it is one where it feeds a plate too.
        (_, 1) => feeds >= 1,
        _ => filtered || feeds >= 1,
    };
    declared || enough
}

/// The middle of a stack of capacitors: a big one leads to a supply node, not to chassis.
fn middle(work: &Work, node: Node) -> bool {
    let up = |s: &Step| work.is_big(s.part()) && work.supply.contains_key(&s.end());
    work.view.steps_by(node, &[Flow::Capacitive]).iter().any(up)
}

/// A heater winding is referred to this node: an elevation, not a rail.
pub(super) fn heater_reference(work: &Work, node: Node) -> bool {
    work.circuit().heaters.iter().any(|h| h.reference.is_some_and(|net| work.view.node_of(net) == node))
}

/// How many plates and screens the node feeds; an output transformer's supply counts two.
pub(super) fn feeds(work: &Work, node: Node, by: Option<PartId>) -> usize {
    let mut count = 0;
    for leg in work.view.legs_at(node) {
        let transformer = matches!(work.kind(leg.part), Kind::OutputTransformer | Kind::ReverbTransformer);
        if transformer && work.circuit().part(leg.part).legs[leg.leg as usize].name == "supply" {
            // Half of a push-pull stage would count one; its supply leg is the surest sign of a rail.
            count += 2;
        }
    }
    for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound]) {
        if Some(step.part()) == by || step.arm.pot {
            continue;
        }
        let end = work.view.chain(step).last().map_or(GROUND, Step::end);
        if end != GROUND && (work.has(end, Electrode::Plate) || work.has(end, Electrode::Screen)) {
            count += 1;
        }
    }
    count
}

/// Filter capacitors of a node: to chassis at once, or as a stack in series.
pub(super) fn filters(work: &Work, node: Node) -> Vec<Vec<Step>> {
    let mut found = Vec::new();
    for step in work.view.steps_by(node, &[Flow::Capacitive]) {
        if work.is_big(step.part())
            && let Some(stack) = stack(work, step)
        {
            found.push(stack);
        }
    }
    found
}

/// A capacitor and those in series with it to chassis, through nodes that are nothing else.
fn stack(work: &Work, first: Step) -> Option<Vec<Step>> {
    let mut steps = vec![first];
    let mut node = first.end();
    while node != GROUND {
        // Another start on the way to chassis: this supply stands on that one (a doubler's upper half).
        if work.supply.get(&node).is_some_and(|reach| reach.depth == 0) {
            return stands_on(work, first).then_some(steps);
        }
        let next = work.to_ground.get(&node)?;
        let closed = work.has_pins(node) || work.supply.contains_key(&node);
        if closed || steps.len() >= STACK || steps.iter().any(|s| s.part() == next.part()) {
            return None;
        }
        steps.push(*next);
        node = next.end();
    }
    Some(steps)
}

/// Whether a capacitor leads from its node down towards chassis: a supply that stands on another one's reservoir.
fn stands_on(work: &Work, first: Step) -> bool {
    let top = if first.back { first.arm.to } else { first.arm.from };
    work.to_ground.get(&top).is_some_and(|down| down.part() == first.part())
}

/// From every node that big capacitors in series join to chassis, the next of them.
fn stacks(work: &Work) -> BTreeMap<Node, Step> {
    let mut next: BTreeMap<Node, Step> = BTreeMap::new();
    let mut queue = VecDeque::from([GROUND]);
    while let Some(node) = queue.pop_front() {
        for step in
            work.view.steps_by(node, &[Flow::Capacitive]).into_iter().filter(|s| work.is_big(s.part()))
        {
            let end = step.end();
            if end != GROUND && !next.contains_key(&end) {
                next.insert(end, Step { back: !step.back, ..step });
                queue.push_back(end);
            }
        }
    }
    next
}

/// The next rail that no source reaches, with the rail that a cut parted it from.
fn cut_off(work: &Work) -> Option<(Node, Option<Node>)> {
    let cut_from = |node: Node| {
        work.circuit().cuts.iter().find_map(|(new, old)| {
            let (new, old) = (work.view.node_of(*new), work.view.node_of(*old));
            let other = if new == node { old } else { new };
            ((new == node || old == node) && work.supply.contains_key(&other)).then_some(other)
        })
    };
    let mut nodes: Vec<Node> = work.circuit().net_ids().map(|n| work.view.node_of(n)).collect();
    nodes.dedup();
    let open = |n: &&Node| !work.supply.contains_key(n);
    let declared = |n: &Node| work.view.nets(*n).iter().any(|net| work.declared_rail(*net));
    let parted = nodes.iter().filter(open).find(|n| cut_from(**n).is_some() && qualifies(work, **n, None));
    let other = || {
        nodes.iter().filter(open).find(|n| {
            qualifies(work, **n, None)
                && (declared(n) || (!filters(work, **n).is_empty() && feeds(work, **n, None) > 0))
        })
    };
    parted.or_else(other).map(|n| (*n, cut_from(*n)))
}
