//! Rails below chassis: what a tail or another cathode returns to, and what the text declares one.

use std::collections::{BTreeSet, VecDeque};

use super::recognised::Rail;
use super::view::{GROUND, Node, Step};
use super::work::Work;
use crate::circuit::NetId;
use crate::model::RoleKind;
use crate::recognise::flow::Flow;

/// Nets of the negative supplies that are rails, from the raw ones outwards.
pub(super) fn rails(work: &Work) -> Vec<Rail> {
    let mut queue: VecDeque<Way> = work.negative.iter().map(|node| begin(work, *node)).collect();
    let mut seen: BTreeSet<Node> = work.negative.iter().copied().collect();
    let mut rails = Vec::new();
    while let Some(mut way) = queue.pop_front() {
        if is_rail(work, way.node) {
            let rail = rail(work, &way);
            way.from = Some(rail.net);
            rails.push(rail);
        }
        for step in work.view.steps_by(way.node, &[Flow::Resistive, Flow::Wound]) {
            if !step.arm.pot && work.bias.contains(&step.end()) && seen.insert(step.end()) {
                queue.push_back(onward(work, &way, step));
            }
        }
    }
    rails
}

/// Large capacitors of negative rails that cathodes return to, each with whether its rail is a raw one.
pub(super) fn filters(work: &Work) -> Vec<(Step, bool)> {
    let returns = work.bias.iter().filter(|node| returns_to(work, **node));
    let on = |node: &Node| {
        let raw = work.negative.contains(node);
        work.view.steps_by(*node, &[Flow::Capacitive]).into_iter().map(move |step| (step, raw))
    };
    returns.flat_map(on).filter(|(step, _)| step.end() == GROUND && work.is_big(step.part())).collect()
}

/// How a node of a negative supply is reached.
struct Way {
    node: Node,
    depth: u32,
    by: Option<Step>,
    from: Option<NetId>,
    fed: bool,
    why: String,
}

fn begin(work: &Work, node: Node) -> Way {
    let feeds = [RoleKind::SupplySource, RoleKind::BiasRectifier, RoleKind::Rectifier];
    let legs = work.view.legs_at(node).iter();
    let mut feeders = legs.map(|l| l.part).filter(|p| work.role(*p).is_some_and(|r| feeds.contains(&r)));
    let first = feeders.clone().next().map(|p| format!("{} — ", work.circuit().part(p).name));
    let why = format!("{}{}", first.unwrap_or_default(), work.net_name(net(work, node)));
    Way { node, depth: 0, by: None, from: None, fed: feeders.any(|p| work.view.joined(p)), why }
}

fn onward(work: &Work, way: &Way, step: Step) -> Way {
    let node = step.end();
    let name = &work.circuit().part(step.part()).name;
    Way {
        node,
        depth: way.depth + 1,
        by: Some(step),
        from: way.from,
        fed: way.fed && work.view.joined(step.part()),
        why: format!("{} — {name} — {}", way.why, work.net_name(net(work, node))),
    }
}

/// The declared net of a node, else its first.
fn net(work: &Work, node: Node) -> NetId {
    let nets = work.view.nets(node);
    *nets.iter().find(|n| work.declared_rail(**n)).unwrap_or(&nets[0])
}

fn is_rail(work: &Work, node: Node) -> bool {
    work.view.nets(node).iter().any(|n| work.declared_rail(*n)) || returns_to(work, node)
}

/// Whether a cathode's way ends here.
fn returns_to(work: &Work, node: Node) -> bool {
    work.drafts.iter().any(|d| d.rungs.last().is_some_and(|rung| rung.end() == node))
}

fn rail(work: &Work, way: &Way) -> Rail {
    let mut capacitors: Vec<_> = work
        .view
        .steps_by(way.node, &[Flow::Capacitive])
        .into_iter()
        .filter(|s| s.end() == GROUND && work.view.joined(s.part()))
        .map(|s| s.part())
        .collect();
    capacitors.sort_unstable();
    Rail {
        net: net(work, way.node),
        depth: way.depth,
        fed_by: way.by.map(|step| step.part()),
        from: way.from,
        capacitors,
        fed: way.fed,
        why: way.why.clone(),
    }
}
