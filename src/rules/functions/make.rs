//! How and when parts were made.

use super::{COUNT, Function, Gives, PART, Param, TRUTH, number, part, parts, truth, word};
use crate::circuit::{Part, PartId};
use crate::model::{Construction, Kind};
use crate::rules::dimension::{Dim, Domain, Sort, Ty};
use crate::rules::domain::joined;
use crate::rules::value::{Thing, Value};

/// Power and highest working volts of a maker's film series, normal size (MF series sheet, table 1, read).
const FILM_VOLTS: [(f64, f64); 7] =
    [(0.125, 150.0), (0.25, 250.0), (0.5, 300.0), (1.0, 350.0), (2.0, 500.0), (3.0, 500.0), (5.0, 500.0)];
/// The same of carbon composition (MIL-R-11, from memory).
const COMPOSITION_VOLTS: [(f64, f64); 4] = [(0.125, 150.0), (0.25, 250.0), (0.5, 350.0), (1.0, 500.0)];

/// The volts that a resistor's body is made for by its watts, where they are not stated.
pub(super) fn body_volts(part: &Part, watts: f64) -> f64 {
    let table: &[(f64, f64)] = match part.component.body.construction {
        Some(Construction::CarbonComposition) => &COMPOSITION_VOLTS,
        _ => &FILM_VOLTS,
    };
    table.iter().rev().find(|(w, _)| *w <= watts * 1.001).map_or(table[0].1, |(_, volts)| *volts)
}

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "construction",
        params: &[PART],
        gives: word(Domain::Construction),
        solved: false,
        docs: "How the part is built, as stated. It has no default.",
        example: "construction(c) is electrolytic",
        code: |c, args| {
            let p = c.part(part(args)?);
            let built = p.component.body.construction.map(|k| Value::Word(joined(k.word())));
            built.ok_or_else(|| format!("the construction of {} is not stated", p.name))
        },
    },
    Function {
        name: "composition-above",
        params: &[Param::Is(Ty::Number(Dim::VOLT))],
        gives: Gives::Ty(Ty::Group(Sort::Part)),
        solved: true,
        docs: "The resistors of carbon composition that have more than so many volts across them, to name them all.",
        example: "{composition-above(100 V)}",
        code: |c, args| {
            let least = number(args, 0)?.value;
            let composition = |id: &PartId| {
                let p = c.part(*id);
                let built = p.component.body.construction;
                p.fitted() && p.kind == Kind::Resistor && built == Some(Construction::CarbonComposition)
            };
            let named = c.circuit().part_ids().filter(composition);
            let over = |id: &PartId| parts::across(c, *id).is_ok_and(|volts| volts.value > least);
            Ok(Value::Group(named.filter(over).map(Thing::Part).collect()))
        },
    },
    Function {
        name: "made",
        params: &[PART],
        gives: COUNT,
        solved: false,
        docs: "The year a part was made, as stated of the part itself. It has no default: the amplifier's year is not its.",
        example: "made(c) < 2000",
        code: |c, args| {
            let p = c.part(part(args)?);
            let year = p.component.body.made.map(|year| Value::stated(f64::from(year)));
            year.ok_or_else(|| format!("when {} was made is not stated", p.name))
        },
    },
    Function {
        name: "recognised",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the circuit tells what a part is for.",
        example: "added(p) and not recognised(p)",
        code: |c, args| {
            let id = part(args)?;
            truth(c.recognised().role(id).is_some())
        },
    },
    Function {
        name: "dated",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the text says when a part was made.",
        example: "where dated(c)",
        code: |c, args| truth(c.part(part(args)?).component.body.made.is_some()),
    },
];
