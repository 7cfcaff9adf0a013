//! How each kind of part conducts: nets it joins, and ways through it from leg to leg.

use crate::circuit::{Leg, NetId, Part};
use crate::model::Kind;
use crate::recognise::flow::Flow;

/// Whether parts of this kind join nets rather than sit between them.
pub(super) fn joins_nets(kind: Kind) -> bool {
    matches!(kind, Kind::Link | Kind::Fuse | Kind::Switch | Kind::Relay)
}

/// Pairs of nets that the part joins without resistance. A jack's contact to chassis mutes an empty input and
/// says nothing about the circuit, so it counts as open.
pub(super) fn joins_of(part: &Part, seat: impl Fn(&Leg) -> Option<NetId>) -> Vec<(NetId, NetId)> {
    let pair = |a: &Leg, b: &Leg| Some((seat(a)?, seat(b)?));
    match part.kind {
        Kind::Link | Kind::Fuse => match part.legs.as_slice() {
            [a, b] => pair(a, b).into_iter().collect(),
            _ => Vec::new(),
        },
        Kind::Switch | Kind::Relay => {
            let closed = part
                .component
                .body
                .contacts
                .iter()
                .filter(|c| part.component.body.now.as_ref() == Some(&c.position));
            closed.filter_map(|c| pair(part.legs.get(c.a as usize)?, part.legs.get(c.b as usize)?)).collect()
        }
        Kind::Jack => {
            let leg = |name: &str| part.legs.iter().find(|l| l.name == name);
            let closed = part
                .component
                .body
                .normals
                .iter()
                .filter_map(|(contact, touched)| pair(leg(contact)?, leg(touched)?));
            closed.filter(|(a, b)| a.0 != 0 && b.0 != 0).collect()
        }
        _ => Vec::new(),
    }
}

/// Two-ended ways through a part, as leg indices.
pub(super) fn ways_of(part: &Part) -> Vec<(u32, u32, Flow)> {
    match part.kind {
        Kind::Resistor | Kind::Thermistor => vec![(0, 1, Flow::Resistive)],
        Kind::Choke | Kind::Inductor => vec![(0, 1, Flow::Wound)],
        Kind::Capacitor => vec![(0, 1, Flow::Capacitive)],
        Kind::Diode | Kind::Led | Kind::Zener => vec![(0, 1, Flow::Diode)],
        Kind::Lamp | Kind::Speaker => vec![(0, 1, Flow::Load)],
        Kind::Bridge => {
            // Anode first: ac1, ac2 to plus; minus to ac1, ac2.
            vec![(0, 2, Flow::Diode), (1, 2, Flow::Diode), (3, 0, Flow::Diode), (3, 1, Flow::Diode)]
        }
        Kind::Pot | Kind::Trimmer => {
            let mut ways = vec![(0, 1, Flow::Resistive), (1, 2, Flow::Resistive)];
            ways.extend((3..part.legs.len() as u32).map(|tap| (tap, 2, Flow::Resistive)));
            ways
        }
        Kind::Tube => rectifier_ways(part),
        _ => Vec::new(),
    }
}

/// Plates to cathode of a valve without grids.
fn rectifier_ways(part: &Part) -> Vec<(u32, u32, Flow)> {
    let find = |wanted: &str| part.legs.iter().position(|l| l.name == wanted);
    let gridded = part.legs.iter().any(|l| l.name.rsplit('.').next() == Some("grid"));
    let Some(cathode) = find("cathode").filter(|_| !gridded) else { return Vec::new() };
    let plate =
        |(i, leg): (usize, &Leg)| leg.name.rsplit('.').next().filter(|e| *e == "plate").map(|_| i as u32);
    part.legs.iter().enumerate().filter_map(plate).map(|p| (p, cathode as u32, Flow::Diode)).collect()
}
