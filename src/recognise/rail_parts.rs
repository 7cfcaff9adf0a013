//! What hangs on the rails: droppers, chokes, filter capacitors, bleeders, fuses, the standby switch.

use std::collections::BTreeSet;

use super::rails::filters;
use super::spell::Spot;
use super::view::{GROUND, Node, Step};
use super::work::{Electrode, Work};
use crate::circuit::{CHASSIS, Heater, LegId, NetId};
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// Claims what hangs on the rails.
pub(super) fn claim(work: &mut Work) {
    for node in work.order.clone() {
        to_ground(work, node);
    }
    // What stands on another supply has its reservoirs and their resistors by now.
    for node in work.order.clone() {
        between_rails(work, node);
    }
    beside_windings(work);
    heater_parts(work);
    standby(work);
}

fn between_rails(work: &mut Work, node: Node) {
    for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound, Flow::Capacitive]) {
        let steps = work.view.chain(step);
        let end = steps.last().map_or(GROUND, Step::end);
        if end == node || !work.supply.contains_key(&end) {
            continue;
        }
        let place = |n: Node| work.order.iter().position(|o| *o == n);
        // Once, from the rail nearer to the supply: the proof then reads in the direction of the current.
        if place(end) < place(node) {
            continue;
        }
        let why = work.path(Spot::Node(node), &steps, Spot::Node(end));
        for s in &steps {
            let kind = match s.arm.flow {
                Flow::Wound => RoleKind::FilterChoke,
                Flow::Capacitive => RoleKind::Snubber,
                _ => RoleKind::Dropper,
            };
            work.claim(s.part(), kind, why.clone());
        }
    }
}

fn to_ground(work: &mut Work, node: Node) {
    let first = work.supply[&node].depth == 0 && work.supply[&node].throw.is_none();
    for stack in filters(work, node) {
        let why = work.path(Spot::Node(node), &stack, Spot::Node(GROUND));
        let net = stack.first().and_then(|s| work.view.seat(s.entry()));
        // Behind a standby switch the first capacitor is a filter: the rectifier's pulses are the reservoir's before
        // it.
        let raw = first && net.is_some_and(|n| at_start(work, node, n));
        let kind = if raw { RoleKind::Reservoir } else { RoleKind::FilterCapacitor };
        for s in &stack {
            work.claim(s.part(), kind, why.clone());
        }
        // Capacitors beside one of a stack.
        for s in stack.iter().skip(1) {
            let near = if s.back { s.arm.to } else { s.arm.from };
            for beside in work.view.steps_by(near, &[Flow::Capacitive]) {
                if beside.end() == s.end() {
                    let why = work.path(Spot::Node(near), &[beside], Spot::Node(s.end()));
                    work.claim(beside.part(), kind, why);
                }
            }
        }
        if stack.len() > 1 || stack.last().map(Step::end) != Some(GROUND) {
            balancing(work, node, &stack);
        }
    }
    for step in work.view.steps_by(node, &[Flow::Capacitive]).into_iter().filter(|s| s.end() == GROUND) {
        let why = work.path(Spot::Node(node), &[step], Spot::Node(GROUND));
        work.claim(step.part(), RoleKind::FilterCapacitor, why);
    }
    for step in work.view.steps_by(node, &[Flow::Resistive]).into_iter().filter(|s| !s.arm.pot) {
        let steps = work.view.chain(step);
        if steps.last().map(Step::end) == Some(GROUND) {
            let why = work.path(Spot::Node(node), &steps, Spot::Node(GROUND));
            for s in steps {
                work.claim(s.part(), RoleKind::Bleeder, why.clone());
            }
        }
    }
    for step in work.view.steps_by(node, &[Flow::Diode]).into_iter().filter(|s| s.end() == GROUND) {
        let why = work.path(Spot::Node(node), &[step], Spot::Node(GROUND));
        work.claim(step.part(), RoleKind::ProtectionDiode, why);
    }
}

/// Large capacitors that hold one end of a high winding still against chassis: a doubler's.
fn beside_windings(work: &mut Work) {
    for node in work.ac.clone() {
        for step in work.view.steps_by(node, &[Flow::Capacitive]) {
            if step.end() == GROUND && work.is_big(step.part()) && !heated(work, node) {
                let why = work.path(Spot::Node(node), &[step], Spot::Node(GROUND));
                work.claim(step.part(), RoleKind::Reservoir, why);
            }
        }
    }
}

/// Whether a winding that heats has an end in the node.
fn heated(work: &Work, node: Node) -> bool {
    let ends = |h: &Heater| {
        ["a", "b", "centre"].map(|e| work.view.node_at(h.transformer, &format!("{}.{e}", h.winding)))
    };
    work.circuit().heaters.iter().any(|h| ends(h).contains(&Some(node)))
}

/// Whether a net of a start's node lies before every switch.
fn at_start(work: &Work, node: Node, net: NetId) -> bool {
    let joiners = work.view.joiners(work.supply[&node].entry, net);
    joiners.iter().all(|p| !matches!(work.kind(*p), Kind::Switch | Kind::Relay))
}

fn balancing(work: &mut Work, node: Node, stack: &[Step]) {
    let mut near = node;
    for capacitor in stack {
        let far = capacitor.end();
        for step in work.view.steps_by(near, &[Flow::Resistive]) {
            let steps = work.view.chain(step);
            if steps.last().map(Step::end) == Some(far) {
                let why = work.path(Spot::Node(near), &steps, Spot::Node(far));
                for s in steps {
                    work.claim(s.part(), RoleKind::BalancingResistor, why.clone());
                }
            }
        }
        near = far;
    }
}

/// Resistors and capacitors that refer a heater winding to chassis or raise it.
fn heater_parts(work: &mut Work) {
    let mut nodes: BTreeSet<Node> = BTreeSet::new();
    for heater in &work.circuit().heaters {
        nodes.extend(heater.reference.map(|n| work.view.node_of(n)));
        for end in ["a", "b", "centre"] {
            nodes.extend(work.view.node_at(heater.transformer, &format!("{}.{end}", heater.winding)));
        }
    }
    nodes.remove(&GROUND);
    // Heaters that ride on an output valve's cathode: its resistor and bypass are the valve's.
    nodes.retain(|n| !work.supply.contains_key(n) && !work.has(*n, Electrode::Cathode));
    work.still.extend(nodes.iter().copied());
    for node in nodes.clone() {
        for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Capacitive]) {
            let steps = work.view.chain(step);
            let end = steps.last().map_or(GROUND, Step::end);
            if end == GROUND || nodes.contains(&end) || work.supply.contains_key(&end) {
                let why = work.path(Spot::Node(node), &steps, Spot::Node(end));
                for s in steps {
                    work.claim(s.part(), RoleKind::HeaterReference, why.clone());
                }
            }
        }
    }
}

/// Switches in the way of the high tension, fuses there, and what bridges their contacts.
fn standby(work: &mut Work) {
    let hot = |work: &Work, net: NetId| {
        let node = work.view.node_of(net);
        work.supply.contains_key(&node) || work.ac.contains(&node)
    };
    for part in work.view.parts() {
        let this = work.circuit().part(part);
        let seats: Vec<NetId> =
            (0..this.legs.len() as u32).filter_map(|leg| work.view.seat(LegId { part, leg })).collect();
        let ends = || seats.iter().map(|n| work.net_name(*n)).collect::<Vec<_>>();
        let on_supply = seats.iter().filter(|n| hot(work, **n)).count() >= 2;
        // A switch that leads from a supply to an electrode chooses (a screen's rail, triode or pentode): no standby.
        let chooses = seats.iter().any(|n| !hot(work, *n) && work.has_pins(work.view.node_of(*n)));
        let kind = match this.kind {
            Kind::Switch | Kind::Relay if on_supply && !chooses => Some(RoleKind::Standby),
            Kind::Fuse if on_supply || in_return(work, &seats) => Some(RoleKind::HtFuse),
            Kind::Resistor | Kind::Capacitor if on_supply && across_contact(work, &seats) => {
                Some(RoleKind::Snubber)
            }
            _ => None,
        };
        if let Some(kind) = kind {
            let why = match seats.as_slice() {
                [_, _] => ends().join(&format!(" — {} — ", this.name)),
                _ => format!("{}: {}", this.name, super::mains::sorted(ends())),
            };
            work.claim(part, kind, why);
        }
    }
}

/// Whether a net is the return of a winding that carries the high tension, or of its rectifier.
fn in_return(work: &Work, seats: &[NetId]) -> bool {
    let above: Vec<NetId> = seats.iter().copied().filter(|n| *n != CHASSIS).collect();
    let rectifies = |l: &LegId| {
        work.role(l.part) == Some(RoleKind::Rectifier)
            && work.view.seat(*l).is_some_and(|n| above.contains(&n))
    };
    let nodes: BTreeSet<Node> = above.iter().map(|n| work.view.node_of(*n)).collect();
    if nodes.iter().any(|n| work.view.legs_at(*n).iter().any(rectifies)) {
        return true;
    }
    work.view.parts_of_kind(Kind::MainsTransformer).into_iter().any(|part| {
        work.circuit().part(part).component.body.windings.iter().any(|w| {
            let seat =
                |end: &str| work.view.leg(part, &format!("{}.{end}", w.name)).and_then(|l| work.view.seat(l));
            let high = w.volts >= super::supply::LOW_VOLTS && !w.name.starts_with("primary");
            high && ["a", "b", "centre"].into_iter().filter_map(seat).any(|n| above.contains(&n))
        })
    })
}

/// Whether two different nets are joined by a closed contact: both ends of the part are one node.
fn across_contact(work: &Work, seats: &[NetId]) -> bool {
    matches!(seats, [a, b] if a != b && work.view.node_of(*a) == work.view.node_of(*b))
}
