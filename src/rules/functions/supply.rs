//! What supplies from the mains carry over a period, and what capacitors hold after switch-off.

use super::{AMPS, Function, Gives, PART, SHARE, TEXT, TRUTH, VOLTS, part, text, truth};
use crate::circuit::PartId;
use crate::model::{Condition, Kind};
use crate::numeric::time::discharge::Fall;
use crate::rules::context::{Context, Known};
use crate::rules::dimension::{Dim, Ty};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, Value};
use crate::solve::decay::Stored;
use crate::solve::supply::{RectifierState, Supply};
use crate::units::duration;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "volts-at-idle",
        params: &[PART],
        gives: VOLTS,
        solved: false,
        docs: "Volts of a two-leg part's first leg above its second at idle, in whichever condition is judged.",
        example: "volts-at-idle(c) > 0 V",
        code: |c, args| {
            let id = part(args)?;
            let volts = c.solved_in(Condition::Idle)?.across(c.circuit(), id);
            let volts = volts.ok_or_else(|| format!("the volts across {} are undefined", c.part(id).name))?;
            Ok(Value::Number(Number::plain(volts, Basis::Solved)))
        },
    },
    Function {
        name: "rectifies",
        params: &[PART],
        gives: TRUTH,
        solved: true,
        docs: "Whether a part is a rectifier that is worked out from its winding. Where a `source` stands for the supply \
               nothing is known of what it carries.",
        example: "rectifies(d)",
        code: |c, args| {
            let id = part(args)?;
            truth(supplies(c)?.iter().any(|supply| supply.rectifier(id).next().is_some()))
        },
    },
    Function {
        name: "peak-current",
        params: &[PART],
        gives: AMPS,
        solved: true,
        docs: "Greatest current of a rectifier in each period, of a rectifier valve's busier plate.",
        example: "peak-current(v)",
        code: |c, args| worst(c, part(args)?, |state| Ok(state.amps.greatest)),
    },
    Function {
        name: "peak-share",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "The same over the type's `peak-current`.",
        example: "peak-share(v) > 100 %",
        code: |c, args| share(c, args, "peak-current", |state| state.peak_share),
    },
    Function {
        name: "mean-share",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "A rectifier's mean current over its rating: a diode's own, a valve's of both plates.",
        example: "mean-share(d) > 100 %",
        code: |c, args| share(c, args, "DC current", |state| state.mean_share),
    },
    Function {
        name: "inverse-volts",
        params: &[PART],
        gives: VOLTS,
        solved: true,
        docs: "Greatest volts that a rectifier holds off.",
        example: "inverse-volts(d)",
        code: |c, args| worst(c, part(args)?, |state| Ok(state.inverse_volts)),
    },
    Function {
        name: "inverse-share",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "The same over what the part or its type is rated for.",
        example: "inverse-share(d) > 100 %",
        code: |c, args| share(c, args, "inverse voltage", |state| state.inverse_share),
    },
    Function {
        name: "first-charge-current",
        params: &[PART],
        gives: AMPS,
        solved: true,
        docs: "Greatest current of a rectifier's first charge: everything empty, its cathode hot, switched on at the worst \
               instant.",
        example: "first-charge-current(v)",
        code: |c, args| worst(c, part(args)?, |state| Ok(state.inrush_amps)),
    },
    Function {
        name: "first-charge-share",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "The same over the type's `surge-current`.",
        example: "first-charge-share(v) > 100 %",
        code: |c, args| share(c, args, "surge-current", |state| state.inrush_share),
    },
    Function {
        name: "feed-ohms",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::OHM)),
        solved: true,
        docs: "Resistance in a rectifier's feed: its winding, the reflected primary and what is in series.",
        example: "feed-ohms(v)",
        code: |c, args| {
            let id = part(args)?;
            let none = || format!("{} has no reservoir behind it", c.part(id).name);
            worst(c, id, |state| state.feed_ohms.ok_or_else(none))
        },
    },
    Function {
        name: "feed-share",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "What a rectifier valve's type asks for in its feed over what is there: above 100 % it is too little.",
        example: "feed-share(v) > 100 %",
        code: |c, args| share(c, args, "plate-supply-resistance", |state| state.feed_share),
    },
    Function {
        name: "winding-share",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "A mains transformer's busiest supply winding: its current rms over the winding's rating.",
        example: "winding-share(t) > 100 %",
        code: winding_share,
    },
    Function {
        name: "primary-current",
        params: &[PART],
        gives: AMPS,
        solved: true,
        docs: "Current rms that the supplies of a mains transformer draw through its primary and its fuse: without heaters, and \
               without what magnetises the core.",
        example: "primary-current(t)",
        code: |c, args| {
            let id = part(args)?;
            let here = supplies(c)?.iter().flat_map(|s| &s.primaries).find(|(primary, _)| *primary == id);
            here.map(|(_, amps)| solved(*amps)).ok_or_else(|| unsupplied(c, id))
        },
    },
    Function {
        name: "winding-current",
        params: &[PART],
        gives: AMPS,
        solved: true,
        docs: "Current rms of a mains transformer's busiest supply winding.",
        example: "winding-current(t)",
        code: |c, args| {
            let id = part(args)?;
            let here = supplies(c)?.iter().flat_map(|s| &s.windings).filter(|winding| winding.part == id);
            here.map(|winding| winding.rms_amps).reduce(f64::max).map(solved).ok_or_else(|| unsupplied(c, id))
        },
    },
    Function {
        name: "lost-share",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "What a mains transformer or a `source` turns into heat in itself, over all that its supplies take: a tenth in \
               health, nearly all where something shorts them.",
        example: "lost-share(t) > 50 %",
        code: |c, args| lost_share(c, part(args)?),
    },
    Function {
        name: "ripple-current",
        params: &[PART],
        gives: AMPS,
        solved: true,
        docs: "Current rms of a capacitor in a supply from the mains.",
        example: "ripple-current(c)",
        code: |c, args| {
            let id = part(args)?;
            let here = supplies(c)?.iter().flat_map(|s| &s.capacitors).find(|state| state.part == id);
            let none = || format!("{} is in no supply that is worked out from the mains", c.part(id).name);
            here.map(|state| solved(state.rms_amps)).ok_or_else(none)
        },
    },
    Function {
        name: "stored-energy",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::JOULE)),
        solved: true,
        docs: "Energy that a capacitor holds when the amplifier is switched off, at most: in the worst position of every \
               switch on high tension, and by what was read of it.",
        example: "stored-energy(c) > 0.1 J",
        code: |c, args| Ok(solved(c.stored(part(args)?)?.joules)),
    },
    Function {
        name: "keeps-charge",
        params: &[PART],
        gives: TRUTH,
        solved: true,
        docs: "Whether a capacitor is still above 60 V ten days after switch-off, valves cold: nothing discharges it.",
        example: "keeps-charge(c)",
        code: |c, args| truth(c.stored(part(args)?)?.fall.seconds().is_none()),
    },
    Function {
        name: "discharge-time",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::SECOND)),
        solved: true,
        docs: "Time from switch-off, valves cold, until a capacitor holds less than 60 V for good, with the switches left \
               where that is longest. A leak that was found is no bleeder.",
        example: "discharge-time(c) > 60 s",
        code: |c, args| {
            let id = part(args)?;
            let never = || format!("nothing discharges {}", c.part(id).name);
            c.stored(id)?.fall.seconds().map(solved).ok_or_else(never)
        },
    },
    Function {
        name: "charge-told",
        params: &[PART],
        gives: TEXT,
        solved: true,
        docs: "How long a capacitor stays above 60 V, with the switches where, and whether a reading says so: \"above 60 V \
               for 3.2 min, left with S2 at standby\".",
        example: "{charge-told(c)}",
        code: |c, args| text(told(c.stored(part(args)?)?)),
    },
];

/// How long, where the switches stand, and by what.
fn told(stored: &Stored) -> String {
    let time = match stored.fall {
        Fall::Below => "never above 60 V".to_owned(),
        Fall::After(seconds) => format!("above 60 V for {}", duration(seconds)),
        Fall::Never => "nothing discharges it".to_owned(),
    };
    let state = if stored.state.is_empty() { String::new() } else { format!(", {}", stored.state) };
    format!("{time}{state}{}", if stored.by_readings { ", by its readings" } else { "" })
}

fn solved(value: f64) -> Value {
    Value::number(Number::plain(value, Basis::Solved))
}

pub(super) fn supplies<'a>(c: &Context<'a>) -> Known<&'a [Supply]> {
    Ok(&c.solved()?.supplies)
}

/// The greatest of a rectifier's plates or diodes.
fn worst(c: &Context<'_>, id: PartId, of: impl Fn(&RectifierState) -> Known<f64>) -> Known<Value> {
    let states = supplies(c)?.iter().flat_map(|supply| supply.rectifier(id));
    let values = states.map(of).collect::<Known<Vec<f64>>>()?;
    let none = || format!("{} is not worked out from a winding", c.part(id).name);
    values.into_iter().reduce(f64::max).map(solved).ok_or_else(none)
}

/// The same of a share, which needs a limit.
fn share(
    c: &Context<'_>,
    args: &[Value],
    limit: &str,
    of: impl Fn(&RectifierState) -> Option<f64>,
) -> Known<Value> {
    let id = part(args)?;
    let p = c.part(id);
    let missing = || match (&p.component.body.type_name, p.kind) {
        (Some(name), Kind::Tube) => format!("the type data of {name} state no {limit} limit"),
        _ => format!("the {limit} rating of {} is not stated", p.name),
    };
    worst(c, id, |state| of(state).ok_or_else(missing))
}

fn unsupplied(c: &Context<'_>, id: PartId) -> String {
    format!("no supply is worked out from {}", c.part(id).name)
}

fn lost_share(c: &Context<'_>, id: PartId) -> Known<Value> {
    let at_rest = c.solved()?;
    let heat = at_rest.watts.get(id.0 as usize).copied().flatten();
    let heat = heat.ok_or_else(|| format!("the power of {} is undefined", c.part(id).name))?;
    let taken = if c.part(id).kind == Kind::Source {
        let amps = at_rest.amps[id.0 as usize].first().copied().flatten();
        let given = at_rest.across(c.circuit(), id).zip(amps).map(|(volts, amps)| (volts * amps).abs());
        given
            .map(|given| given + heat)
            .ok_or_else(|| format!("what {} gives is undefined", c.part(id).name))?
    } else {
        let of = |supply: &&Supply| supply.primaries.iter().any(|(primary, _)| *primary == id);
        supplies(c)?.iter().find(of).map(|supply| supply.taken_watts).ok_or_else(|| unsupplied(c, id))?
    };
    Ok(solved(if taken > 0.0 { heat / taken } else { 0.0 }))
}

fn winding_share(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let id = part(args)?;
    let windings = supplies(c)?.iter().flat_map(|s| &s.windings).filter(|w| w.part == id);
    let unrated = |name: &str| format!("the current rating of {}.{name} is not stated", c.part(id).name);
    let shares = windings.map(|w| w.share.ok_or_else(|| unrated(&w.name))).collect::<Known<Vec<f64>>>()?;
    shares.into_iter().reduce(f64::max).map(solved).ok_or_else(|| unsupplied(c, id))
}
