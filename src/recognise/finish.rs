//! From drafts and claims to what is given out: rails net by net, stages in order, roles of what is joined and
//! of what only its joints tell.

use std::collections::BTreeMap;

use super::order;
use super::rails::filters;
use super::recognised::{Coupling, Rail, Recognised, Section, Stage};
use super::role::Role;
use super::signal::Signal;
use super::spell::Spot;
use super::view::{GROUND, Node};
use super::work::{Draft, Reach, Work};
use crate::circuit::{LegId, NetId, PartId};
use crate::model::{Kind, RoleKind};

/// Gathers everything.
pub(super) fn finish(work: &Work, signal: &Signal) -> Recognised {
    let (sorted, places) = order::places(work, signal);
    let names = order::names(work, signal, &places);
    // Missing valves made their stage by their joints, so that the others keep their names; told are those that are
    // there.
    let here = |draft: &usize| {
        let mut valves = work.drafts[*draft].valves.iter();
        valves.any(|v| work.circuit().part(work.valves[*v].section.tube).fitted())
    };
    let kept: Vec<usize> = sorted.into_iter().filter(here).collect();
    let place_of: BTreeMap<usize, usize> = kept.iter().enumerate().map(|(i, d)| (*d, i)).collect();
    let stages = kept.iter().map(|d| stage(work, &work.drafts[*d], names[*d].clone())).collect();
    let (mut roles, mut by_joint) = (BTreeMap::new(), BTreeMap::new());
    for part in work.circuit().part_ids() {
        if let Some(role) = role(work, part, &place_of) {
            // A part that is not wholly joined has the role of its place, which rules must not take for what it does.
            let map = if work.view.joined(part) { &mut roles } else { &mut by_joint };
            map.insert(part, role);
        }
    }
    let strange = (0..work.valves.len()).filter(|v| work.draft_of(*v).is_none());
    let strange_sections: Vec<Section> = strange
        .map(|v| work.valves[v].section.clone())
        .filter(|s| work.circuit().part(s.tube).fitted())
        .collect();
    let unrecognised = work
        .circuit()
        .part_ids()
        .filter(|p| work.circuit().part(*p).fitted() && !roles.contains_key(p) && !by_joint.contains_key(p))
        .collect();
    Recognised {
        rails: rails(work).into_iter().chain(super::negative::rails(work)).collect(),
        stages,
        couplings: couplings(work, signal, &place_of),
        roles,
        by_joint,
        bias: work.bias.iter().flat_map(|n| work.view.nets(*n).iter().copied()).collect(),
        strange_sections,
        unrecognised,
    }
}

fn stage(work: &Work, draft: &Draft, name: String) -> Stage {
    let fitted = |v: &&usize| work.circuit().part(work.valves[**v].section.tube).fitted();
    let valves: Vec<usize> = draft.valves.iter().filter(fitted).copied().collect();
    Stage {
        kind: draft.kind,
        sections: valves.iter().map(|v| work.valves[*v].section.clone()).collect(),
        name,
        inputs: valves.iter().filter_map(|v| work.view.seat(work.valves[*v].grid.leg)).collect(),
        outputs: draft.outputs.iter().map(|n| output_net(work, draft, *n)).collect(),
        why: draft.why.clone(),
    }
}

/// The net of an output node: where the electrode itself sits.
fn output_net(work: &Work, draft: &Draft, node: Node) -> NetId {
    let pins = draft.valves.iter().flat_map(|v| [work.valves[*v].plate, work.valves[*v].cathode]);
    let own = pins.filter(|p| p.node == Some(node)).find_map(|p| work.view.seat(p.leg));
    own.unwrap_or_else(|| work.view.nets(node)[0])
}

fn role(work: &Work, part: PartId, place_of: &BTreeMap<usize, usize>) -> Option<Role> {
    if !work.view.present(part) {
        return None;
    }
    let claim = work.claims.get(&part);
    let found = claim.map(|c| Role {
        kind: c.kind,
        stage: c.draft.and_then(|d| place_of.get(&d).copied()),
        electrode: c.electrode,
        why: c.why.clone(),
        stated: false,
    });
    let stated = work.circuit().part(part).role.as_ref();
    let Some((kind, reason)) = stated.and_then(|(word, why)| Some((RoleKind::of(word)?, why.clone()))) else {
        return found;
    };
    let why = reason.unwrap_or_else(|| "stated".to_owned());
    let (stage, electrode) = found.map_or((None, None), |f| (f.stage, f.electrode));
    Some(Role { kind, stage, electrode, why, stated: true })
}

fn couplings(work: &Work, signal: &Signal, place_of: &BTreeMap<usize, usize>) -> Vec<Coupling> {
    let mut couplings: Vec<Coupling> = Vec::new();
    for way in &signal.ways {
        let (Some(from), Some(to)) = (place_of.get(&way.from), place_of.get(&way.to)) else { continue };
        let grid = work.valves[way.valve].grid.leg;
        let Some(input) = work.view.seat(grid) else { continue };
        let output = output_net(work, &work.drafts[way.from], way.output);
        let mut parts: Vec<PartId> = way.steps.iter().map(super::view::Step::part).collect();
        parts.dedup();
        let start = match super::around::electrode_at(work, way.output, super::work::Electrode::Plate) {
            Some(leg) => Spot::Leg(leg),
            None => Spot::Node(way.output),
        };
        let why = work.path(start, &way.steps, Spot::Leg(grid));
        couplings.push(Coupling { from: *from, output, to: *to, input, parts, why });
    }
    couplings.sort_by_key(|c| (c.from, c.to, c.output, c.input));
    couplings
}

/// Rails in the order of the walk; a node whose nets are joined by a link, fuse or contact may hold several.
fn rails(work: &Work) -> Vec<Rail> {
    let mut rails: Vec<Rail> = Vec::new();
    let mut last: BTreeMap<Node, NetId> = BTreeMap::new();
    for node in &work.order {
        let reach = &work.supply[node];
        let mut from = reach.from.and_then(|n| last.get(&n).copied());
        let mut nets: Vec<(usize, NetId)> = work
            .view
            .nets(*node)
            .iter()
            .filter(|n| is_rail(work, *node, **n))
            .map(|n| (distance(work, reach.entry, *n), *n))
            .collect();
        nets.sort_unstable();
        // A node that qualified as a whole though no single net of it does: the net at which it is entered stands for
        // it.
        if nets.is_empty() && reach.throw.is_none() {
            nets.push((0, reach.entry));
        }
        for (index, (far, net)) in nets.iter().enumerate() {
            let mut rail = rail(work, *node, reach, (*net, index == 0, *far), from);
            rail.capacitors =
                capacitors(work, *node, |n| n == *net || (index == 0 && !nets.iter().any(|(_, x)| *x == n)));
            from = Some(*net);
            rails.push(rail);
        }
        if let Some(net) = from {
            last.insert(*node, net);
        }
    }
    rails
}

/// Net of a node parted by a cut: as far away as can be.
const PARTED: usize = usize::MAX;

fn distance(work: &Work, from: NetId, to: NetId) -> usize {
    let parts = work.view.joiners(from, to);
    if parts.is_empty() && from != to {
        return PARTED;
    }
    parts.len()
}

fn rail(
    work: &Work,
    node: Node,
    reach: &Reach,
    (net, first, far): (NetId, bool, usize),
    from: Option<NetId>,
) -> Rail {
    let joiners = match (first, from) {
        (false, Some(before)) => work.view.joiners(before, net),
        _ => work.view.joiners(reach.entry, net),
    };
    let feeder = if first { reach.steps.first().map(super::view::Step::part).or(reach.throw) } else { None };
    let name = work.net_name(net);
    let why = if net == reach.entry {
        reach.why.clone()
    } else {
        let parts = work.view.joiners(reach.entry, net);
        let between: Vec<&str> = parts.iter().map(|p| work.circuit().part(*p).name.as_str()).collect();
        [vec![reach.why.as_str()], between, vec![name.as_str()]].concat().join(" — ")
    };
    debug_assert_eq!(work.view.node_of(net), node, "a rail's net lies in its node");
    Rail {
        net,
        depth: reach.depth,
        fed_by: feeder.or_else(|| joiners.last().copied()),
        from,
        capacitors: Vec::new(),
        fed: reach.fed && far != PARTED && joiners.iter().all(|p| work.view.joined(*p)),
        why,
    }
}

/// Declared a rail, filtered, or feeding a transformer, a plate or a screen.
fn is_rail(work: &Work, node: Node, net: NetId) -> bool {
    let sits = |leg: LegId| work.view.seat(leg) == Some(net);
    let filtered = filters(work, node).iter().any(|s| s.first().is_some_and(|s| sits(s.entry())));
    let fed = work.view.legs_at(node).iter().filter(|l| sits(**l)).any(|leg| {
        let supply = work.kind(leg.part) == Kind::OutputTransformer;
        let serves = matches!(work.role(leg.part), Some(RoleKind::PlateLoad | RoleKind::ScreenResistor));
        supply || serves
    });
    work.declared_rail(net) || filtered || fed
}

/// Fitted filter capacitors whose first leg sits in a net that `mine` accepts.
fn capacitors(work: &Work, node: Node, mine: impl Fn(NetId) -> bool) -> Vec<PartId> {
    let mut found: Vec<PartId> = filters(work, node)
        .iter()
        .filter(|stack| stack.first().and_then(|s| work.view.seat(s.entry())).is_some_and(&mine))
        .flatten()
        .map(super::view::Step::part)
        .collect();
    let small = work.view.steps_by(node, &[crate::recognise::flow::Flow::Capacitive]).into_iter();
    found.extend(
        small.filter(|s| s.end() == GROUND && work.view.seat(s.entry()).is_some_and(&mine)).map(|s| s.part()),
    );
    found.retain(|p| work.view.joined(*p));
    found.sort_unstable();
    found.dedup();
    found
}
