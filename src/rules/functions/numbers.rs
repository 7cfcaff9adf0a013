//! Arithmetic, and values that one can buy.

use super::{Function, Gives, Param, TRUTH, VOLTS, WATTS, number, truth};
use crate::rules::context::{Context, Known};
use crate::rules::dimension::{Dim, Ty};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, Value};

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "min",
        params: &[Param::AnyNumber, Param::LikeFirst],
        gives: Gives::LikeFirst,
        solved: false,
        docs: "The smaller of two.",
        example: "min(rated-volts(c), 400 V)",
        code: |_, args| pair(args, f64::min),
    },
    Function {
        name: "max",
        params: &[Param::AnyNumber, Param::LikeFirst],
        gives: Gives::LikeFirst,
        solved: false,
        docs: "The larger of two.",
        example: "max(volts(c), 1 V)",
        code: |_, args| pair(args, f64::max),
    },
    Function {
        name: "abs",
        params: &[Param::AnyNumber],
        gives: Gives::LikeFirst,
        solved: false,
        docs: "The size without its sign.",
        example: "abs(off-by(r))",
        code: |_, args| Ok(Value::number(size(number(args, 0)?))),
    },
    Function {
        name: "root",
        params: &[Param::AnyNumber],
        gives: Gives::Root,
        solved: false,
        docs: "The square root: of watts times ohms it is volts.",
        example: "root(rated-power(r) * ohms(r))",
        code: root,
    },
    Function {
        name: "low",
        params: &[Param::AnyNumber],
        gives: Gives::LikeFirst,
        solved: false,
        docs: "The lowest it may be, given how it is known: meter, spread of the valve, fit of the model.",
        example: "low(idle-share(s))",
        code: |_, args| number(args, 0).map(|n| Value::number(Number::plain(n.low, n.basis))),
    },
    Function {
        name: "high",
        params: &[Param::AnyNumber],
        gives: Gives::LikeFirst,
        solved: false,
        docs: "The highest it may be; see `low`.",
        example: "high(screen-power(s))",
        code: |_, args| number(args, 0).map(|n| Value::number(Number::plain(n.high, n.basis))),
    },
    Function {
        name: "unknown",
        params: &[Param::Any],
        gives: TRUTH,
        solved: false,
        docs: "Whether a value is not known: not stated, not read, undefined. Only where that can flag; never under `not`.",
        example: "unknown(rated-power(r))",
        // The evaluator answers for a value that is not known.
        code: |_, _| truth(false),
    },
    Function {
        name: "measured",
        params: &[Param::AnyNumber],
        gives: TRUTH,
        solved: false,
        docs: "Whether a meter gave it, and nothing in it is computed or assumed.",
        example: "measured(idle-share(s))",
        code: |_, args| truth(number(args, 0)?.basis <= Basis::Measured),
    },
    Function {
        name: "next-power",
        params: &[Param::Is(Ty::Number(Dim::WATT))],
        gives: WATTS,
        solved: false,
        docs: "The next power that resistors are made for: 0.25, 0.5, 1, 2, 3, 5, 7, 10, 17, 25, 50 W.",
        example: "next-power(power(r) / 50 %)",
        code: |_, args| next(args, &[0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 17.0, 25.0, 50.0, 100.0]),
    },
    Function {
        name: "next-volts",
        params: &[Param::Is(Ty::Number(Dim::VOLT))],
        gives: VOLTS,
        solved: false,
        docs: "The next voltage that capacitors are made for: 16, 25, 35, 50, 63, 100, 160, 250, 350, 400, 450, 500, \
               630, 1000, 1600 V.",
        example: "next-volts(volts(c) * 110 %)",
        code: |_, args| {
            let made = [
                16.0, 25.0, 35.0, 50.0, 63.0, 100.0, 160.0, 250.0, 350.0, 400.0, 450.0, 500.0, 630.0, 1000.0,
                1600.0,
            ];
            next(args, &made)
        },
    },
    Function {
        name: "nearest-value",
        params: &[Param::AnyNumber],
        gives: Gives::LikeFirst,
        solved: false,
        docs: "The nearest value of the E24 series (IEC 60063).",
        example: "nearest-value(volts(r) / 1 mA)",
        code: |_, args| {
            let wanted = number(args, 0)?;
            let value = nearest_e24(wanted.value).ok_or("no standard value is near it")?;
            Ok(Value::number(Number::plain(value, wanted.basis)))
        },
    },
];

fn pair(args: &[Value], pick: fn(f64, f64) -> f64) -> Known<Value> {
    let (a, b) = (number(args, 0)?, number(args, 1)?);
    Ok(Value::number(Number {
        value: pick(a.value, b.value),
        low: pick(a.low, b.low),
        high: pick(a.high, b.high),
        basis: a.basis.max(b.basis),
    }))
}

fn size(n: Number) -> Number {
    let low = if n.low <= 0.0 && n.high >= 0.0 { 0.0 } else { n.low.abs().min(n.high.abs()) };
    Number { value: n.value.abs(), low, high: n.low.abs().max(n.high.abs()), basis: n.basis }
}

fn root(_: &Context<'_>, args: &[Value]) -> Known<Value> {
    let n = number(args, 0)?;
    if n.value < 0.0 {
        return Err("the root of a negative number".to_owned());
    }
    Ok(Value::number(n.mapped(|x| x.max(0.0).sqrt())))
}

fn next(args: &[Value], made: &[f64]) -> Known<Value> {
    let wanted = number(args, 0)?;
    let found = made.iter().find(|m| **m >= wanted.value * (1.0 - 1e-9));
    found.map(|m| Value::stated(*m)).ok_or_else(|| "more than one part is made for".to_owned())
}

/// The E24 series, IEC 60063.
const E24: [f64; 24] = [
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8,
    7.5, 8.2, 9.1,
];

/// The nearest E24 value by ratio.
pub fn nearest_e24(wanted: f64) -> Option<f64> {
    if !(wanted > 0.0 && wanted.is_finite()) {
        return None;
    }
    let decade = libm::floor(libm::log10(wanted)) as i32;
    (decade - 1..=decade + 1)
        .flat_map(|d| E24.iter().filter_map(move |m| format!("{m}e{d}").parse::<f64>().ok()))
        .min_by(|a, b| (a / wanted).max(wanted / a).total_cmp(&(b / wanted).max(wanted / b)))
}
