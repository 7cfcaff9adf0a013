//! What a list of changes costs: the work of each at the bench, in rough proportion.

use super::pairing::Legs;
use super::sketch::Look;
use crate::change::{Change, ChangeKind};

/// A cost. All are whole numbers, so that costs can be compared exactly.
pub(super) type Price = u32;

/// A part out, or a part in.
pub(super) const PART: Price = 3;

/// Another body in the same place: value, type, rating, condition.
pub(super) const BODY: Price = 2;

/// A leg elsewhere, a part turned round, two parts exchanged, a net cut or bridged.
pub(super) const WIRING: Price = 2;

/// A control that stands elsewhere.
pub(super) const SETTING: Price = 1;

/// Two parts that have nothing to do with each other: one out, one in.
pub(super) const SEPARATE: Price = 2 * PART;

/// What one change costs.
pub fn cost(kind: ChangeKind) -> u32 {
    match kind {
        ChangeKind::Missing | ChangeKind::Added | ChangeKind::Restored | ChangeKind::Removed => PART,
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
        ChangeKind::Replaced | ChangeKind::Repaired => 0,
    }
}

/// What a list of changes costs.
pub fn total(changes: &[Change]) -> u32 {
    changes.iter().map(|change| cost(change.kind)).sum()
}

/// What it costs to make one part of the other, as far as their places are known.
pub(super) fn pair_cost(x: &Look, y: &Look, legs: &Legs) -> Price {
    let body = if x.body == y.body { 0 } else { BODY };
    body + WIRING * legs.stray + legs.extra
}
