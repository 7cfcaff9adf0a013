//! What stands around the valves' plates, cathodes and screens.

use super::recognised::StageKind;
use super::spell::Spot;
use super::stages::{bypass, cathode_rungs, plate_load};
use super::view::{GROUND, Node, Step};
use super::work::{Electrode, Pin, Work};
use crate::circuit::LegId;
use crate::model::RoleKind;
use crate::recognise::flow::Flow;

/// A resistor up to this between an output valve's cathode and chassis senses its current (common practice).
const SENSE_OHMS: f64 = 10.0;

/// Claims plate loads, cathode parts and screen parts of every stage.
pub(super) fn claim(work: &mut Work) {
    for draft in 0..work.drafts.len() {
        let grids: Vec<LegId> = work.drafts[draft].valves.iter().map(|v| work.valves[*v].grid.leg).collect();
        for claim in work.claims.values_mut().filter(|c| c.electrode.is_some_and(|e| grids.contains(&e))) {
            claim.draft = Some(draft);
        }
        for valve in work.drafts[draft].valves.clone() {
            let valve = work.valves[valve].clone();
            plate(work, draft, valve.plate);
            cathode(work, draft, valve.cathode);
            if let Some(screen) = valve.screen {
                screen_parts(work, draft, screen, valve.plate, valve.cathode);
            }
        }
    }
}

fn plate(work: &mut Work, draft: usize, pin: Pin) {
    let Some(node) = pin.node else { return };
    // An output valve's load is its transformer, which has a role of its own; a plate at a rail has none.
    if work.supply.contains_key(&node) || work.drafts[draft].kind.is_output() {
        return;
    }
    let rail = |work: &Work, s: &Step| work.supply.contains_key(&s.end());
    if let Some(load) = plate_load(work, node) {
        give(work, draft, pin, &load, RoleKind::PlateLoad, true);
    }
    // Loads in parallel (a part replaced by two) are loads too.
    for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound]) {
        let steps = work.view.chain(step);
        if !step.arm.pot && steps.last().is_some_and(|s| rail(work, s)) {
            give(work, draft, pin, &steps, RoleKind::PlateLoad, true);
        }
    }
}

/// Claims one role for parts in series from an electrode.
fn give(work: &mut Work, draft: usize, pin: Pin, steps: &[Step], kind: RoleKind, back: bool) {
    let end = Spot::Node(steps.last().map_or(GROUND, Step::end));
    let leg = Spot::Leg(pin.leg);
    let why = if back { work.path_back(leg, steps, end) } else { work.path(leg, steps, end) };
    for step in steps {
        work.claim_for(step.part(), kind, Some(draft), Some(pin.leg), why.clone());
    }
}

fn cathode(work: &mut Work, draft: usize, pin: Pin) {
    let Some(node) = pin.node.filter(|n| *n != GROUND) else { return };
    let Some(rungs) = cathode_rungs(work, node) else { return };
    let kind = work.drafts[draft].kind;
    let mut path: Vec<Step> = Vec::new();
    for (index, rung) in rungs.iter().enumerate() {
        let from = path.last().map_or(node, Step::end);
        path.push(*rung);
        // Parts beside the rung share its role.
        for step in work.view.steps_by(from, &[Flow::Resistive, Flow::Wound, Flow::Diode]) {
            if step.end() == rung.end() && !(step.arm.pot && step.part() != rung.part()) {
                let role = rung_role(work, kind, &rungs, index, step);
                let mut steps = path.clone();
                steps[index] = step;
                let end = Spot::Node(step.end());
                let why = work.path(Spot::Leg(pin.leg), &steps, end);
                work.claim_for(step.part(), role, Some(draft), Some(pin.leg), why);
            }
        }
    }
    for step in bypass(work, node, &rungs) {
        let why = work.path(Spot::Leg(pin.leg), &[step], Spot::Node(step.end()));
        work.claim_for(step.part(), RoleKind::CathodeBypass, Some(draft), Some(pin.leg), why);
    }
    still_nodes(work, draft, node, &rungs);
}

/// Rungs carry no signal on, except where a follower's or a split load's output leaves.
fn still_nodes(work: &mut Work, draft: usize, node: Node, rungs: &[Step]) {
    let live = &work.drafts[draft].outputs;
    let mut nodes = vec![node];
    nodes.extend(rungs.iter().map(Step::end));
    nodes.retain(|n| *n != GROUND && !live.contains(n));
    work.still.extend(nodes);
}

/// What one rung between cathode and chassis is.
fn rung_role(work: &Work, kind: StageKind, rungs: &[Step], index: usize, step: Step) -> RoleKind {
    if step.arm.flow == Flow::Diode {
        return RoleKind::CathodeDiode;
    }
    let value = work.view.value(step.part());
    let bias_part = index == 0 && rungs.len() > 1 && leak_lands(work, rungs[0].end());
    match kind {
        // Before the follower's load: of two resistors beneath a cathode with the leak at their joint the upper one
        // sets the bias, whatever the stage.
        _ if bias_part => RoleKind::CathodeResistor,
        // At 10 Ω and 100 mA a cathode rises by 1 V: a shunt for a meter, no bias of an output valve.
        StageKind::PushPullOutput { .. } | StageKind::SingleEndedOutput { .. }
            if value.is_some_and(|r| r <= SENSE_OHMS) =>
        {
            RoleKind::SenseResistor
        }
        StageKind::CathodeFollower { .. } => RoleKind::FollowerLoad,
        StageKind::SplitLoad => RoleKind::CathodeLoad,
        StageKind::LongTailedPair if joins_cathodes(work, rungs, index) => RoleKind::CathodeResistor,
        StageKind::LongTailedPair => RoleKind::TailResistor,
        _ => RoleKind::CathodeResistor,
    }
}

/// Whether the rung only joins one cathode of a pair to the common tail.
fn joins_cathodes(work: &Work, rungs: &[Step], index: usize) -> bool {
    let end = rungs[index].end();
    index == 0
        && rungs.len() > 1
        && work
            .view
            .steps_by(end, &[Flow::Resistive])
            .iter()
            .filter(|s| work.has(s.end(), Electrode::Cathode))
            .count()
            > 1
}

/// Whether a grid leak ends at this node: what lies above it sets the bias.
fn leak_lands(work: &Work, node: Node) -> bool {
    let leak = |s: Step| {
        let end = work.view.chain(s).last().map_or(GROUND, Step::end);
        let behind = |n: Node| {
            let ways = work.view.steps_by(n, &[Flow::Resistive]);
            !work.quiet(n) && ways.iter().any(|w| work.has(w.end(), Electrode::Grid))
        };
        end != GROUND && !work.has(end, Electrode::Cathode) && (work.has(end, Electrode::Grid) || behind(end))
    };
    work.view.steps_by(node, &[Flow::Resistive]).into_iter().any(leak)
}

fn screen_parts(work: &mut Work, draft: usize, pin: Pin, plate: Pin, cathode: Pin) {
    let Some(node) = pin.node else { return };
    if work.supply.contains_key(&node) {
        return;
    }
    // Triode-connected: the screen hangs on its own plate, by a resistor as a rule.
    let strapped = |n: Node| plate.node == Some(n);
    for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound]) {
        let steps = work.view.chain(step);
        let end = steps.last().map_or(GROUND, Step::end);
        if work.supply.contains_key(&end) || strapped(end) || end == GROUND {
            give(work, draft, pin, &steps, RoleKind::ScreenResistor, true);
        }
    }
    for step in work.view.steps_by(node, &[Flow::Capacitive]) {
        if step.end() == GROUND || cathode.node == Some(step.end()) {
            give(work, draft, pin, &[step], RoleKind::ScreenBypass, false);
        }
    }
    // A screen held by its bypass carries no signal on; one strapped to the plate swings with it.
    if !strapped(node) {
        work.still.insert(node);
    }
}

/// The leg of a valve's electrode that sits in a node.
pub(super) fn electrode_at(work: &Work, node: Node, electrode: Electrode) -> Option<LegId> {
    let (valve, _) = work.pins.get(&node)?.iter().find(|(_, e)| *e == electrode)?;
    let valve = &work.valves[*valve];
    match electrode {
        Electrode::Plate => Some(valve.plate.leg),
        Electrode::Grid => Some(valve.grid.leg),
        Electrode::Cathode => Some(valve.cathode.leg),
        Electrode::Screen => valve.screen.map(|s| s.leg),
    }
}
