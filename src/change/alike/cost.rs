//! What a list of changes costs: the work of each at the bench, in rough proportion.

use super::pairing::Legs;
use super::sketch::Look;
use crate::change::{Change, ChangeKind};
use crate::circuit::{Circuit, PartId};

/// A cost. All are whole numbers, so that costs can be compared exactly.
pub(super) type Price = u32;

/// Another body in the same place: value, type, rating, condition.
pub(super) const BODY: Price = 2;

/// A leg elsewhere, a part turned round, two parts exchanged, a net cut or bridged.
pub(super) const WIRING: Price = 2;

/// A control that stands elsewhere.
pub(super) const SETTING: Price = 1;

/// A part of so many legs out, or in: as much as a leg moved, and more where it has more than two. So a part with
/// another body in another place is another part, and a valve with some of its legs moved is still that valve.
pub(super) fn part(legs: usize) -> Price {
    // At 1 a two-leg part out and another in would cost as much as one change of body: every revalued resistor could
    // be told so.
    legs.max(2) as u32
}

/// What one change between two circuits costs.
pub fn cost(change: &Change, before: &Circuit, after: &Circuit) -> u32 {
    let legs = |circuit: &Circuit, id: Option<PartId>| id.map_or(0, |id| circuit.part(id).legs.len());
    match change.kind {
        ChangeKind::Missing | ChangeKind::Added | ChangeKind::Restored | ChangeKind::Removed => {
            part(legs(before, change.before_part).max(legs(after, change.after_part)))
        }
        ChangeKind::Lifted
        | ChangeKind::Moved
        | ChangeKind::Bridged
        | ChangeKind::Cut
        | ChangeKind::Reversed => WIRING,
        ChangeKind::Shorted
        | ChangeKind::ValveSwapped
        | ChangeKind::Revalued
        | ChangeKind::Drifted
        | ChangeKind::Leaky
        | ChangeKind::Rerated => BODY,
        ChangeKind::ControlSet => SETTING,
        // A like part in its place makes no electrical difference between the two circuits.
        ChangeKind::Replaced | ChangeKind::Repaired => 0,
    }
}

/// What it costs to make one part of the other, as far as their places are known.
pub(super) fn pair_cost(x: &Look, y: &Look, legs: &Legs) -> Price {
    let body = if x.rated == y.rated { 0 } else { BODY };
    body + WIRING * legs.stray + legs.extra
}

/// What it costs to take one out and put the other in.
pub(super) fn separate(x: &Look, y: &Look) -> Price {
    part(x.legs.len()) + part(y.legs.len())
}
