//! Code to values. Three-valued: what is missing anywhere is carried to the verdict, never guessed.

use super::ast::{Gather, Past};
use super::compile::{Code, Operand};
use super::context::{Context, Which};
use super::finding::{Basis, FiredValue};
use super::functions::Function;
use super::names;
use super::value::{Number, Thing, Value, compare, printed};
use crate::rules::dimension::Ty;
use crate::units::Unit;

/// Steps that a rule may take over one document. The dearest shipped rule takes some 40 for each part in each of twenty
/// states, so that this is enough for tens of thousands of parts; counts over counts of all parts end here.
pub(crate) const MOST_STEPS: u64 = 50_000_000;

/// Why a rule that took them all ends.
pub(crate) const TOO_LARGE: &str = "too large: it takes more than 50 million steps";

/// Evaluates. A step is an evaluation, or a member of a group; past the budget nothing is known.
pub(crate) fn eval(code: &Code, c: &mut Context<'_>) -> Value {
    let Some(left) = c.budget.checked_sub(1) else { return Value::Unknown(TOO_LARGE.to_owned()) };
    c.budget = left;
    let value = value_of(code, c);
    if let Value::Group(things) = &value {
        // A group of all parts is one evaluation and still costs as many steps as it has members.
        c.budget = c.budget.saturating_sub(things.len() as u64);
    }
    value
}

fn value_of(code: &Code, c: &mut Context<'_>) -> Value {
    match code {
        Code::Number(n) => Value::Number(*n),
        Code::Text(text) => Value::Text(text.clone()),
        Code::Word(word) => Value::Word(word.clone().into()),
        Code::Condition => Value::Word(c.condition.word().into()),
        Code::Limit(index) => Value::Number(c.limits[*index]),
        Code::Variable(slot) => variable(*slot, c),
        Code::Each(noun) => Value::Group(noun.members(c)),
        Code::Call(function, args) => {
            // Without allocation where it can be: this is most of what rules do.
            match args.as_slice() {
                [] => called(function, c, &[]),
                [a] => {
                    let windows = c.windows;
                    // Windows cost a solve each: only figures inside `low(…)` and `high(…)` are worked out with
                    // theirs.
                    c.windows |= wants_windows(function);
                    let value = eval(a, c);
                    c.windows = windows;
                    called(function, c, &[value])
                }
                [a, b] => {
                    let both = [eval(a, c), eval(b, c)];
                    called(function, c, &both)
                }
                more => {
                    let values: Vec<Value> = more.iter().map(|a| eval(a, c)).collect();
                    called(function, c, &values)
                }
            }
        }
        Code::Past(which, body) => past(*which, body, c),
        Code::Not(body) => match eval(body, c) {
            Value::Truth(holds) => Value::Truth(!holds),
            other => other,
        },
        Code::Negate(body) => match eval(body, c) {
            Value::Number(n) => {
                // Turned, the low end of a window is the high one.
                Value::Number(Number { value: -n.value, low: -n.high, high: -n.low, basis: n.basis })
            }
            other => other,
        },
        Code::And(all) => joined(all, c, false),
        Code::Or(all) => joined(all, c, true),
        Code::Compare { sign, a, b } => match (eval(&a.code, c), eval(&b.code, c)) {
            (Value::Number(a), Value::Number(b)) => Value::Truth(compare(*sign, a.value, b.value)),
            (Value::Unknown(why), _) | (_, Value::Unknown(why)) => Value::Unknown(why),
            _ => mismatch(),
        },
        Code::Range { outside, value, low, high } => {
            match (eval(&value.code, c), eval(&low.code, c), eval(&high.code, c)) {
                (Value::Number(v), Value::Number(l), Value::Number(h)) => {
                    Value::Truth((v.value < l.value || v.value > h.value) == *outside)
                }
                (Value::Unknown(why), ..) | (_, Value::Unknown(why), _) | (_, _, Value::Unknown(why)) => {
                    Value::Unknown(why)
                }
                _ => mismatch(),
            }
        }
        Code::Is { value, negated, words } => match eval(value, c) {
            Value::Word(word) => Value::Truth(words.iter().any(|one| *one == word) != *negated),
            Value::Unknown(why) => Value::Unknown(why),
            _ => mismatch(),
        },
        Code::Arith { sign, a, b } => match (eval(a, c), eval(b, c)) {
            (Value::Number(a), Value::Number(b)) => {
                Value::known(a.arith(*sign, b).map(Value::Number), || "a value divides by nothing".to_owned())
            }
            (Value::Unknown(why), _) | (_, Value::Unknown(why)) => Value::Unknown(why),
            _ => mismatch(),
        },
        Code::Gather { how, body, slot, group, filter } => {
            gather(*how, body, *slot, group, filter.as_deref(), c)
        }
    }
}

fn called(function: &Function, c: &Context<'_>, args: &[Value]) -> Value {
    match args.iter().find_map(Value::missing) {
        // The one function that may look at what is missing: every other hands it on.
        Some(_) if function.name == "unknown" => Value::Truth(true),
        Some(why) => Value::Unknown(why.to_owned()),
        None => (function.code)(c, args).unwrap_or_else(Value::Unknown),
    }
}

/// Whether a function asks for the window of its argument.
fn wants_windows(function: &Function) -> bool {
    matches!(function.name, "low" | "high")
}

// The checker has made sure of the types; a value of another one could only come from a fault in this crate.
fn mismatch() -> Value {
    Value::Unknown("a value of another type".to_owned())
}

fn variable(slot: usize, c: &Context<'_>) -> Value {
    match &c.slots[slot] {
        (from, Value::Thing(thing)) => c.brought(*from, *thing).map_or_else(Value::Unknown, Value::Thing),
        (_, value) => value.clone(),
    }
}

/// `and` ends at the first that fails, `or` at the first that holds, whatever is unknown beside it.
fn joined(all: &[Code], c: &mut Context<'_>, ends: bool) -> Value {
    let mut unknown = None;
    for code in all {
        match eval(code, c) {
            Value::Truth(holds) if holds == ends => return Value::Truth(ends),
            Value::Truth(_) => {}
            other => {
                unknown.get_or_insert(other);
            }
        }
    }
    unknown.unwrap_or(Value::Truth(!ends))
}

fn past(which: Past, body: &Code, c: &mut Context<'_>) -> Value {
    let to = match which {
        Past::Before => Which::Before,
        Past::Stock => Which::Stock,
    };
    // Before the body: without a stock circuit "stock …" is unknown, not what it is now.
    if let Err(why) = c.worked_of(to) {
        return Value::Unknown(why);
    }
    let from = std::mem::replace(&mut c.which, to);
    let value = eval(body, c);
    c.which = from;
    value
}

fn gather(
    how: Gather,
    body: &Code,
    slot: usize,
    group: &Code,
    filter: Option<&Code>,
    c: &mut Context<'_>,
) -> Value {
    let things = match eval(group, c) {
        Value::Group(things) => things,
        other => return other,
    };
    let mut unknown = None;
    let mut values = Vec::new();
    for thing in things {
        c.slots.truncate(slot);
        c.slots.push((c.which, Value::Thing(thing)));
        let counts = filter.map_or(Value::Truth(true), |f| eval(f, c));
        match counts {
            Value::Truth(true) => {
                let value = eval(body, c);
                // One that decides is enough, whatever is unknown of the others.
                if let Some(holds) = decided(how, &value) {
                    c.slots.truncate(slot);
                    return Value::Truth(holds);
                }
                values.push(value);
            }
            Value::Truth(false) => {}
            other => {
                unknown.get_or_insert(other);
            }
        }
    }
    c.slots.truncate(slot);
    gathered(how, &values, unknown)
}

/// What one member makes of all.
fn decided(how: Gather, value: &Value) -> Option<bool> {
    match (how, value) {
        (Gather::Any, Value::Truth(true)) => Some(true),
        (Gather::None, Value::Truth(true)) | (Gather::Every, Value::Truth(false)) => Some(false),
        _ => None,
    }
}

fn gathered(how: Gather, values: &[Value], unknown: Option<Value>) -> Value {
    if let Some(unknown) = unknown.or_else(|| values.iter().find(|v| v.missing().is_some()).cloned()) {
        return unknown;
    }
    let mut numbers = values.iter().filter_map(|v| match v {
        Value::Number(n) => Some(*n),
        _ => None,
    });
    let pick = |pick: fn(f64, f64) -> f64| {
        move |a: Number, b: Number| Number {
            value: pick(a.value, b.value),
            low: pick(a.low, b.low),
            high: pick(a.high, b.high),
            basis: a.basis.max(b.basis),
        }
    };
    let picked = match how {
        Gather::Any => return Value::Truth(false),
        Gather::Every | Gather::None => return Value::Truth(true),
        Gather::Count => {
            return Value::stated(values.iter().filter(|v| **v == Value::Truth(true)).count() as f64);
        }
        Gather::Sum => Some(numbers.fold(Number::plain(0.0, Basis::Stated), |a, b| Number {
            value: a.value + b.value,
            low: a.low + b.low,
            high: a.high + b.high,
            basis: a.basis.max(b.basis),
        })),
        Gather::Highest => numbers.next().map(|first| numbers.fold(first, pick(f64::max))),
        Gather::Lowest => numbers.next().map(|first| numbers.fold(first, pick(f64::min))),
    };
    Value::known(picked.map(Value::number), || "there is none to take it from".to_owned())
}

/// What was compared in a condition, without figures written in the rule.
pub(crate) fn compared(code: &Code, c: &mut Context<'_>, found: &mut Vec<FiredValue>) {
    match code {
        Code::Not(body) => compared(body, c, found),
        Code::And(all) | Code::Or(all) => all.iter().for_each(|code| compared(code, c, found)),
        Code::Compare { a, b, .. } => [a, b].into_iter().for_each(|o| fired(o, c, found)),
        Code::Range { value, low, high, .. } => {
            for operand in [value, low, high] {
                fired(operand, c, found);
            }
        }
        _ => {}
    }
}

fn fired(operand: &Operand, c: &mut Context<'_>, found: &mut Vec<FiredValue>) {
    if operand.constant || found.iter().any(|f| f.name == operand.name) {
        return;
    }
    if let Value::Number(n) = eval(&operand.code, c) {
        let unit = operand.dim.unit().unwrap_or(Unit::Ratio);
        found.push(FiredValue {
            name: operand.name.clone(),
            value: n.value,
            low: n.low,
            high: n.high,
            unit,
            basis: n.basis,
        });
    }
}

/// The figures of a value in a message, with their unit.
pub(crate) fn figures(value: &Value, ty: Ty) -> Vec<(f64, Unit)> {
    match (value, ty) {
        (Value::Number(n), Ty::Number(dim)) => dim.unit().map(|unit| (n.value, unit)).into_iter().collect(),
        (Value::Figures(figures, unit), _) => figures.iter().map(|figure| (*figure, *unit)).collect(),
        _ => Vec::new(),
    }
}

/// A value in a message, its figures with so many digits.
pub(crate) fn shown(value: &Value, ty: Ty, digits: usize, c: &Context<'_>) -> String {
    match (value, ty) {
        (Value::Number(n), Ty::Number(dim)) => printed(n.value, dim, digits),
        (Value::Figures(figures, unit), _) => {
            let words: Vec<String> =
                figures.iter().map(|f| crate::units::figure(*f, *unit, digits)).collect();
            words.join(" to ")
        }
        (Value::Truth(holds), _) => if *holds { "yes" } else { "no" }.to_owned(),
        (Value::Text(text), _) => text.clone(),
        (Value::Word(word), _) => word.replace('-', " "),
        (Value::Thing(thing), _) => names::name(c, *thing),
        (Value::Group(things), _) => listed(things, c),
        _ => "unknown".to_owned(),
    }
}

fn listed(things: &[Thing], c: &Context<'_>) -> String {
    things.iter().map(|t| names::name(c, *t)).collect::<Vec<_>>().join(", ")
}
