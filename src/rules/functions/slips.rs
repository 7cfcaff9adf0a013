//! Slips that a record shows by itself: a prefix forgotten, one place read twice, a valve in another's socket.

use super::{Function, PART, READING, SHARE, TEXT, TRUTH, part, text, thing, truth};
use crate::circuit::{Part, Reading};
use crate::model::Kind;
use crate::rules::ast::Sign;
use crate::rules::context::{Context, Known, Which, measured};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, Thing, Value};

/// What a figure is off by where a prefix was forgotten, or a range misread.
const DECADES: [f64; 4] = [1e3, 1e-3, 10.0, 0.1];
/// How far a drifted part may be from its label, as a share, and still be meant: old carbon composition reads 30 % high
/// (common practice, no source).
const MEANT_WITHIN: f64 = 0.35;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "slipped",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a part's reading would be near its label if it were ten or a thousand times as much, or as little.",
        example: "slipped(r)",
        code: |c, args| {
            let p = c.part(part(args)?);
            if p.component.measured.is_none() {
                return truth(false);
            }
            truth(meant(p)?.is_some())
        },
    },
    Function {
        name: "meant",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "What a slipped reading is likely to have been: `131k` for `131`.",
        example: "{meant(r)}",
        code: |c, args| {
            let p = c.part(part(args)?);
            let unit = p.kind.unit().ok_or_else(|| format!("{} has no value to read", p.name))?;
            let meant = meant(p)?.ok_or_else(|| format!("the reading of {} is no slip", p.name))?;
            Ok(Value::Figures(vec![meant], unit))
        },
    },
    Function {
        name: "label",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "The marked value of a part, whatever was read.",
        example: "{label(r)}",
        code: |c, args| {
            let p = c.part(part(args)?);
            let (_, marked) = read_and_marked(p)?;
            let unit = p.kind.unit().ok_or_else(|| format!("{} has no value to read", p.name))?;
            Ok(Value::Figures(vec![marked], unit))
        },
    },
    Function {
        name: "other-base",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a valve has another base than its socket, by the type data of its own type and of the stock spec's.",
        example: "other-base(v)",
        code: |c, args| {
            let id = part(args)?;
            let name = &c.part(id).name;
            let stock = &c.worked_of(Which::Stock)?.circuit;
            let stock = stock.find(name).map(|id| stock.part(id));
            let Some(stock) = stock.filter(|p| p.kind == Kind::Tube) else { return truth(false) };
            if stock.component.body.type_name == c.part(id).component.body.type_name {
                return truth(false);
            }
            truth(base(c, c.part(id))? != base(c, stock)?)
        },
    },
    Function {
        name: "base",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "The base of a valve's type.",
        example: "{base(v)}",
        code: |c, args| text(base(c, c.part(part(args)?))?),
    },
    Function {
        name: "at-odds",
        params: &[READING],
        gives: SHARE,
        solved: false,
        docs: "How far another reading of the same place in the same state lies from this one, beyond what their meters allow, \
               as a share of the larger; 0 where they agree or there is no other.",
        example: "at-odds(r) > 0 %",
        code: |c, args| {
            let Thing::Reading(index) = thing(args, 0)? else { return Err("not a reading".to_owned()) };
            let reading = c.circuit().readings.get(index).ok_or("no such reading")?;
            let gap = twins(c, reading).filter_map(|other| gap(reading, other)).fold(0.0, f64::max);
            Ok(Value::number(Number::plain(gap, Basis::Measured)))
        },
    },
    Function {
        name: "other-reading",
        params: &[READING],
        gives: TEXT,
        solved: false,
        docs: "What another line says that was read at the same place.",
        example: "{other-reading(r)}",
        code: |c, args| {
            let Thing::Reading(index) = thing(args, 0)? else { return Err("not a reading".to_owned()) };
            let reading = c.circuit().readings.get(index).ok_or("no such reading")?;
            let far = |a: &&Reading, b: &&Reading| {
                let off = |r: &Reading| (r.value - reading.value).abs();
                off(a).total_cmp(&off(b))
            };
            let other = twins(c, reading).max_by(far).ok_or("there is no other reading")?;
            Ok(Value::Figures(vec![other.value], other.unit))
        },
    },
];

fn read_and_marked(p: &Part) -> Known<(f64, f64)> {
    let measured = p.component.measured.ok_or_else(|| format!("{} was not measured", p.name))?;
    let marked = p.component.body.value.filter(|v| *v != 0.0);
    Ok((measured, marked.ok_or_else(|| format!("the marked value of {} is unknown", p.name))?))
}

/// What a reading would be without its slip.
fn meant(p: &Part) -> Known<Option<f64>> {
    let (measured, marked) = read_and_marked(p)?;
    Ok(DECADES
        .iter()
        .map(|times| measured * times)
        .find(|value| (value / marked - 1.0).abs() <= MEANT_WITHIN))
}

fn base(c: &Context<'_>, p: &Part) -> Known<String> {
    let name =
        p.component.body.type_name.as_deref().ok_or_else(|| format!("the type of {} is unknown", p.name))?;
    let known = c.circuit().types.tube(name).and_then(|tube| tube.base.clone());
    known.ok_or_else(|| format!("the type data of {name} state no base"))
}

/// Other readings of one place in one state.
fn twins<'a>(c: &'a Context<'_>, reading: &'a Reading) -> impl Iterator<Item = &'a Reading> {
    c.circuit().readings.iter().filter(move |other| {
        let what = |r: &'a Reading| (r.target, r.unit, r.ac, r.condition.as_str());
        what(other) == what(reading) && other.hertz == reading.hertz && other.span != reading.span
    })
}

/// What two readings differ by beyond their meters.
fn gap(a: &Reading, b: &Reading) -> Option<f64> {
    let apart = measured(a).arith(Sign::Minus, measured(b))?.sized();
    let largest = a.value.abs().max(b.value.abs());
    (largest > 0.0).then(|| apart.low.max(0.0) / largest)
}
