//! Nets, rails, legs, windows and readings.

use super::{
    COUNT, Function, LEG, NET, READING, SHARE, TEXT, TRUTH, VOLTS, WINDOW, leg, net, text, thing, truth,
};
use crate::circuit::{CHASSIS, Reading, Target, Window};
use crate::model::Condition;
use crate::recognise::StageKind;
use crate::rules::context::{Context, Known, measured};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, Thing, Value};
use crate::units::Unit;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "volts",
        params: &[NET],
        gives: VOLTS,
        solved: true,
        docs: "DC volts of a net to chassis.",
        example: "volts(n)",
        code: |c, args| c.net_number(net(args)?).map(Value::Number),
    },
    Function {
        name: "volts",
        params: &[LEG],
        gives: VOLTS,
        solved: true,
        docs: "DC volts of the net a leg sits in, to chassis.",
        example: "volts(l)",
        code: |c, args| {
            let id = leg(args)?;
            let sits =
                c.circuit().net_of(id).ok_or_else(|| format!("{} is free", c.circuit().leg_name(id)))?;
            c.net_number(sits).map(Value::Number)
        },
    },
    Function {
        name: "title",
        params: &[NET],
        gives: TEXT,
        solved: false,
        docs: "The quoted purpose of a declared net, else its name.",
        example: "{title(n)}",
        code: |c, args| {
            let net = c.circuit().net(net(args)?);
            let title = net.declared.as_ref().and_then(|d| d.title.clone());
            text(title.unwrap_or_else(|| net.name.clone()))
        },
    },
    Function {
        name: "feeds-inverter",
        params: &[NET],
        gives: TRUTH,
        solved: false,
        docs: "Whether a phase inverter's plate loads hang on this net.",
        example: "feeds-inverter(n)",
        code: |c, args| truth(feeds_inverter(c, net(args)?)),
    },
    Function {
        name: "feeds-inverter",
        params: &[WINDOW],
        gives: TRUTH,
        solved: false,
        docs: "Whether a window is that of a net on which a phase inverter's plate loads hang.",
        example: "feeds-inverter(w)",
        code: |c, args| match window(c, args)?.target {
            Target::Net(net) => truth(feeds_inverter(c, net)),
            _ => truth(false),
        },
    },
    Function {
        name: "grounded",
        params: &[NET],
        gives: TRUTH,
        solved: false,
        docs: "Whether direct current finds a way from the net to chassis.",
        example: "grounded(n)",
        code: |c, args| truth(c.paths().grounded(c.circuit(), net(args)?)),
    },
    Function {
        name: "legs",
        params: &[NET],
        gives: COUNT,
        solved: false,
        docs: "How many legs sit in the net.",
        example: "legs(n) = 1",
        code: |c, args| Ok(Value::stated(c.circuit().net(net(args)?).legs.len() as f64)),
    },
    Function {
        name: "alone",
        params: &[LEG],
        gives: TRUTH,
        solved: false,
        docs: "Whether a leg hangs in the air: lifted, or the only one in its net, and not said to be open.",
        example: "alone(l)",
        code: |c, args| {
            let id = leg(args)?;
            let leg = &c.part(id.part).legs[id.leg as usize];
            let sole = |net| net != CHASSIS && c.circuit().net(net).legs.len() == 1;
            truth(!leg.open && leg.net.is_none_or(sole))
        },
    },
    Function {
        name: "on-valve",
        params: &[LEG],
        gives: TRUTH,
        solved: false,
        docs: "Whether a leg is a valve's.",
        example: "on-valve(l)",
        code: |c, args| truth(c.part(leg(args)?.part).kind == crate::model::Kind::Tube),
    },
    Function {
        name: "excess",
        params: &[WINDOW],
        gives: SHARE,
        solved: false,
        docs: "How far the solved value lies outside its window, in the window's condition, as a share of the bound it \
               passes; 0 inside.",
        example: "excess(w) > 0 %",
        code: |c, args| {
            let window = window(c, args)?;
            Ok(Value::solved(past(window, found(c, window)?)))
        },
    },
    Function {
        name: "windowed",
        params: &[READING],
        gives: TRUTH,
        solved: false,
        docs: "Whether a text states a window for what a reading is about, in its condition.",
        example: "where windowed(r)",
        code: |c, args| {
            let reading = reading(c, args)?;
            truth(window_of(c, reading).is_some())
        },
    },
    Function {
        name: "excess",
        params: &[READING],
        gives: SHARE,
        solved: false,
        docs: "How far a reading lies outside the window of what it is about, as a share of the bound it passes; 0 inside.",
        example: "excess(r) > 0 %",
        code: |c, args| {
            let reading = reading(c, args)?;
            let window = window_of(c, reading).ok_or_else(|| format!("{} has no window", reading.place))?;
            Ok(Value::number(Number::plain(
                past(window, sized(reading.target, reading.value)),
                Basis::Measured,
            )))
        },
    },
    Function {
        name: "bounds",
        params: &[READING],
        gives: TEXT,
        solved: false,
        docs: "The window of what a reading is about, in words.",
        example: "{bounds(r)}",
        code: |c, args| {
            let reading = reading(c, args)?;
            let w = window_of(c, reading).ok_or_else(|| format!("{} has no window", reading.place))?;
            Ok(Value::Figures(vec![w.low, w.high], w.unit))
        },
    },
    Function {
        name: "found",
        params: &[WINDOW],
        gives: TEXT,
        solved: false,
        docs: "The value that a window is about, in words.",
        example: "{found(w)}",
        code: |c, args| {
            let window = window(c, args)?;
            Ok(Value::Figures(vec![found(c, window)?], window.unit))
        },
    },
    Function {
        name: "bounds",
        params: &[WINDOW],
        gives: TEXT,
        solved: false,
        docs: "The window in words: `290 V to 330 V`.",
        example: "{bounds(w)}",
        code: |c, args| {
            let w = window(c, args)?;
            Ok(Value::Figures(vec![w.low, w.high], w.unit))
        },
    },
    Function {
        name: "off-by",
        params: &[READING],
        gives: SHARE,
        solved: false,
        docs: "How far a reading lies from the solved value, as a share of it; its window is the meter's accuracy.",
        example: "abs(off-by(r)) > 15 %",
        code: off_by,
    },
    Function {
        name: "shown",
        params: &[READING],
        gives: TEXT,
        solved: false,
        docs: "What the meter showed, in words.",
        example: "{shown(r)}",
        code: |c, args| {
            let reading = reading(c, args)?;
            Ok(Value::Figures(vec![reading.value], reading.unit))
        },
    },
    Function {
        name: "predicted",
        params: &[READING],
        gives: TEXT,
        solved: false,
        docs: "What the circuit should show there, in words.",
        example: "{predicted(r)}",
        code: |c, args| {
            let reading = reading(c, args)?;
            let value = expected(c, reading)?;
            Ok(Value::Figures(vec![value], reading.unit))
        },
    },
    Function {
        name: "alternating",
        params: &[READING],
        gives: TRUTH,
        solved: false,
        docs: "Whether it is a reading of AC.",
        example: "where not alternating(r)",
        code: |c, args| truth(reading(c, args)?.ac),
    },
];

fn window<'a>(c: &Context<'a>, args: &[Value]) -> Known<&'a Window> {
    match thing(args, 0)? {
        Thing::Window(index) => c.circuit().windows.get(index).ok_or_else(|| "no such window".to_owned()),
        _ => Err("not a window".to_owned()),
    }
}

fn reading<'a>(c: &Context<'a>, args: &[Value]) -> Known<&'a Reading> {
    match thing(args, 0)? {
        Thing::Reading(index) => c.circuit().readings.get(index).ok_or_else(|| "no such reading".to_owned()),
        _ => Err("not a reading".to_owned()),
    }
}

/// The condition of this name.
fn condition(name: &str) -> Known<Condition> {
    Condition::of(name).ok_or_else(|| format!("there is no condition `{name}`"))
}

/// What a reading should show, at the mains of the day.
fn expected(c: &Context<'_>, reading: &Reading) -> Known<f64> {
    value_at(c, c.as_read(condition(&reading.condition)?)?, reading.target, reading.unit)
}

/// The solved value of a target in a solved condition.
fn value_at(c: &Context<'_>, solved: &crate::solve::Solved, target: Target, unit: Unit) -> Known<f64> {
    let value = match target {
        Target::Net(net) => solved.net_volts(net),
        Target::Between(a, b) => solved.net_volts(a).zip(solved.net_volts(b)).map(|(a, b)| a - b),
        Target::Leg(leg) => solved.meter_amps(c.circuit(), leg),
        Target::Part(part) if unit == Unit::Watt => solved.watts[part.0 as usize],
        Target::Part(part) => solved.across(c.circuit(), part),
    };
    value.ok_or_else(|| format!("its value is undefined in {}", solved.condition.word()))
}

/// The solved value of what a window is about.
fn found(c: &Context<'_>, window: &Window) -> Known<f64> {
    value_at(c, c.solved_in(condition(&window.condition)?)?, window.target, window.unit)
        .map(|value| sized(window.target, value))
}

/// A cathode's current flows out of its leg: windows and readings state its size.
fn sized(target: Target, value: f64) -> f64 {
    if matches!(target, Target::Leg(_)) { value.abs() } else { value }
}

fn window_of<'a>(c: &Context<'a>, reading: &Reading) -> Option<&'a Window> {
    c.circuit().windows.iter().find(|w| {
        w.target == reading.target
            && w.unit == reading.unit
            && !reading.ac
            && w.condition == reading.condition
    })
}

/// How far outside a window, as a share of the bound it passes.
fn past(window: &Window, value: f64) -> f64 {
    let out = (window.low - value).max(value - window.high).max(0.0);
    let bound = if value < window.low { window.low } else { window.high };
    if out == 0.0 { 0.0 } else { out / bound.abs().max(1e-12) }
}

fn off_by(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let reading = reading(c, args)?;
    if reading.ac {
        return Err(format!("{} is a reading of AC", reading.place));
    }
    let solved = expected(c, reading)?;
    let (shown, solved) = match reading.target {
        Target::Leg(_) => (measured(reading).mapped(f64::abs), solved.abs()),
        _ => (measured(reading), solved),
    };
    if solved.abs() < 1e-9 {
        return Err(format!("nothing is predicted at {}", reading.place));
    }
    let by = |value: f64| (value - solved) / solved.abs();
    Ok(Value::number(Number { basis: Basis::Solved, ..shown.mapped(by) }))
}

fn feeds_inverter(c: &Context<'_>, net: crate::circuit::NetId) -> bool {
    let loads = |stage: &crate::recognise::Stage| {
        stage.outputs.iter().any(|out| {
            c.circuit()
                .parts_on(*out)
                .into_iter()
                .any(|part| c.role_word(part) == "plate-load" && c.circuit().across(part, *out) == Some(net))
        })
    };
    c.recognised()
        .stages
        .iter()
        .filter(|s| matches!(s.kind, StageKind::LongTailedPair | StageKind::SplitLoad))
        .any(loads)
}
