//! What was found wrong inside a part, and readings in circuit that tell nothing.

use super::{AMPS, Function, OHMS, PART, SHARE, TEXT, TRUTH, part, text, truth};
use crate::circuit::{Part, Stray, Untold};
use crate::rules::finding::Basis;
use crate::rules::leaks;
use crate::rules::value::{Number, Value};

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "shorted-inside",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the record says that two legs of the part meet inside it, or one meets chassis: electrodes, windings, lugs.",
        example: "where shorted-inside(p)",
        code: |c, args| truth(c.part(part(args)?).component.strays.iter().any(short)),
    },
    Function {
        name: "short-overloads",
        params: &[PART],
        gives: TRUTH,
        solved: true,
        docs: "Whether a short inside the part overloads another by watts or volts, or turns 20 W and more into heat where there was none, worked out \
               by taking it away.",
        example: "shorted-inside(p) and short-overloads(p)",
        code: |c, args| truth(leaks::overloads(c.circuit(), c.recognised(), c.solved()?, part(args)?)?),
    },
    Function {
        name: "leaks-inside",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the record says that the part leaks between two of its legs, or from one to chassis; of a part with two \
               legs, from one to the other.",
        example: "where leaks-inside(p)",
        code: |c, args| {
            let part = c.part(part(args)?);
            truth(part.component.leak.is_some() || part.component.strays.iter().any(|stray| !short(stray)))
        },
    },
    Function {
        name: "short-inside",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "Between what the part is shorted inside.",
        example: "\"{short-inside(p)}\"",
        code: |c, args| text(paths(c.part(part(args)?), short)),
    },
    Function {
        name: "leak-path",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "Between what the part leaks inside.",
        example: "\"{leak-path(p)}\"",
        code: |c, args| {
            let part = c.part(part(args)?);
            match part.component.leak {
                Some(_) => text(format!("{} to {}", part.leg_name(0), part.leg_name(1))),
                None => text(paths(part, |stray| !short(stray))),
            }
        },
    },
    Function {
        name: "leak-inside",
        params: &[PART],
        gives: AMPS,
        solved: false,
        docs: "The largest leakage that was measured inside the part.",
        example: "leak-inside(p) > 10 uA",
        code: |c, args| {
            let part = c.part(part(args)?);
            let leaks =
                part.component.strays.iter().filter_map(|stray| stray.leak).chain(part.component.leak);
            let most = leaks.map(|leak| leak.amps).reduce(f64::max);
            let most = most.map(|amps| Value::number(Number::plain(amps, Basis::Measured)));
            most.ok_or_else(|| format!("no leakage of {} was measured", part.name))
        },
    },
    Function {
        name: "reading-impossible",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether no value of the part explains what it reads in circuit.",
        example: "where reading-impossible(r)",
        code: |c, args| {
            truth(matches!(c.part(part(args)?).component.untold, Some(Untold::Impossible { .. })))
        },
    },
    Function {
        name: "reading-hides",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a leg of a part that was read in circuit is free, so that the meter saw the rest alone.",
        example: "where reading-hides(r)",
        code: |c, args| truth(c.part(part(args)?).component.untold == Some(Untold::Hidden)),
    },
    Function {
        name: "reading-vague",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether so little ohms lie across a part that was read in circuit that the meter can't tell its value.",
        example: "where reading-vague(r)",
        code: |c, args| truth(matches!(c.part(part(args)?).component.untold, Some(Untold::Vague { .. }))),
    },
    Function {
        name: "reading-accuracy",
        params: &[PART],
        gives: SHARE,
        solved: false,
        docs: "How far off the value may be that a reading in circuit gives, where that is too far to be told.",
        example: "reading-accuracy(r)",
        code: |c, args| match c.part(part(args)?).component.untold {
            Some(Untold::Vague { accuracy }) => Ok(Value::number(Number::plain(accuracy, Basis::Assumed))),
            _ => Err("the reading tells the value".to_owned()),
        },
    },
    Function {
        name: "in-circuit",
        params: &[PART],
        gives: OHMS,
        solved: false,
        docs: "What was read across the part in circuit.",
        example: "in-circuit(r)",
        code: |c, args| {
            let part = c.part(part(args)?);
            let read = part
                .component
                .read_in_circuit
                .map(|ohms| Value::number(Number::plain(ohms, Basis::Measured)));
            read.ok_or_else(|| format!("{} was not read in circuit", part.name))
        },
    },
    Function {
        name: "ohms-around",
        params: &[PART],
        gives: OHMS,
        solved: false,
        docs: "Where no value explains a reading in circuit: what all the rest makes between the part's joints.",
        example: "ohms-around(r)",
        code: |c, args| match c.part(part(args)?).component.untold {
            Some(Untold::Impossible { rest }) => Ok(Value::number(Number::plain(rest, Basis::Stated))),
            _ => Err("a value explains the reading".to_owned()),
        },
    },
];

fn short(stray: &Stray) -> bool {
    stray.leak.is_none()
}

fn paths(part: &Part, wanted: impl Fn(&Stray) -> bool) -> String {
    let ends: Vec<String> = part
        .component
        .strays
        .iter()
        .filter(|stray| wanted(stray))
        .map(|stray| part.stray_ends(stray))
        .collect();
    ends.join(", ")
}
