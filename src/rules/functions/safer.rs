//! Changes to the safer side, which nobody should be told to undo.

use crate::change::{Change, ChangeKind};
use crate::circuit::{Body, CHASSIS, Circuit, NetId, Part};
use crate::model::{Construction, Kind};
use crate::rules::context::Context;

/// Whether a change since the document beneath or the stock spec moves to the safer side.
pub(super) fn safer(c: &Context<'_>, change: &Change) -> bool {
    let circuit = &c.facts.now.circuit;
    let new = change.after_part.or_else(|| circuit.find(&change.subject));
    let Some(new) = new.map(|id| circuit.part(id)) else { return false };
    if matches!(change.kind, ChangeKind::Added | ChangeKind::Bridged) {
        return new.kind == Kind::Fuse || bonds_earth(circuit, new);
    }
    // The later circuit holds what was before: differences start from the stock spec, changes from the document beneath.
    let mut start = [&c.facts.stock, &c.facts.before].into_iter().flatten();
    let old = start.find_map(|worked| Some(worked.circuit.part(worked.circuit.find(&change.subject)?)));
    change.kind == ChangeKind::Rerated
        && old.is_some_and(|old| better(&old.component.body, &new.component.body))
}

/// Whether nothing is lower and something is higher.
fn better(old: &Body, new: &Body) -> bool {
    let rating = |of: fn(&Body) -> Option<f64>| match (of(old), of(new)) {
        (Some(old), Some(new)) => Some(new.total_cmp(&old)),
        (None, _) => Some(std::cmp::Ordering::Equal),
        (Some(_), None) => None,
    };
    let class = Some(class(new.construction).cmp(&class(old.construction)));
    let cores = Some(old.two_core.cmp(&new.two_core));
    let all = [rating(|b| b.power), rating(|b| b.volts), rating(|b| b.amps), class, cores];
    let lower = |o: &Option<std::cmp::Ordering>| o.is_none_or(std::cmp::Ordering::is_lt);
    !all.iter().any(lower) && all.contains(&Some(std::cmp::Ordering::Greater))
}

/// Safety classes in order: Y stands where a failure could lead to shock, X where it could not (IEC 60384-14).
fn class(construction: Option<Construction>) -> u8 {
    match construction {
        Some(Construction::Y1) => 4,
        Some(Construction::Y2) => 3,
        Some(Construction::X1) => 2,
        Some(Construction::X2) => 1,
        _ => 0,
    }
}

/// Whether a link joins the earth of a mains inlet to the chassis.
fn bonds_earth(circuit: &Circuit, link: &Part) -> bool {
    let [a, b] = link.legs.as_slice() else { return false };
    let earth = |net: Option<NetId>| {
        circuit.part_ids().map(|id| circuit.part(id)).filter(|part| part.kind == Kind::Inlet).any(|inlet| {
            inlet.leg_index("earth").is_some_and(|index| inlet.legs[index].net == net && net.is_some())
        })
    };
    let chassis = |net: Option<NetId>| net == Some(CHASSIS);
    link.kind == Kind::Link && (earth(a.net) && chassis(b.net) || chassis(a.net) && earth(b.net))
}
