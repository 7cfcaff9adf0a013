//! What a fuse cuts off: whether the supply goes on without it.

use std::collections::BTreeSet;

use super::evaluate::Question;
use super::situation::Situation;
use crate::circuit::{Circuit, PartId};
use crate::model::Kind;
use crate::numeric::outcome::Unsolved;

/// A supply counts as there from this share of what it is on.
const ALIVE: f64 = 0.5;

/// Volts rms across the busiest primary, and the highest volts DC that rectifiers make, with a part out or none; what a
/// `source` stands for is the rectifiers' work.
fn supplied(circuit: &Circuit, out: Option<PartId>) -> Result<[f64; 2], Unsolved> {
    let sources = circuit.part_ids().filter(|id| circuit.part(*id).kind == Kind::Source);
    let removed: BTreeSet<PartId> = sources.chain(out).collect();
    let question = Question { circuit, reach: &[], removed, only: None };
    let situation = Situation::default();
    Ok([question.primary_volts(&situation)?, question.highest_volts(&situation)?])
}

/// Whether a fuse that cut a supply off in the spec no longer does, while that supply is there: the way goes past it.
pub fn fuse_bypassed(spec: &Circuit, now: &Circuit, fuse: &str) -> Result<bool, Unsolved> {
    let Some(in_spec) = spec.find(fuse) else { return Ok(false) };
    let (whole, without) = (supplied(spec, None)?, supplied(spec, Some(in_spec))?);
    let cut_off = |side: usize| whole[side] > 0.0 && without[side] < ALIVE * whole[side];
    if ![0, 1].into_iter().any(cut_off) {
        return Ok(false);
    }
    let (here, past) = (supplied(now, None)?, supplied(now, now.find(fuse))?);
    let goes_on = |side: usize| here[side] > ALIVE * whole[side] && past[side] > ALIVE * here[side];
    Ok([0, 1].into_iter().any(|side| cut_off(side) && goes_on(side)))
}
