//! What a fuse cuts off: whether the supply goes on without it.

use std::collections::BTreeSet;

use super::evaluate::Question;
use super::situation::Situation;
use crate::circuit::{Circuit, PartId};
use crate::model::Kind;
use crate::numeric::outcome::Unsolved;

/// A supply counts as there from this share of what it is on.
const ALIVE: f64 = 0.5;

/// Fuses are told apart by taking each out in turn; more than these aren't.
const MOST_FUSES: usize = 8;

/// Volts rms across the busiest primary, and the highest volts DC that rectifiers make, with some parts out; what a
/// `source` stands for is the rectifiers' work.
fn supplied(circuit: &Circuit, out: &[PartId]) -> Result<[f64; 2], Unsolved> {
    let sources = circuit.part_ids().filter(|id| circuit.part(*id).kind == Kind::Source);
    let removed: BTreeSet<PartId> = sources.chain(out.iter().copied()).collect();
    let question = Question { circuit, reach: &[], removed, only: None };
    let situation = Situation::default();
    Ok([question.primary_volts(&situation)?, question.highest_volts(&situation)?])
}

/// Whether a fuse that cut a supply off in the spec no longer does, while that supply is there: the way goes past it.
/// Where several share a supply, each is asked with the others out.
pub fn fuse_bypassed(spec: &Circuit, now: &Circuit, fuse: &str) -> Result<bool, Unsolved> {
    let Some(in_spec) = spec.find(fuse) else { return Ok(false) };
    let mut others = Vec::new();
    let mut whole = supplied(spec, &others)?;
    let mut cut_off = cuts_off(spec, (&others, whole), in_spec)?;
    if cut_off == [false; 2] {
        others = sharing(spec, whole, in_spec)?;
        if others.is_empty() {
            return Ok(false);
        }
        whole = supplied(spec, &others)?;
        cut_off = cuts_off(spec, (&others, whole), in_spec)?;
    }
    if cut_off == [false; 2] {
        return Ok(false);
    }
    let mut out: Vec<PartId> = others.iter().filter_map(|id| now.find(&spec.part(*id).name)).collect();
    let here = supplied(now, &out)?;
    out.extend(now.find(fuse));
    let past = supplied(now, &out)?;
    // Both against the spec's supply and against its own: one that is dead for another reason proves no bypass.
    let goes_on = |side: usize| here[side] > ALIVE * whole[side] && past[side] > ALIVE * here[side];
    Ok([0, 1].into_iter().any(|side| cut_off[side] && goes_on(side)))
}

/// Which of the two supplies a part cuts off, with others out and what is supplied then.
fn cuts_off(
    circuit: &Circuit,
    (others, whole): (&[PartId], [f64; 2]),
    part: PartId,
) -> Result<[bool; 2], Unsolved> {
    let without = supplied(circuit, &[others, &[part]].concat())?;
    Ok([0, 1].map(|side| whole[side] > 0.0 && without[side] < ALIVE * whole[side]))
}

/// The other fuses without any one of which every supply is still there.
fn sharing(circuit: &Circuit, whole: [f64; 2], fuse: PartId) -> Result<Vec<PartId>, Unsolved> {
    let fuses =
        circuit.part_ids().filter(|id| circuit.part(*id).kind == Kind::Fuse && circuit.part(*id).fitted());
    let mut sharing = Vec::new();
    for other in fuses.filter(|id| *id != fuse).take(MOST_FUSES) {
        if cuts_off(circuit, (&[], whole), other)? == [false; 2] {
            sharing.push(other);
        }
    }
    Ok(sharing)
}
