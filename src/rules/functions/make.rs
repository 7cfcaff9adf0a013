//! How and when parts were made.

use super::{COUNT, Function, Gives, PART, Param, TRUTH, number, part, parts, truth, word};
use crate::circuit::PartId;
use crate::model::{Construction, Kind};
use crate::rules::dimension::{Dim, Domain, Sort, Ty};
use crate::rules::domain::joined;
use crate::rules::value::{Thing, Value};

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
