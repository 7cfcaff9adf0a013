//! What is told otherwise and is electrically the same.

use super::rename::Same;
use crate::circuit::{Circuit, PartId};
use crate::model::Kind;

/// Parts that differ in the telling only.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Equal {
    /// Names in the first circuit.
    pub first: Vec<String>,
    /// Names in the second.
    pub second: Vec<String>,
    /// Why it makes no difference.
    pub why: String,
}

/// Double triodes whose halves are exchanged.
pub(super) fn halves(before: &Circuit, after: &Circuit, same: &Same) -> Vec<Equal> {
    let exchanged = |(second, first): &(&PartId, &PartId)| {
        let (old, new) = (before.part(**first), after.part(**second));
        let half = new.legs.iter().position(|leg| leg.name.starts_with("a."));
        let partner = half.and_then(|leg| same.partner_leg(**second, leg as u32));
        old.kind == Kind::Tube && partner.is_some_and(|leg| old.legs[leg as usize].name.starts_with("b."))
    };
    let told = |(second, first): (&PartId, &PartId)| Equal {
        first: vec![before.part(*first).name.clone()],
        second: vec![after.part(*second).name.clone()],
        why: "halves a and b exchanged".into(),
    };
    same.parts.iter().filter(exchanged).map(told).collect()
}
