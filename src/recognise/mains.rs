//! The mains side: from the inlet to the primary, through switches in any position.

use std::collections::{BTreeSet, VecDeque};

use super::work::Work;
use crate::circuit::{LegId, NetId, PartId};
use crate::model::{Kind, RoleKind};

/// Finds the mains nets and claims the parts on them.
pub(super) fn claim(work: &mut Work) {
    let mut starts = BTreeSet::new();
    for inlet in work.view.parts_of_kind(Kind::Inlet) {
        starts.extend(
            ["live", "neutral"]
                .iter()
                .filter_map(|l| work.view.leg(inlet, l))
                .filter_map(|l| work.view.seat(l)),
        );
        let why = work.circuit().part(inlet).name.clone();
        work.claim(inlet, RoleKind::MainsInlet, why);
    }
    for transformer in work.view.parts_of_kind(Kind::MainsTransformer) {
        let legs = &work.circuit().part(transformer).legs;
        let primary = |l: &&crate::circuit::Leg| l.name.starts_with("primary");
        starts.extend(
            legs.iter()
                .filter(primary)
                .filter_map(|l| work.view.leg(transformer, &l.name))
                .filter_map(|l| work.view.seat(l)),
        );
        let why = work.circuit().part(transformer).name.clone();
        work.claim(transformer, RoleKind::MainsTransformer, why);
    }
    // A fault or an old two-wire amplifier may put a conductor at chassis; all that is on chassis is not on the
    // mains.
    starts.remove(&crate::circuit::CHASSIS);
    walk(work, starts);
    for part in work.view.parts() {
        part_on_mains(work, part);
    }
}

/// Spreads through what carries the mains current.
fn walk(work: &mut Work, starts: BTreeSet<NetId>) {
    let mut queue: VecDeque<NetId> = starts.iter().copied().collect();
    work.mains = starts;
    while let Some(net) = queue.pop_front() {
        for leg in work.view.legs_at(work.view.node_of(net)).to_vec() {
            let part = work.circuit().part(leg.part);
            let carries = matches!(
                part.kind,
                Kind::Fuse | Kind::Switch | Kind::Link | Kind::Thermistor | Kind::Inductor | Kind::Relay
            );
            // By net, not by node: an open mains switch must be walked through, and links are seen as parts here.
            if carries && work.view.seat(leg) == Some(net) {
                for other in others(work, leg) {
                    if other != crate::circuit::CHASSIS && work.mains.insert(other) {
                        queue.push_back(other);
                    }
                }
            }
        }
    }
}

/// Nets a part can join with the one that a leg sits in.
fn others(work: &Work, leg: LegId) -> Vec<NetId> {
    let part = work.circuit().part(leg.part);
    let seat = |index: u32| work.view.seat(LegId { part: leg.part, leg: index });
    if matches!(part.kind, Kind::Switch | Kind::Relay) {
        // In any position: what a switch may join with the mains is on the mains side.
        let thrown = part.component.body.contacts.iter().filter_map(|c| match leg.leg {
            l if l == c.a => seat(c.b),
            l if l == c.b => seat(c.a),
            _ => None,
        });
        return thrown.collect();
    }
    (0..part.legs.len() as u32).filter(|i| *i != leg.leg).filter_map(seat).collect()
}

/// Names as a list, in natural order: a switch's legs come in the order of the text.
pub(super) fn sorted(mut names: Vec<String>) -> String {
    names.sort_by(|a, b| crate::circuit::natural(a, b));
    names.dedup();
    names.join(", ")
}

fn part_on_mains(work: &mut Work, part: PartId) {
    let this = work.circuit().part(part);
    let seats: Vec<NetId> =
        (0..this.legs.len() as u32).filter_map(|leg| work.view.seat(LegId { part, leg })).collect();
    let on = seats.iter().filter(|n| work.mains.contains(n)).count();
    let kind = match this.kind {
        _ if on == 0 => return,
        Kind::Fuse => RoleKind::MainsFuse,
        // One lug on the mains is a pole beside, of a switch that does something else.
        Kind::Switch | Kind::Relay if on >= 2 => RoleKind::MainsSwitch,
        Kind::Capacitor => RoleKind::MainsCapacitor,
        Kind::Varistor => RoleKind::SurgeArrester,
        Kind::Thermistor => RoleKind::InrushLimiter,
        Kind::Inductor | Kind::Choke => RoleKind::Snubber,
        Kind::Lamp | Kind::Led => RoleKind::Indicator,
        Kind::Resistor if on == 2 => RoleKind::Bleeder,
        _ => return,
    };
    let names: Vec<String> = seats.iter().map(|n| work.net_name(*n)).collect();
    let why = match names.as_slice() {
        [a, b] => format!("{a} — {} — {b}", this.name),
        _ => format!("{}: {}", this.name, sorted(names)),
    };
    work.claim(part, kind, why);
}
