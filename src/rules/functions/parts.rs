//! What parts say of themselves, and what they bear.

use super::{AMPS, COUNT, Function, Gives, PART, SHARE, TEXT, TRUTH, VOLTS, WATTS, part, text, truth, word};
use crate::circuit::{LegId, NetId, Part, PartId, State};
use crate::model::Kind;
use crate::rules::context::{Context, Known};
use crate::rules::derating::{INSIDE_CELSIUS, bearable_share};
use crate::rules::dimension::{Dim, Domain, Ty};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, Value};
use crate::units::{rounded, value_code};

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "power",
        params: &[PART],
        gives: WATTS,
        solved: true,
        docs: "The heat in a part, without heaters.",
        example: "power(r)",
        code: |c, args| {
            let id = part(args)?;
            let solved = c.solved()?;
            let watts = solved.watts.get(id.0 as usize).copied().flatten();
            let watts =
                watts.map(|watts| c.within(watts, solved, |of, circuit| of.watts_within(circuit, id)));
            watts.map(Value::Number).ok_or_else(|| format!("the power of {} is undefined", c.part(id).name))
        },
    },
    Function {
        name: "rated-power",
        params: &[PART],
        gives: WATTS,
        solved: false,
        docs: "The power a part is rated for, as stated; of a resistor what it bears of that inside a chassis at 50 °C, which \
               is all of it. It has no default.",
        example: "rated-power(r)",
        code: |c, args| {
            rating(c, args, "power", |p| {
                let share = if p.kind == Kind::Resistor { bearable_share(INSIDE_CELSIUS) } else { 1.0 };
                p.component.body.power.map(|watts| watts * share)
            })
        },
    },
    Function {
        name: "volts",
        params: &[PART],
        gives: VOLTS,
        solved: true,
        docs: "Volts across a two-leg part, without sign; of a part with more legs the highest between two of them.",
        example: "volts(c)",
        code: |c, args| across(c, part(args)?).map(Value::Number),
    },
    Function {
        name: "plus-volts",
        params: &[PART],
        gives: VOLTS,
        solved: true,
        docs: "Volts of a two-leg part's first leg above its second: of an electrolytic, plus above minus.",
        example: "plus-volts(c) < -0.5 V",
        code: |c, args| {
            let id = part(args)?;
            let solved = c.solved()?;
            let volts = solved.across(c.circuit(), id);
            let volts =
                volts.map(|volts| c.within(volts, solved, |of, circuit| of.across_within(circuit, id)));
            volts.map(Value::Number).ok_or_else(|| undefined(c, id))
        },
    },
    Function {
        name: "rated-volts",
        params: &[PART],
        gives: VOLTS,
        solved: false,
        docs: "The voltage a part is rated for, as stated. It has no default.",
        example: "rated-volts(c)",
        code: |c, args| rating(c, args, "voltage", |p| p.component.body.volts),
    },
    Function {
        name: "working-volts",
        params: &[PART],
        gives: VOLTS,
        solved: false,
        docs: "The volts that a resistor's body is made for: as stated, else by its size as a maker's film series has it \
               (150 V at 1/8 W to 500 V at 2 W), or as carbon composition is rated (350 V at 1/2 W, 500 V at 1 W), assumed. What the volts heat is `power`.",
        example: "working-volts(r)",
        code: working_volts,
    },
    Function {
        name: "amps",
        params: &[PART],
        gives: AMPS,
        solved: true,
        docs: "Current through a part's first leg, without sign.",
        example: "amps(f)",
        code: |c, args| {
            let id = part(args)?;
            let (solved, leg) = (c.solved()?, LegId { part: id, leg: 0 });
            let amps = solved
                .leg_amps(leg)
                .map(|a| c.within(a, solved, |of, circuit| of.leg_amps_within(circuit, leg)).sized());
            amps.map(Value::Number).ok_or_else(|| format!("the current of {} is unknown", c.part(id).name))
        },
    },
    Function {
        name: "rated-amps",
        params: &[PART],
        gives: AMPS,
        solved: false,
        docs: "The current a part is rated for, as stated: of a fuse its value. It has no default.",
        example: "rated-amps(l)",
        code: |c, args| {
            rating(c, args, "current", |p| {
                if p.kind == Kind::Fuse {
                    p.component.body.value.or(p.component.body.amps)
                } else {
                    p.component.body.amps
                }
            })
        },
    },
    Function {
        name: "ohms",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::OHM)),
        solved: false,
        docs: "The resistance as it is: measured where measured, else as marked.",
        example: "ohms(r)",
        code: |c, args| {
            valued(c, args, &[Kind::Resistor, Kind::Pot, Kind::Trimmer, Kind::Thermistor, Kind::Speaker])
        },
    },
    Function {
        name: "farads",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::FARAD)),
        solved: false,
        docs: "The capacitance as it is: measured where measured, else as marked.",
        example: "farads(c)",
        code: |c, args| valued(c, args, &[Kind::Capacitor]),
    },
    Function {
        name: "value",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "The value as it is, in words: `100k`, `47u`, `ECC83`.",
        example: "{value(r)}",
        code: |c, args| text(value_text(c.part(part(args)?))),
    },
    Function {
        name: "drift",
        params: &[PART],
        gives: SHARE,
        solved: false,
        docs: "How far the measured value lies from the marked one, without sign.",
        example: "drift(r) > tolerance(r)",
        code: |c, args| {
            let (measured, marked) = drifted(c, args)?;
            let drift = (measured / marked - 1.0).abs();
            Ok(Value::number(Number::plain(drift, Basis::Measured)))
        },
    },
    Function {
        name: "tolerance",
        params: &[PART],
        gives: SHARE,
        solved: false,
        docs: "The tolerance on the side the part has drifted to; assumed by construction where not stated.",
        example: "tolerance(r)",
        code: |c, args| {
            let p = c.part(part(args)?);
            let (below, above, assumed) = p.tolerance();
            let rises = p.component.measured >= p.component.body.value;
            let basis = if assumed { Basis::Assumed } else { Basis::Stated };
            Ok(Value::number(Number::plain(if rises { above } else { below }, basis)))
        },
    },
    Function {
        name: "read",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether its own value was measured.",
        example: "where read(r)",
        code: |c, args| truth(c.part(part(args)?).component.measured.is_some()),
    },
    Function {
        name: "kind",
        params: &[PART],
        gives: word(Domain::Kind),
        solved: false,
        docs: "What the part is.",
        example: "kind(p) is resistor",
        code: |c, args| Ok(Value::Word(c.part(part(args)?).kind.word().into())),
    },
    Function {
        name: "role",
        params: &[PART],
        gives: word(Domain::Role),
        solved: false,
        docs: "What the part is for; `none` where nothing is recognised.",
        example: "role(p) is one of (dropper, screen-resistor)",
        code: |c, args| Ok(Value::Word(c.role_word(part(args)?).into())),
    },
    Function {
        name: "purpose",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "What the part is for, in words: `cathode resistor, second stage`.",
        example: "{purpose(p)}",
        code: |c, args| text(c.recognised().describe(c.circuit(), part(args)?)),
    },
    Function {
        name: "fitted",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the part is in the amplifier.",
        example: "stock(fitted(p))",
        code: |c, args| truth(c.part(part(args)?).fitted()),
    },
    Function {
        name: "snipped",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the part was cut out, with its legs left behind.",
        example: "snipped(p)",
        code: |c, args| truth(matches!(c.part(part(args)?).state, State::Missing { snipped: true, .. })),
    },
    Function {
        name: "looked-at",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the record says anything of it: checked, read, replaced, missing and so on.",
        example: "not looked-at(p)",
        code: |c, args| truth(c.part(part(args)?).looked_at),
    },
    Function {
        name: "leak",
        params: &[PART],
        gives: AMPS,
        solved: false,
        docs: "The leakage that was measured.",
        example: "leak(c) > 1 uA",
        code: |c, args| {
            let p = c.part(part(args)?);
            let leak = p.component.leak.map(|l| Value::number(Number::plain(l.amps, Basis::Measured)));
            leak.ok_or_else(|| format!("the leakage of {} was not measured", p.name))
        },
    },
    Function {
        name: "leaky",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a leakage was measured.",
        example: "where leaky(c)",
        code: |c, args| truth(c.part(part(args)?).component.leak.is_some()),
    },
    Function {
        name: "drains",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a capacitor's charge finds a way from leg to leg with the amplifier off and standby open: over resistors, \
               controls and chokes, not over valves, diodes or switches.",
        example: "not drains(c)",
        code: |c, args| truth(c.paths().drains(c.circuit(), part(args)?)),
    },
    Function {
        name: "added",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the stock spec does not have the part: it was added, or stands in for another.",
        example: "added(p) or not stock(linked-out(p))",
        code: |c, args| truth(c.part(part(args)?).origin != crate::circuit::Origin::Stock),
    },
    Function {
        name: "linked-out",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether both legs of a two-leg part meet: in one net, over links, or over shorted parts.",
        example: "linked-out(r)",
        code: |c, args| truth(c.paths().linked_out(c.circuit(), part(args)?)),
    },
    Function {
        name: "shorted",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether the record says that the part itself conducts from leg to leg.",
        example: "shorted(c)",
        code: |c, args| truth(c.part(part(args)?).component.shorted),
    },
    Function {
        name: "free-legs",
        params: &[PART],
        gives: COUNT,
        solved: false,
        docs: "How many of its legs sit in no net.",
        example: "free-legs(p) > 0",
        code: |c, args| {
            let free = c.part(part(args)?).legs.iter().filter(|l| l.net.is_none()).count();
            Ok(Value::stated(free as f64))
        },
    },
    Function {
        name: "joins-chassis",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether one of its legs sits on chassis.",
        example: "joins-chassis(c)",
        code: |c, args| {
            let on = |l: &crate::circuit::Leg| l.net == Some(crate::circuit::CHASSIS);
            truth(c.part(part(args)?).legs.iter().any(on))
        },
    },
];

fn rating(c: &Context<'_>, args: &[Value], what: &str, of: fn(&Part) -> Option<f64>) -> Known<Value> {
    let p = c.part(part(args)?);
    of(p).map(Value::stated).ok_or_else(|| format!("the {what} rating of {} is not stated", p.name))
}

fn undefined(c: &Context<'_>, id: PartId) -> String {
    format!("the volts across {} are undefined", c.part(id).name)
}

/// Volts from the lowest of a part's legs to the highest.
pub(super) fn across(c: &Context<'_>, id: PartId) -> Known<Number> {
    let (solved, mut nets) = (c.solved()?, Vec::new());
    for net in c.part(id).legs.iter().filter_map(|l| l.net) {
        let volts = solved.net_volts(net).ok_or_else(|| undefined(c, id))?;
        nets.push((volts, net));
    }
    if nets.len() < 2 {
        return Err(format!("{} has a leg free", c.part(id).name));
    }
    let rests = |net: NetId| solved.resting.iter().any(|island| island.contains(&net));
    if c.part(id).kind == Kind::Capacitor && nets.iter().any(|(_, net)| rests(*net)) {
        let worst = solved.across_at_worst(c.circuit(), id).ok_or_else(|| undefined(c, id))?;
        return Ok(Number::plain(worst, Basis::Assumed));
    }
    nets.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (lowest, highest) = (nets[0].1, nets[nets.len() - 1].1);
    Ok(c.between(highest, lowest)?.sized())
}

fn valued(c: &Context<'_>, args: &[Value], kinds: &[Kind]) -> Known<Value> {
    let p = c.part(part(args)?);
    if !kinds.contains(&p.kind) {
        return Err(format!("{} is a {}", p.name, p.kind.word()));
    }
    let basis = if p.component.measured.is_some() { Basis::Measured } else { Basis::Stated };
    let value = p.value().map(|v| Value::number(Number::plain(v, basis)));
    value.ok_or_else(|| format!("the value of {} is unknown", p.name))
}

fn drifted(c: &Context<'_>, args: &[Value]) -> Known<(f64, f64)> {
    let p = c.part(part(args)?);
    let measured = p.component.measured.ok_or_else(|| format!("{} was not measured", p.name))?;
    let marked = p.component.body.value.filter(|v| *v != 0.0);
    Ok((measured, marked.ok_or_else(|| format!("the marked value of {} is unknown", p.name))?))
}

fn value_text(p: &Part) -> String {
    match (p.value(), p.kind.unit(), &p.component.body.type_name) {
        (Some(value), Some(unit), _) => value_code(crate::units::significant(value, 3), unit),
        (_, _, Some(name)) => name.clone(),
        (Some(value), None, _) => rounded(value, crate::units::Unit::Ratio, 3),
        (None, ..) => "unknown".to_owned(),
    }
}

fn working_volts(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let p = c.part(part(args)?);
    if let Some(volts) = p.component.body.volts {
        return Ok(Value::stated(volts));
    }
    let watts =
        p.component.body.power.ok_or_else(|| format!("the power rating of {} is not stated", p.name))?;
    Ok(Value::number(Number::plain(super::make::body_volts(p, watts), Basis::Assumed)))
}
