//! Readings held against each other, without any circuit between them.

use super::{Function, READING, SHARE, thing};
use crate::circuit::{NetId, Reading, Target};
use crate::rules::ast::Sign;
use crate::rules::context::{Context, Known, measured};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, Thing, Value};
use crate::units::Unit;

pub(super) const TABLE: &[Function] = &[Function {
    name: "contradicted",
    params: &[READING],
    gives: SHARE,
    solved: false,
    docs: "How far a reading of volts across a part or between two places lies from the difference of the readings at its two \
           ends, beyond what their meters allow, as a share of the largest of the three; 0 where they agree or an end was not \
           read.",
    example: "contradicted(r) > 5 %",
    code: |c, args| {
        let Thing::Reading(index) = thing(args, 0)? else { return Err("not a reading".to_owned()) };
        let reading = c.circuit().readings.get(index).ok_or("no such reading")?;
        let off = contradicted(c, reading)?;
        Ok(Value::number(Number::plain(off, Basis::Measured)))
    },
}];

fn contradicted(c: &Context<'_>, reading: &Reading) -> Known<f64> {
    let ends = match reading.target {
        Target::Between(a, b) => Some((a, b)),
        Target::Part(part) => c.circuit().ends(part),
        Target::Net(_) | Target::Leg(_) => None,
    };
    let at = |net: NetId| {
        let same = |r: &&Reading| {
            r.target == Target::Net(net) && r.unit == Unit::Volt && !r.ac && r.condition == reading.condition
        };
        match net {
            crate::circuit::CHASSIS => Some(Number::plain(0.0, Basis::Stated)),
            _ => c.circuit().readings.iter().find(same).map(measured),
        }
    };
    let read = ends.and_then(|(a, b)| at(a).zip(at(b)));
    let Some((a, b)) = read.filter(|_| reading.unit == Unit::Volt && !reading.ac) else { return Ok(0.0) };
    let apart = a.arith(Sign::Minus, b).ok_or("their difference is not finite")?.sized();
    let across = measured(reading).sized();
    let gap = (apart.low - across.high).max(across.low - apart.high).max(0.0);
    let largest = a.value.abs().max(b.value.abs()).max(across.value);
    Ok(if largest > 0.0 { gap / largest } else { 0.0 })
}
