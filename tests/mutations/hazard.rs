//! What is past a rating or puts a person at risk, computed from solved quantities and stated ratings alone: no rule is asked.

use std::collections::BTreeSet;

use asfound::analysis::{Worked, mains_side};
use asfound::circuit::{CHASSIS, Circuit, NetId, Part, PartId};
use asfound::model::{Condition, Construction, Kind};
use asfound::solve::Solved;

use super::grid::grid_circuits;

/// Who is at risk and how: `V5`, `plate watts`.
pub(super) type Hazard = (String, &'static str);

/// Past a limit only by more than rounding and the third digit of a written value.
pub(super) const OVER: f64 = 1.01;

/// Everything hazardous in one amplifier.
pub(super) fn hazards(worked: &Worked) -> BTreeSet<Hazard> {
    let mut found = BTreeSet::new();
    for (condition, solved) in points(worked) {
        for id in worked.circuit.part_ids().filter(|id| worked.circuit.part(*id).fitted()) {
            of_part(&worked.circuit, solved, (condition, id), &mut found);
        }
        if matches!(condition, Condition::Idle | Condition::HighMains | Condition::ColdStart) {
            for id in worked.circuit.part_ids().filter(|id| worked.circuit.part(*id).fitted()) {
                of_valve(&worked.circuit, solved, id, &mut found);
            }
        }
        touchable(&worked.circuit, solved, &mut found);
    }
    mains(&worked.circuit, &mut found);
    found.extend(grid_circuits(worked));
    found
}

/// Every operating point, where a grid floats also with its section cut off.
fn points(worked: &Worked) -> impl Iterator<Item = (Condition, &Solved)> {
    worked.solved.by_condition.iter().flat_map(|(condition, cases)| {
        cases
            .iter()
            .flat_map(|c| [&c.solved].into_iter().chain(&c.cut_off))
            .map(|solved| (*condition, solved))
    })
}

fn of_part(
    circuit: &Circuit,
    solved: &Solved,
    (condition, id): (Condition, PartId),
    found: &mut BTreeSet<Hazard>,
) {
    // A bias supply that fails is a fault of its own, and how unevenly valves warm up says little of other parts.
    if matches!(condition, Condition::BiasLost | Condition::UnevenWarmUp) {
        return;
    }
    let part = circuit.part(id);
    let mut note = |what| found.insert((part.name.clone(), what));
    let heats = matches!(part.kind, Kind::Resistor | Kind::Pot | Kind::Trimmer);
    let watts = solved.watts[id.0 as usize].zip(part.component.body.power);
    // The seconds of an uneven warm-up heat no resistor through.
    let lasts = condition != Condition::UnevenWarmUp;
    if lasts && heats && watts.is_some_and(|(watts, rated)| watts > OVER * rated) {
        note("watts");
    }
    let across = solved.across(circuit, id);
    let stands = matches!(part.kind, Kind::Resistor | Kind::Capacitor);
    if stands
        && across.zip(part.component.body.volts).is_some_and(|(volts, rated)| volts.abs() > OVER * rated)
    {
        note("volts");
    }
    let electrolytic = part.component.body.construction == Some(Construction::Electrolytic);
    if part.kind == Kind::Capacitor && electrolytic && across.is_some_and(|volts| volts < -1.0) {
        note("reverse volts");
    }
    let amps = solved.amps[id.0 as usize].first().copied().flatten().map(f64::abs);
    let rated = if part.kind == Kind::Fuse { part.component.body.value } else { part.component.body.amps };
    let carries = matches!(part.kind, Kind::Choke | Kind::Diode | Kind::Fuse);
    if carries && amps.zip(rated).is_some_and(|(amps, rated)| amps > OVER * rated) {
        note("amps");
    }
}

fn of_valve(circuit: &Circuit, solved: &Solved, id: PartId, found: &mut BTreeSet<Hazard>) {
    let tube = circuit.part(id);
    let Some(of) = tube.component.body.type_name.as_deref().and_then(|name| circuit.types.tube(name)) else {
        return;
    };
    for letter in of.construction.sections().iter().filter(|l| !tube.unused.iter().any(|u| u == *l)) {
        let name = format!("{}{letter}", tube.name);
        for (what, value, limit) in borne(circuit, solved, (id, letter)) {
            if value.zip(of.limit(limit)).is_some_and(|(value, most)| value > OVER * most) {
                found.insert((name.clone(), what));
            }
        }
    }
}

/// What a section bears in a condition, each with the limit that holds there.
fn borne(
    circuit: &Circuit,
    solved: &Solved,
    (id, letter): (PartId, &str),
) -> Vec<(&'static str, Option<f64>, &'static str)> {
    let of = circuit.part(id).component.body.type_name.as_deref().and_then(|name| circuit.types.tube(name));
    let volts = |electrode: &str| {
        let leg = if letter.is_empty() { electrode.to_owned() } else { format!("{letter}.{electrode}") };
        circuit.leg_net(id, &leg).and_then(|net| solved.net_volts(net))
    };
    let cathode = volts("cathode");
    let above = |electrode: &str| volts(electrode).zip(cathode).map(|(volts, cathode)| volts - cathode);
    let heater = circuit.heaters.iter().find(|h| h.valves.contains(&id)).and_then(|h| h.reference);
    let heater =
        solved.net_volts(heater.unwrap_or(CHASSIS)).zip(cathode).map(|(heater, cathode)| heater - cathode);
    let side = if heater.is_some_and(|volts| volts > 0.0) { "heater-positive" } else { "heater-negative" };
    let side = if of.is_some_and(|of| of.limit(side).is_some()) { side } else { "heater-cathode" };
    let heater = ("heater to cathode", heater.map(f64::abs), side);
    // Design-centre limits allow for the mains by themselves.
    let nominal = of.is_some_and(|of| of.rating_system.as_deref() == Some("design-centre"));
    if solved.condition == Condition::ColdStart {
        let plate = ("plate volts cold", above("plate"), "plate-cold");
        return vec![heater, plate, ("screen volts cold", above("screen"), "screen-cold")];
    }
    if solved.condition == Condition::HighMains && nominal {
        return Vec::new();
    }
    let section = solved.section(id, letter);
    vec![
        heater,
        ("plate volts", above("plate"), "plate"),
        ("screen volts", above("screen"), "screen"),
        ("plate watts", section.map(|s| s.plate_watts), "plate-power"),
        ("screen watts", section.and_then(|s| s.screen_watts), "screen-power"),
        ("cathode current", section.map(|s| s.cathode_amps), "cathode-current"),
    ]
}

/// More than 60 V DC where a plug or a hand goes (IEC 62368-1, ES1; from memory).
fn touchable(circuit: &Circuit, solved: &Solved, found: &mut BTreeSet<Hazard>) {
    for part in circuit.parts.iter().filter(|p| p.fitted() && p.kind == Kind::Jack) {
        let high = |net: NetId| solved.net_volts(net).is_some_and(|volts| volts.abs() > 60.0);
        if part.legs.iter().any(|l| matches!(l.name.as_str(), "tip" | "sleeve") && l.net.is_some_and(high)) {
            found.insert((part.name.clone(), "volts to touch"));
        }
    }
}

fn mains(circuit: &Circuit, found: &mut BTreeSet<Hazard>) {
    let on_mains = mains_side(circuit);
    let fitted = || circuit.part_ids().filter(|id| circuit.part(*id).fitted());
    for id in fitted() {
        let part = circuit.part(id);
        let mut note = |what| found.insert((part.name.clone(), what));
        let on = |name: &str| circuit.leg_net(id, name);
        match part.kind {
            Kind::Inlet => {
                if part.component.body.two_core || on("earth") != Some(CHASSIS) {
                    note("no earth");
                }
                if on("live") == Some(CHASSIS) || on("neutral") == Some(CHASSIS) {
                    note("mains on chassis");
                }
                if on("live").is_some_and(|live| !fused(circuit, live)) {
                    note("live without fuse");
                }
            }
            Kind::Fuse if part.component.shorted => {
                note("fuse bridged");
            }
            Kind::Capacitor => lies_on_mains(part, &on_mains, &mut note),
            _ => {}
        }
    }
}

fn lies_on_mains(part: &Part, mains: &BTreeSet<NetId>, note: &mut impl FnMut(&'static str) -> bool) {
    let nets: Vec<NetId> = part.legs.iter().filter_map(|l| l.net).collect();
    if !nets.iter().any(|n| mains.contains(n)) {
        return;
    }
    let y = matches!(part.component.body.construction, Some(Construction::Y1 | Construction::Y2));
    let x = y || matches!(part.component.body.construction, Some(Construction::X1 | Construction::X2));
    if !(y || x && !nets.contains(&CHASSIS)) {
        note("class");
    }
}

/// Whether the live conductor goes into a fuse that is whole, or nowhere.
fn fused(circuit: &Circuit, live: NetId) -> bool {
    let passes = |p: &Part| p.kind != Kind::Inlet && (p.kind != Kind::Fuse || p.component.shorted);
    !circuit.parts_on(live).into_iter().any(|id| passes(circuit.part(id)))
}

/// Fuses that pass more than the stock one's half again: what it should cut burns.
pub(super) fn larger_fuses(stock: &Circuit, now: &Circuit) -> Vec<Hazard> {
    let fuses = stock.parts.iter().filter(|p| p.kind == Kind::Fuse);
    let larger = |fuse: &&Part| {
        let there = now.find(&fuse.name).map(|id| now.part(id)).filter(|p| p.fitted());
        there
            .and_then(|p| p.component.body.value)
            .zip(fuse.component.body.value)
            .is_some_and(|(is, was)| is > 1.5 * was)
    };
    fuses.map(AsRef::as_ref).filter(larger).map(|fuse| (fuse.name.clone(), "fuse too large")).collect()
}
