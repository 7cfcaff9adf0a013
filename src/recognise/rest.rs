//! Parts whose kind says what they are for: valves, jacks, speakers, lamps, wires, fittings; and lone diodes.

use super::signal::Signal;
use super::view::GROUND;
use super::work::{Electrode, Work};
use crate::circuit::{LegId, PartId};
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// Claims what is left.
pub(super) fn claim(work: &mut Work, signal: &Signal) {
    valves(work);
    for (draft, jacks) in &signal.jacks {
        for jack in jacks {
            let name = &work.circuit().part(*jack).name;
            let grid = work.drafts[*draft].valves.first().map(|v| work.valves[*v].grid.leg);
            let why = format!("{name}.tip … {}", grid.map_or(String::new(), |g| work.circuit().leg_name(g)));
            work.claim_for(*jack, RoleKind::InputJack, Some(*draft), None, why);
        }
    }
    for part in work.view.parts() {
        by_kind(work, part);
    }
    indicator_resistors(work);
}

fn valves(work: &mut Work) {
    for draft in 0..work.drafts.len() {
        let kind =
            if work.drafts[draft].kind.is_output() { RoleKind::OutputValve } else { RoleKind::PreampValve };
        for valve in work.drafts[draft].valves.clone() {
            let tube = work.valves[valve].section.tube;
            // A double valve serves two stages: the role names the first only.
            let why = work.drafts[draft].why.clone();
            work.claim_for(tube, kind, Some(draft), None, why);
        }
    }
}

fn by_kind(work: &mut Work, part: PartId) {
    let this = work.circuit().part(part);
    let nets: Vec<String> = (0..this.legs.len() as u32)
        .filter_map(|leg| work.view.seat(LegId { part, leg }))
        .map(|n| work.net_name(n))
        .collect();
    let kind = match this.kind {
        Kind::OutputTransformer => RoleKind::OutputTransformer,
        Kind::ReverbTransformer => RoleKind::ReverbTransformer,
        Kind::Speaker => RoleKind::Speaker,
        Kind::Jack => RoleKind::Jack,
        Kind::Lamp | Kind::Led => RoleKind::Indicator,
        Kind::Link => RoleKind::Wire,
        Kind::Fitting | Kind::Can => RoleKind::Fitting,
        Kind::Diode | Kind::Zener if protects(work, part) => RoleKind::ProtectionDiode,
        _ => return,
    };
    let why = if nets.is_empty() {
        this.component
            .body
            .on
            .as_ref()
            .map_or_else(|| this.name.clone(), |on| format!("{} on {on}", this.name))
    } else {
        format!("{}: {}", this.name, super::mains::sorted(nets))
    };
    work.claim(part, kind, why);
}

/// A diode at an electrode with its other end at chassis, a supply or another electrode.
fn protects(work: &Work, part: PartId) -> bool {
    let arm = work.view.arms().iter().find(|a| a.part == part);
    arm.is_some_and(|a| {
        let at = |n| {
            work.has(n, Electrode::Plate) || work.has(n, Electrode::Grid) || work.has(n, Electrode::Cathode)
        };
        let calm = |n| n == GROUND || work.quiet(n);
        (at(a.from) && (calm(a.to) || at(a.to))) || (at(a.to) && calm(a.from))
    })
}

/// The resistor in series with a lamp or LED.
fn indicator_resistors(work: &mut Work) {
    for arm in work.view.arms().to_vec() {
        if work.role(arm.part) != Some(RoleKind::Indicator) {
            continue;
        }
        for node in [arm.from, arm.to] {
            // On the lamp's quiet side half the amplifier hangs: what lies beside it there is not its resistor.
            if work.quiet(node) {
                continue;
            }
            let ways = work.view.steps(node);
            if let [x, y] = ways.as_slice() {
                let other = if x.part() == arm.part { y } else { x };
                if other.arm.flow == Flow::Resistive {
                    let name = &work.circuit().part(arm.part).name;
                    let why = format!("{} — {name}", work.circuit().part(other.part()).name);
                    work.claim(other.part(), RoleKind::Indicator, why);
                }
            }
        }
    }
}
