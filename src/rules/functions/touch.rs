//! What hands reach, and what would flow through them.

use super::{AMPS, Function, Gives, PART, TEXT, TRUTH, VOLTS, part, text, truth};
use crate::rules::context::{Context, Known, Which};
use crate::rules::dimension::{Dim, Ty};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, Value};
use crate::solve::touch::{Hazard, PlugCharge, Route};

/// Routes of the mains.
const MAINS: &[Route] = &[Route::Mains];
/// Routes of high tension.
const HIGH: &[Route] = &[Route::Winding, Route::Cold, Route::Warm];

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "brings-mains-in-reach",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a part joins the mains to what hands reach: any but a capacitor of class Y to the chassis, whatever it \
               passes, and that one where more than 35 V peak drives more than 0.7 mA peak through a body of 1 kohm; of \
               unknown value it counts as wire: with the earth sound or lost, line and neutral as wired or exchanged, switches and \
               plugs in any position.",
        example: "where brings-mains-in-reach(p)",
        code: |c, args| truth(sought(c, args, MAINS)?.is_some()),
    },
    Function {
        name: "brings-ht-in-reach",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a part joins high tension to what hands reach, so that more than 60 V DC drives more than 2 mA through \
               a body of 1 kohm between two parts within reach, or more than 35 V peak of a winding more than 0.7 mA peak.",
        example: "where brings-ht-in-reach(p)",
        code: |c, args| truth(sought(c, args, HIGH)?.is_some()),
    },
    Function {
        name: "brings-charge-in-reach",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a capacitor takes up, from high tension, more than 350 mJ through a hand on a leg of a jack or a speaker \
               that something drains, while high tension comes up, or more than 10 mJ at one that nothing drains.",
        example: "where brings-charge-in-reach(c)",
        code: |c, args| truth(sought(c, args, CHARGE)?.is_some()),
    },
    Function {
        name: "brings-swing-in-reach",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a part passes the signal at an output valve's plate on to what hands reach, so that at 1 kHz a swing by \
               the supply's volts is more than 35 V peak and drives more than 0.7 mA peak through a body of 1 kohm.",
        example: "where brings-swing-in-reach(p)",
        code: |c, args| truth(sought(c, args, SWING)?.is_some()),
    },
    Function {
        name: "touch-joules",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::JOULE)),
        solved: false,
        docs: "Energy of that charge.",
        example: "{touch-joules(c)}",
        code: |c, args| hazard(c, args, CHARGE).map(|h| figure(h.joules, h.assumed.as_deref())),
    },
    Function {
        name: "passes-by-class-y",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether what a part brings within reach is no more than 3.5 mA rms through capacitors of class Y, in an earthed \
               amplifier with its earth lost.",
        example: "passes-by-class-y(p)",
        code: |c, args| truth(hazard(c, args, LASTING)?.by_class_y),
    },
    Function {
        name: "touch-volts",
        params: &[PART],
        gives: VOLTS,
        solved: false,
        docs: "Volts, AC peak or DC, that a part or its charge brings to what hands reach, with nobody there.",
        example: "{touch-volts(p)}",
        code: |c, args| worst(c, args).map(|h| figure(h.volts, h.assumed.as_deref())),
    },
    Function {
        name: "touch-current",
        params: &[PART],
        gives: AMPS,
        solved: false,
        docs: "Current, AC peak or DC, that they drive through a body of 1 kohm.",
        example: "{touch-current(p)}",
        code: |c, args| worst(c, args).map(|h| figure(h.amps, h.assumed.as_deref())),
    },
    Function {
        name: "touched",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "Between what they stand, when, and what is assumed of the mains: \"J1.tip and chassis\", \"chassis and earth, \
               with the earth lost\".",
        example: "{touched(p)}",
        code: |c, args| text(told(&worst(c, args)?)),
    },
    Function {
        name: "joins-primary-to-secondary",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a part joins a mains conductor or a primary to another winding, otherwise than by the chassis; where \
               they share a net, of the mains transformer.",
        example: "joins-primary-to-secondary(p)",
        code: |c, args| truth(c.touch().joins_primary(&c.facts.now, part(args)?)),
    },
    Function {
        name: "charges-the-plug",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a capacitor is the largest that the mains charges between the pins of the plug.",
        example: "where charges-the-plug(c)",
        code: |c, args| truth(c.touch().at_the_plug(&c.facts.now, part(args)?)?.is_some()),
    },
    Function {
        name: "plug-volts",
        params: &[PART],
        gives: VOLTS,
        solved: false,
        docs: "Volts between the two pins where that charge is worst, 2 s after the plug is pulled at the mains' peak, in the \
               worst position of every switch.",
        example: "plug-volts(c) > 60 V",
        code: |c, args| plug(c, args).map(|p| figure(p.volts, p.assumed.as_deref())),
    },
    Function {
        name: "plug-farads",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::FARAD)),
        solved: false,
        docs: "Capacity between those two pins.",
        example: "plug-farads(c) > 300 nF",
        code: |c, args| plug(c, args).map(|p| figure(p.farads, None)),
    },
    Function {
        name: "plug-joules",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::JOULE)),
        solved: false,
        docs: "Energy left between them.",
        example: "{plug-joules(c)}",
        code: |c, args| plug(c, args).map(|p| figure(p.joules, p.assumed.as_deref())),
    },
    Function {
        name: "plug-pins",
        params: &[PART],
        gives: TEXT,
        solved: false,
        docs: "Which pins, with which switch where, and what is assumed of the mains: \"live and neutral, S1 at off\".",
        example: "{plug-pins(c)}",
        code: |c, args| text(plug(c, args)?.between()),
    },
];

/// Of a capacitor at the plug's pins.
fn plug<'a>(c: &Context<'a>, args: &[Value]) -> Known<&'a PlugCharge> {
    let id = part(args)?;
    let none = || format!("{} keeps nothing at the plug", c.part(id).name);
    c.touch().at_the_plug(&c.facts.now, id)?.ok_or_else(none)
}

/// What lasts.
const LASTING: &[Route] = &[Route::Mains, Route::Winding, Route::Cold, Route::Warm];
/// The signal.
const SWING: &[Route] = &[Route::Swing];
/// What a capacitor gives off.
const CHARGE: &[Route] = &[Route::Charge];

fn sought(c: &Context<'_>, args: &[Value], routes: &[Route]) -> Known<Option<Hazard>> {
    let id = part(args)?;
    if c.which != Which::Now {
        return Err("only this document is touched".to_owned());
    }
    c.touch().of(c.facts, id, routes)
}

/// The worst current that lasts, without one the charge, without that the signal.
fn worst(c: &Context<'_>, args: &[Value]) -> Known<Hazard> {
    let charge = |_| hazard(c, args, CHARGE);
    hazard(c, args, LASTING).or_else(charge).or_else(|_: String| hazard(c, args, SWING))
}

fn hazard(c: &Context<'_>, args: &[Value], routes: &[Route]) -> Known<Hazard> {
    let none = || "it brings nothing within reach".to_owned();
    sought(c, args, routes)?.ok_or_else(none)
}

/// A figure, solved unless something is assumed for it.
fn figure(value: f64, assumed: Option<&str>) -> Value {
    let basis = if assumed.is_some() { Basis::Assumed } else { Basis::Solved };
    Value::number(Number::plain(value, basis))
}

fn in_brackets(assumed: Option<&str>) -> String {
    assumed.map_or(String::new(), |assumed| format!(" ({assumed})"))
}

fn told(hazard: &Hazard) -> String {
    let other = hazard.other.as_ref().map_or("earth", |other| &other.name);
    let state = match hazard.state.as_str() {
        "" => String::new(),
        state => format!(", with {state}"),
    };
    let assumed = in_brackets(hazard.assumed.as_deref());
    format!("{} and {other}{state}{assumed}", hazard.touched.name)
}
