//! Volume and tone controls, and what stands across and around them.

use std::collections::{BTreeSet, VecDeque};

use super::spell::Spot;
use super::view::{GROUND, Node, Step};
use super::work::{Electrode, Work};
use crate::circuit::PartId;
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// A control in the signal, with the nodes of its legs.
#[derive(Debug, Clone, Copy)]
struct Control {
    part: PartId,
    top: Option<Node>,
    wiper: Option<Node>,
    bottom: Option<Node>,
}

/// Claims volume controls, their bright capacitors, then the tone networks.
pub(super) fn claim(work: &mut Work) {
    let controls = controls(work);
    for control in &controls {
        if let Some((hot, out, why)) = volume(work, control) {
            let draft =
                fed_by(work, hot).into_iter().next().or_else(|| reached(work, out).into_iter().next());
            work.claim_for(control.part, RoleKind::VolumeControl, draft, None, why);
            bright(work, hot, out, draft);
        }
    }
    let tone: Vec<Control> = controls.into_iter().filter(|c| !work.claimed(c.part)).collect();
    tone_controls(work, &tone);
}

fn controls(work: &Work) -> Vec<Control> {
    let mut found = Vec::new();
    for kind in [Kind::Pot, Kind::Trimmer] {
        for part in work.view.parts_of_kind(kind) {
            let leg = |name: &str| work.view.node_at(part, name);
            let control = Control { part, top: leg("top"), wiper: leg("wiper"), bottom: leg("bottom") };
            let signal =
                [control.top, control.wiper, control.bottom].into_iter().flatten().any(|n| !work.boundary(n));
            if signal && !work.claimed(part) {
                found.push(control);
            }
        }
    }
    found.sort_by_key(|c| c.part);
    found
}

/// One end at signal ground, the other fed, and the wiper leading to a grid (or the two the other way round):
/// the fed node, the node that leads on, and the proof.
fn volume(work: &Work, control: &Control) -> Option<(Node, Node, String)> {
    let (top, wiper, bottom) = (control.top?, control.wiper?, control.bottom?);
    // Wired as a variable resistor: it makes no divider.
    if wiper == top || wiper == bottom {
        return None;
    }
    // Both ends quiet or both live is no volume control: a balance, a mixer or a tone control.
    let (hot, cold) = match (cold(work, top), cold(work, bottom)) {
        (false, true) => (top, bottom),
        (true, false) => (bottom, top),
        _ => return None,
    };
    let name = &work.circuit().part(control.part).name;
    // The second way round, fed at the wiper, is how two channels share a mixer without shorting each other.
    for (from, to) in [(hot, wiper), (wiper, hot)] {
        if let Some(end) = leads_on(work, to, from, &BTreeSet::from([control.part])) {
            let why = format!("{} — {name} — {end}; {name} — {}", work.node_name(from), work.node_name(cold));
            return Some((from, to, why));
        }
    }
    None
}

/// At signal ground, or there over one resistor.
fn cold(work: &Work, node: Node) -> bool {
    if work.boundary(node) {
        return true;
    }
    let ways = work.view.steps(node);
    let others: Vec<&Step> = ways.iter().filter(|s| !s.arm.pot).collect();
    // A small resistor under the control keeps it from closing entirely, or makes room for feedback.
    matches!(others.as_slice(), [s] if s.arm.flow == Flow::Resistive && work.boundary(s.end()))
        && ways.len() == 2
}

/// A grid or a jack that a node leads to without passing a control, or `not`.
fn leads_on(work: &Work, node: Node, not: Node, passed: &BTreeSet<PartId>) -> Option<String> {
    let mut seen = BTreeSet::from([node, not]);
    let mut queue = VecDeque::from([node]);
    while let Some(at) = queue.pop_front() {
        if let Some(leg) = super::around::electrode_at(work, at, Electrode::Grid) {
            return Some(work.circuit().leg_name(leg));
        }
        // Signal is made here, not taken on: past a plate one would walk backwards through a stage.
        if !work.drivers_at(at).is_empty() || work.has(at, Electrode::Plate) {
            continue;
        }
        let jack = |l: &&crate::circuit::LegId| {
            work.kind(l.part) == Kind::Jack && work.circuit().part(l.part).legs[l.leg as usize].name == "tip"
        };
        if let Some(leg) = work.view.legs_at(at).iter().find(jack) {
            return Some(work.circuit().leg_name(*leg));
        }
        for step in work.signal_steps(at) {
            if !step.arm.pot && !passed.contains(&step.part()) && seen.insert(step.end()) {
                queue.push_back(step.end());
            }
        }
    }
    None
}

/// Stages whose grids a node leads to.
fn reached(work: &Work, node: Node) -> Vec<usize> {
    let grids = super::signal::reach(work, node);
    let pins = grids.iter().flat_map(|(n, _)| &work.pins[n]).filter(|(_, e)| *e == Electrode::Grid);
    pins.filter_map(|(v, _)| work.draft_of(*v)).collect()
}

/// Capacitors from a volume control's fed end to its wiper, also behind a bright switch or in series with a resistor.
fn bright(work: &mut Work, hot: Node, out: Node, draft: Option<usize>) {
    for step in work.view.steps_by(hot, &[Flow::Capacitive]) {
        let end = step.end();
        let switched =
            work.view.throws.iter().any(|t| (t.a == end && t.b == out) || (t.b == end && t.a == out));
        let series = work.view.steps_by(end, &[Flow::Resistive]).into_iter();
        let series: Vec<Step> =
            series.filter(|s| s.end() == out && !s.arm.pot && work.view.steps(end).len() == 2).collect();
        if end == out || switched || !series.is_empty() {
            let steps: Vec<Step> = [step].into_iter().chain(series).collect();
            let why = work.path(Spot::Node(hot), &steps, Spot::Node(out));
            work.claim_for(step.part(), RoleKind::BrightCapacitor, draft, None, why.clone());
            for s in &steps[1..] {
                work.claim_for(s.part(), RoleKind::TrebleBleed, draft, None, why.clone());
            }
        }
    }
}

/// Controls that shape the tone, and the capacitors and resistors of their network.
fn tone_controls(work: &mut Work, controls: &[Control]) {
    let mut nodes = BTreeSet::new();
    let legs = |c: &Control| [c.top, c.wiper, c.bottom].into_iter().flatten().collect::<Vec<Node>>();
    let filtered = |work: &Work, n: Node| {
        !work.boundary(n)
            && work.view.steps_by(n, &[Flow::Capacitive]).iter().any(|s| !work.claimed(s.part()))
    };
    let mut tone: BTreeSet<PartId> = BTreeSet::new();
    // Controls of one network share nodes: a mid control without a capacitor of its own is found by its neighbours.
    loop {
        let more: Vec<&Control> = controls
            .iter()
            .filter(|c| !tone.contains(&c.part))
            .filter(|c| legs(c).iter().any(|n| nodes.contains(n) || filtered(work, *n)))
            .collect();
        if more.is_empty() {
            break;
        }
        for control in more {
            tone.insert(control.part);
            nodes.extend(legs(control).into_iter().filter(|n| !work.boundary(*n)));
        }
    }
    for control in controls {
        let names: Vec<String> = legs(control).iter().map(|n| work.node_name(*n)).collect();
        let why = format!("{}: {}", work.circuit().part(control.part).name, names.join(", "));
        let draft = legs(control).iter().filter(|n| !work.boundary(**n)).flat_map(|n| fed_by(work, *n)).min();
        if tone.contains(&control.part) {
            work.claim_for(control.part, RoleKind::ToneControl, draft, None, why);
        } else if legs(control).iter().filter(|n| !fed_by(work, **n).is_empty()).count() >= 2 {
            work.claim_for(control.part, RoleKind::Mixer, draft, None, why);
        }
    }
    tone_parts(work, &nodes);
}

/// Stages that feed a node.
fn fed_by(work: &Work, node: Node) -> BTreeSet<usize> {
    super::grids::feeders(work, node, GROUND)
}

/// Capacitors at the controls, resistors between them and the source, then capacitors behind those resistors.
fn tone_parts(work: &mut Work, controls: &BTreeSet<Node>) {
    let mut network = controls.clone();
    for node in controls {
        for step in work.view.steps_by(*node, &[Flow::Capacitive, Flow::Wound]) {
            if !couples(work, step, controls) {
                tone_claim(work, *node, step, RoleKind::ToneCapacitor);
                let end = step.end();
                if !work.boundary(end) && work.drivers_at(end).is_empty() {
                    network.insert(end);
                }
            }
        }
    }
    for node in network.clone() {
        for step in work.view.steps_by(node, &[Flow::Resistive]) {
            let end = step.end();
            let shunt = work.boundary(end) && !controls.contains(&node);
            let onward = work.has(end, Electrode::Grid);
            if !step.arm.pot && !shunt && !onward {
                tone_claim(work, node, step, RoleKind::ToneResistor);
                if !work.boundary(end) && work.drivers_at(end).is_empty() && controls.contains(&node) {
                    network.insert(end);
                }
            }
        }
    }
    for node in network {
        for step in work.view.steps_by(node, &[Flow::Capacitive]) {
            let resistive = work.view.steps_by(node, &[Flow::Resistive]);
            let slope = resistive.iter().any(|s| work.role(s.part()) == Some(RoleKind::ToneResistor));
            if slope && work.quiet(step.end()) {
                tone_claim(work, node, step, RoleKind::ToneCapacitor);
            }
        }
    }
}

fn tone_claim(work: &mut Work, node: Node, step: Step, kind: RoleKind) {
    let why = work.path(Spot::Node(node), &[step], Spot::Node(step.end()));
    let beside = || {
        let ways = work.view.steps(node).into_iter().chain(work.view.steps(step.end()));
        let tone = ways.filter_map(|s| work.claims.get(&s.part())).find(|c| c.kind == RoleKind::ToneControl);
        tone.and_then(|c| c.draft)
    };
    let draft = fed_by(work, node).into_iter().next().or_else(beside);
    work.claim_for(step.part(), kind, draft, None, why);
}

/// Whether a capacitor at a tone control only brings the whole signal to it or takes it on from there.
fn couples(work: &Work, step: Step, controls: &BTreeSet<Node>) -> bool {
    let end = step.end();
    if work.quiet(end) || controls.contains(&end) {
        return false;
    }
    let near = if step.back { step.arm.to } else { step.arm.from };
    if !work.drivers_at(end).is_empty() {
        let others = work.signal_steps(end).into_iter().filter(|s| s.part() != step.part());
        return others.count() == 0;
    }
    let passed = BTreeSet::from([step.part()]);
    let takes_on = leads_on(work, end, near, &passed).is_some() && fed_without(work, end, near).is_empty();
    let to_volume = work.view.steps(end).iter().any(|s| work.role(s.part()) == Some(RoleKind::VolumeControl));
    (takes_on || to_volume) && fed_without(work, end, near).is_empty()
}

fn fed_without(work: &Work, node: Node, not: Node) -> BTreeSet<usize> {
    super::grids::feeders(work, node, not)
}
