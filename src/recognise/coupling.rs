//! What is left between the stages: coupling capacitors, treble bleeds, attenuators, and capacitors that only
//! take treble away.

use std::collections::{BTreeSet, VecDeque};

use super::around::electrode_at;
use super::grids::{DIVIDES, FURTHEST, fed, feeders, has_jack};
use super::signal::Signal;
use super::spell::Spot;
use super::view::{GROUND, Node, Step};
use super::work::{Claim, Electrode, Work};
use crate::circuit::{LegId, PartId};
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// Claims them, in this order.
pub(super) fn claim(work: &mut Work, signal: &Signal) {
    bleeds(work);
    capacitors_on_the_way(work, signal);
    from_jacks(work, signal);
    for part in work.view.parts_of_kind(Kind::Capacitor) {
        capacitor(work, signal, part);
    }
    // Roles only ever take nodes out of it.
    let fed = fed(work);
    for part in work.view.parts_of_kind(Kind::Resistor) {
        resistor(work, signal, &fed, part);
    }
    switches(work);
}

/// Capacitors across a series resistor, alone or with a resistor of their own.
fn bleeds(work: &mut Work) {
    for arm in work.view.arms().to_vec() {
        let free = arm.flow == Flow::Capacitive && !work.claimed(arm.part);
        if !free || work.boundary(arm.from) || work.boundary(arm.to) {
            continue;
        }
        let step = Step { arm, back: false };
        for (start, middle, path) in [(arm.from, arm.to, false), (arm.to, arm.from, true)] {
            let mut tail = vec![(middle, vec![Step { back: path, ..step }])];
            // Capacitor and resistor in series across the series resistor, with nothing else at their joint: a shelf,
            // still a bleed.
            if work.view.steps(middle).len() == 2 && !work.has_pins(middle) {
                let more = work.view.steps_by(middle, &[Flow::Resistive]).into_iter().filter(|s| !s.arm.pot);
                tail.extend(more.map(|s| (s.end(), vec![Step { back: path, ..step }, s])));
            }
            for (end, steps) in tail {
                let beside = work
                    .view
                    .steps_by(start, &[Flow::Resistive])
                    .into_iter()
                    .any(|s| s.end() == end && !s.arm.pot && steps.iter().all(|x| x.part() != s.part()));
                if beside && end != start && !work.boundary(end) {
                    let why = work.path(Spot::Node(start), &steps, Spot::Node(end));
                    let draft = feeders(work, start, end).into_iter().next();
                    for s in &steps {
                        work.claim_for(s.part(), RoleKind::TrebleBleed, draft, None, why.clone());
                    }
                }
            }
        }
    }
}

fn capacitors_on_the_way(work: &mut Work, signal: &Signal) {
    for way in &signal.ways {
        let leg = Spot::Leg(work.valves[way.valve].grid.leg);
        let why = work.path(Spot::Node(way.output), &way.steps, leg);
        for step in way.steps.iter().filter(|s| s.arm.flow == Flow::Capacitive) {
            work.claim_for(step.part(), RoleKind::CouplingCapacitor, Some(way.from), None, why.clone());
        }
    }
}

/// Capacitors between an input jack and the first grid, and the resistors before them.
fn from_jacks(work: &mut Work, signal: &Signal) {
    for entry in &signal.entries {
        let grid = work.valves[entry.valve].grid.leg;
        let why = work.path(Spot::Leg(entry.jack), &entry.steps, Spot::Leg(grid));
        for step in entry.steps.iter().filter(|s| !s.arm.pot) {
            let kind = match step.arm.flow {
                Flow::Capacitive => RoleKind::CouplingCapacitor,
                // Before the stopper: the same resistor, with a leak small enough behind it that the signal is
                // divided.
                _ if divides(work, *step, grid) => RoleKind::Attenuator,
                _ => RoleKind::GridStopper,
            };
            let electrode = (kind == RoleKind::GridStopper).then_some(grid);
            work.claim_for(step.part(), kind, Some(entry.to), electrode, why.clone());
        }
    }
}

/// Whether a series resistor makes a divider with the grid's leak.
fn divides(work: &Work, step: Step, grid: LegId) -> bool {
    let leak = |(part, claim): (&PartId, &Claim)| {
        let own = claim.kind == RoleKind::GridLeak && claim.electrode == Some(grid);
        own.then(|| work.view.value(*part)).flatten()
    };
    let least = work.claims.iter().filter_map(leak).fold(f64::INFINITY, f64::min);
    work.view.value(step.part()).is_some_and(|ohms| ohms >= DIVIDES * least)
}

fn ends(work: &Work, part: PartId) -> Option<Step> {
    Some(Step { arm: work.view.arm_of(part)?, back: false })
}

fn capacitor(work: &mut Work, signal: &Signal, part: PartId) {
    if work.claimed(part) {
        return;
    }
    let Some(step) = ends(work, part) else { return };
    let (a, b) = (step.arm.from, step.arm.to);
    let why = work.path(Spot::Node(a), &[step], Spot::Node(b));
    let plate_to = |work: &Work, x: Node, y: Node| {
        work.has(x, Electrode::Plate)
            && (work.quiet(y) || work.has(y, Electrode::Plate) || work.has(y, Electrode::Cathode))
    };
    let grid_to = |work: &Work, x: Node, y: Node| {
        work.has(x, Electrode::Grid) && (work.quiet(y) || work.has(y, Electrode::Cathode))
    };
    let snubs = plate_to(work, a, b) || plate_to(work, b, a) || grid_to(work, a, b) || grid_to(work, b, a);
    let winding = work.ac.contains(&a) && (work.ac.contains(&b) || work.quiet(b))
        || work.ac.contains(&b) && work.quiet(a);
    if snubs || winding {
        let leg = electrode_at(work, a, Electrode::Plate).or_else(|| electrode_at(work, b, Electrode::Plate));
        let draft = leg
            .and_then(|l| work.valves.iter().position(|v| v.plate.leg == l))
            .and_then(|v| work.draft_of(v));
        work.claim_for(part, RoleKind::Snubber, draft, leg, why);
        return;
    }
    if conjunctive(work, step) {
        return;
    }
    if work.boundary(a) && work.boundary(b) {
        return;
    }
    let fed = |n: Node, not: Node| {
        let jack = has_jack(work, n) || signal.enters(n).is_some();
        !work.boundary(n) && (jack || !feeders(work, n, not).is_empty())
    };
    if work.quiet(a) || work.quiet(b) {
        let live = if work.quiet(a) { b } else { a };
        if fed(live, GROUND) {
            let draft = feeders(work, live, GROUND).into_iter().next().or_else(|| signal.enters(live));
            work.claim_for(part, RoleKind::ToneCapacitor, draft, None, why);
        }
        return;
    }
    let takes = |n: Node, not: Node| !work.boundary(n) && leads(work, n, not);
    if (fed(a, b) && takes(b, a)) || (fed(b, a) && takes(a, b)) {
        let (near, far) = if fed(a, b) { (a, b) } else { (b, a) };
        let draft = feeders(work, near, far).into_iter().next();
        work.claim_for(part, RoleKind::CouplingCapacitor, draft, None, why);
    }
}

/// Whether a node's signal goes on to a grid or a jack without passing `not`.
fn leads(work: &Work, node: Node, not: Node) -> bool {
    let mut seen = BTreeSet::from([node, not]);
    let mut queue = VecDeque::from([node]);
    while let Some(at) = queue.pop_front().filter(|_| seen.len() < FURTHEST) {
        if work.has(at, Electrode::Grid) || has_jack(work, at) {
            return true;
        }
        if !work.drivers_at(at).is_empty() || work.has(at, Electrode::Plate) {
            continue;
        }
        for step in work.signal_steps(at) {
            if seen.insert(step.end()) {
                queue.push_back(step.end());
            }
        }
    }
    false
}

/// A capacitor in series with a resistor from a plate to a supply or the other plate.
fn conjunctive(work: &mut Work, step: Step) -> bool {
    for (near, far, back) in [(step.arm.from, step.arm.to, false), (step.arm.to, step.arm.from, true)] {
        let ways = work.view.steps(far);
        let next = ways.iter().find(|s| s.part() != step.part() && s.arm.flow == Flow::Resistive);
        let only = |l: &LegId| l.part == step.part() || next.is_some_and(|n| n.part() == l.part);
        if let (2, Some(next)) = (ways.len(), next)
            && work.view.legs_at(far).iter().all(only)
        {
            let end = next.end();
            let plates = work.has(near, Electrode::Plate) || work.has(end, Electrode::Plate);
            let other = |n: Node| work.has(n, Electrode::Plate) || work.quiet(n);
            if plates && other(near) && other(end) {
                let why = work.path(Spot::Node(near), &[Step { back, ..step }, *next], Spot::Node(end));
                work.claim(step.part(), RoleKind::Snubber, why.clone());
                work.claim(next.part(), RoleKind::Snubber, why);
                return true;
            }
        }
    }
    false
}

/// Resistors that divide the signal: in series on its way, or from there to signal ground.
fn resistor(work: &mut Work, signal: &Signal, fed: &BTreeSet<Node>, part: PartId) {
    if work.claimed(part) {
        return;
    }
    let Some(step) = ends(work, part) else { return };
    let (a, b) = (step.arm.from, step.arm.to);
    let silent = |node: Node| !fed.contains(&node) && signal.enters(node).is_none();
    if silent(a) && silent(b) {
        return;
    }
    let why = work.path(Spot::Node(a), &[step], Spot::Node(b));
    if work.quiet(a) || work.quiet(b) {
        let live = if work.quiet(a) { b } else { a };
        let feeder = || feeders(work, live, GROUND).into_iter().next().or_else(|| signal.enters(live));
        let from = if work.boundary(live) { None } else { feeder() };
        let kind = if has_jack(work, live) { RoleKind::LoadResistor } else { RoleKind::Attenuator };
        if from.is_some() && (signal.on_way.contains(&live) || leads(work, live, GROUND)) {
            work.claim_for(part, kind, from, None, why);
        }
    } else if !work.boundary(a) && !work.boundary(b) {
        let fed = |n: Node, not: Node| feeders(work, n, not).into_iter().next();
        let from = [(a, b), (b, a)].into_iter().find_map(|(x, y)| fed(x, y).filter(|_| leads(work, y, x)));
        if from.is_some() {
            work.claim_for(part, RoleKind::Attenuator, from, None, why);
        }
    }
}

/// Switches with a lug in the signal, a cathode, the feedback or the speaker's side.
fn switches(work: &mut Work) {
    for kind in [Kind::Switch, Kind::Relay] {
        for part in work.view.parts_of_kind(kind) {
            let legs = 0..work.circuit().part(part).legs.len() as u32;
            let node = |leg| work.view.node(LegId { part, leg });
            let live = |n: &Node| {
                let served =
                    work.view.legs_at(*n).iter().any(|l| {
                        l.part != part && work.claims.get(&l.part).is_some_and(|c| c.draft.is_some())
                    });
                *n != GROUND
                    && !work.ac.contains(n)
                    && !work.supply.contains_key(n)
                    && (served || work.has_pins(*n) || work.speaker.contains(n))
            };
            if let Some(found) = legs.filter_map(node).find(live) {
                let why = format!("{} — {}", work.node_name(found), work.circuit().part(part).name);
                work.claim(part, RoleKind::SignalSwitch, why);
            }
        }
    }
}
