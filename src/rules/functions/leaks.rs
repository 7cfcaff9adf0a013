//! What the leak of a capacitor does where it is.

use super::{AMPS, Function, PART, SHARE, TEXT, WATTS, part, text};
use crate::rules::value::Value;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "leak-now",
        params: &[PART],
        gives: AMPS,
        solved: true,
        docs: "What a measured leakage lets pass with the volts that stand across the part, in proportion to those that it was \
               measured at.",
        example: "leak-now(c) > 0.1 uA",
        code: |c, args| {
            let id = part(args)?;
            let p = c.part(id);
            let leak = p
                .component
                .leak
                .as_ref()
                .ok_or_else(|| format!("the leakage of {} was not measured", p.name))?;
            let siemens = leak.amps / leak.volts;
            Ok(Value::Number(super::parts::across(c, id)?.mapped(|volts| volts.abs() * siemens)))
        },
    },
    Function {
        name: "leak-heat",
        params: &[PART],
        gives: WATTS,
        solved: true,
        docs: "The heat of a measured leakage inside a part of two legs, with the volts that are across it.",
        example: "leak-heat(c) > 1 W",
        code: |c, args| {
            let id = part(args)?;
            let p = c.part(id);
            let leak = p.component.leak.as_ref();
            let leak = leak.ok_or_else(|| format!("the leakage of {} was not measured", p.name))?;
            let siemens = leak.amps / leak.volts;
            Ok(Value::Number(super::parts::across(c, id)?.mapped(|volts| volts * volts * siemens)))
        },
    },
    Function {
        name: "leak-moves",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "The furthest that a leak moves a valve section's cathode current or a rail at idle, as a share of what it is \
               without the leak.",
        example: "leak-moves(c) > 10 %",
        code: |c, args| Ok(Value::solved(c.leak_effect(part(args)?)?.most)),
    },
    Function {
        name: "leak-moves-output",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "The same of the output valves' currents alone.",
        example: "leak-moves-output(c) > 25 %",
        code: |c, args| Ok(Value::solved(c.leak_effect(part(args)?)?.output)),
    },
    Function {
        name: "leak-effect",
        params: &[PART],
        gives: TEXT,
        solved: true,
        docs: "What a leak moves furthest, with and without it, in words.",
        example: "{leak-effect(c)}",
        code: |c, args| text(c.leak_effect(part(args)?)?.told),
    },
];
