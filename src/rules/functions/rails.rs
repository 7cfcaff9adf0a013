//! Rails and stacks of capacitors.

use std::collections::BTreeSet;

use super::{Function, NET, PART, SHARE, TRUTH, VOLTS, net, part, truth};
use crate::circuit::{Circuit, NetId, PartId};
use crate::model::Kind;
use crate::rules::context::{Context, Known};
use crate::rules::value::Value;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "decoupled",
        params: &[NET],
        gives: TRUTH,
        solved: false,
        docs: "Whether a rail, or what wires and closed contacts make one with it, has a filter capacitor that is fitted and \
               joined.",
        example: "not decoupled(n)",
        code: |c, args| {
            let one = c.paths().by_contact(c.circuit(), net(args)?);
            let filtered =
                |net: NetId| c.recognised().rail(net).is_some_and(|rail| !rail.capacitors.is_empty());
            truth(one.into_iter().any(filtered))
        },
    },
    Function {
        name: "fed",
        params: &[NET],
        gives: TRUTH,
        solved: false,
        docs: "Whether a supply reaches a rail through parts that are there and joined.",
        example: "not fed(n)",
        code: |c, args| {
            let net = net(args)?;
            let rail = c.recognised().rail(net);
            let missing = || format!("{} is not recognised as a rail", c.circuit().net(net).name);
            truth(rail.ok_or_else(missing)?.fed)
        },
    },
    Function {
        name: "feeds-plates",
        params: &[NET],
        gives: TRUTH,
        solved: false,
        docs: "Whether plate loads hang on this net.",
        example: "feeds-plates(n) and not decoupled(n)",
        code: |c, args| {
            let on = c.circuit().parts_on(net(args)?);
            truth(on.into_iter().any(|part| c.role_word(part) == "plate-load"))
        },
    },
    Function {
        name: "stacked-alone",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether one end of a capacitor sits with other capacitors and nothing else that passes direct current: the \
               middle of a stack where leakage decides how they share the volts.",
        example: "stacked-alone(c)",
        code: |c, args| {
            let circuit = c.circuit();
            let alone = |net: NetId| {
                let on = circuit.parts_on(net);
                let capacitors = on.iter().all(|id| circuit.part(*id).kind == Kind::Capacitor);
                on.len() > 1 && capacitors && !c.paths().grounded(circuit, net)
            };
            truth(c.part(part(args)?).legs.iter().filter_map(|l| l.net).any(alone))
        },
    },
    Function {
        name: "series-share",
        params: &[PART],
        gives: SHARE,
        solved: false,
        docs: "The share of a stack of two capacitors' volts that this one takes at switch-on, when their capacitance alone \
               decides; 100 % where it stands alone.",
        example: "series-share(c) > 60 %",
        code: series_share,
    },
    Function {
        name: "stack-volts",
        params: &[PART],
        gives: VOLTS,
        solved: true,
        docs: "Volts across the whole stack of two capacitors that this one is in; across itself where it stands alone.",
        example: "stack-volts(c) > rated-volts(c)",
        code: stack_volts,
    },
];

fn stack_volts(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let (id, circuit) = (part(args)?, c.circuit());
    let other = partner(circuit, id);
    let mut ends = BTreeSet::new();
    for net in
        [Some(id), other].into_iter().flatten().flat_map(|id| &circuit.part(id).legs).filter_map(|l| l.net)
    {
        // The middle is met twice.
        if !ends.remove(&net) {
            ends.insert(net);
        }
    }
    match ends.into_iter().collect::<Vec<_>>()[..] {
        [a, b] => Ok(Value::Number(c.between(a, b)?.sized())),
        _ => Err(format!("the ends of the stack of {} are not known", c.part(id).name)),
    }
}

fn series_share(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let id = part(args)?;
    let farads =
        |id: PartId| c.part(id).value().ok_or_else(|| format!("the value of {} is unknown", c.part(id).name));
    let Some(other) = partner(c.circuit(), id) else { return Ok(Value::stated(1.0)) };
    let (own, other) = (farads(id)?, farads(other)?);
    Ok(Value::stated(other / (own + other)))
}

/// The other capacitor of a stack of two: they meet, back to front, where there are else resistors only.
fn partner(circuit: &Circuit, id: PartId) -> Option<PartId> {
    let (a, b) = circuit.ends(id)?;
    let in_stack = |net: NetId| {
        let on = circuit.parts_on(net);
        let capacitors: Vec<PartId> =
            on.iter().copied().filter(|p| circuit.part(*p).kind == Kind::Capacitor).collect();
        let plain = on.iter().all(|p| matches!(circuit.part(*p).kind, Kind::Capacitor | Kind::Resistor));
        let other =
            capacitors.iter().copied().find(|p| *p != id).filter(|_| plain && capacitors.len() == 2)?;
        // One plus and one minus: a stack. Two pluses are two filters of one rail.
        let leg = |p: PartId| circuit.part(p).legs.iter().position(|l| l.net == Some(net));
        (leg(id) != leg(other)).then_some(other)
    };
    [a, b].into_iter().filter(|n| *n != crate::circuit::CHASSIS).find_map(in_stack)
}
