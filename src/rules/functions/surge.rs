//! What capacitors take for the seconds of a cold start, and whether the rectifier spares them those.

use super::{Function, PART, TRUTH, VOLTS, part, truth};
use crate::circuit::Part;
use crate::model::{Condition, Construction};
use crate::rules::value::Value;
use crate::rules::warm_up;

/// An electrolytic rated up to so many volts takes [`LOW_SURGE`] of them, one above [`HIGH_SURGE`], for 30 s at most (IEC
/// 60384-4, from memory).
const LOW_VOLTS: f64 = 315.0;
const LOW_SURGE: f64 = 1.15;
const HIGH_SURGE: f64 = 1.10;
/// Film and other dry capacitors are tested for a minute at so much of their rating (IEC 60384-16, from memory).
const DRY_SURGE: f64 = 1.6;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "surge-volts",
        params: &[PART],
        gives: VOLTS,
        solved: false,
        docs: "What a capacitor takes for the seconds of a cold start: of an electrolytic 1.15 times its rating up to 315 V, \
               1.10 times above, for 30 s; of another 1.6 times, its test volts.",
        example: "volts(c) > surge-volts(c)",
        code: |c, args| {
            let p = c.part(part(args)?);
            let rated = p.component.body.volts.map(|volts| Value::stated(volts * surge(p, volts)));
            rated.ok_or_else(|| format!("the voltage rating of {} is not stated", p.name))
        },
    },
    Function {
        name: "rectifier-warms",
        params: &[],
        gives: TRUTH,
        solved: true,
        docs: "Whether it is a cold start behind valve rectifiers that are indirectly heated, with nothing past them: the supply \
               then usually comes up with the valves that draw from it.",
        example: "volts(c) > surge-volts(c) and not rectifier-warms",
        code: |c, _| truth(c.condition == Condition::ColdStart && warm_up::with_the_rest(c.circuit())),
    },
];

fn surge(part: &Part, volts: f64) -> f64 {
    match part.component.body.construction {
        Some(Construction::Electrolytic) if volts <= LOW_VOLTS => LOW_SURGE,
        // What is not said to be film may be the one that takes less.
        Some(Construction::Electrolytic) | None => HIGH_SURGE,
        Some(_) => DRY_SURGE,
    }
}
