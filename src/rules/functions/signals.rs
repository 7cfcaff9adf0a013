//! What signals do: gains of stages, global feedback, the range of a bias control.

use num_complex::Complex64;

use super::{DECIBELS, Function, NET, PART, SHARE, STAGE, TRUTH, part, thing, truth};
use crate::rules::context::{Context, Known, Which};
use crate::rules::value::{Thing, Value};
use crate::solve::signal::gain::decibels;

/// Of a signal what must come back for its sign to mean anything: 0.09 dB.
const LEAST_RETURN: f64 = 0.01;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "gain",
        params: &[STAGE],
        gives: DECIBELS,
        solved: true,
        docs: "Gain of a stage at 1 kHz from its grid to its output at idle, controls as the stock spec sets them; of several sides or outputs \
               the smallest. -200 dB where nothing arrives.",
        example: "gain(s) < stock(gain(s)) - 3 dB",
        code: |c, args| Ok(Value::solved(gains(c, args)?.iter().copied().fold(f64::INFINITY, f64::min))),
    },
    Function {
        name: "added",
        params: &[STAGE],
        gives: TRUTH,
        solved: false,
        docs: "Whether the stock spec has no such stage.",
        example: "where not added(s)",
        code: |c, args| truth(added(c, thing(args, 0)?)),
    },
    Function {
        name: "added",
        params: &[NET],
        gives: TRUTH,
        solved: false,
        docs: "Whether the stock spec has no such net.",
        example: "where not added(n)",
        code: |c, args| truth(added(c, thing(args, 0)?)),
    },
    Function {
        name: "lopsided",
        params: &[STAGE],
        gives: DECIBELS,
        solved: true,
        docs: "By how much the gains of a stage's sides or outputs differ at 1 kHz: of a phase inverter its imbalance.",
        example: "lopsided(s) > 3 dB",
        code: |c, args| {
            let gains = gains(c, args)?;
            let most = gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            Ok(Value::solved(most - gains.iter().copied().fold(f64::INFINITY, f64::min)))
        },
    },
    Function {
        name: "takes-feedback",
        params: &[STAGE],
        gives: TRUTH,
        solved: true,
        docs: "Whether feedback from the output transformer comes in at this stage.",
        example: "stock(takes-feedback(s)) and not takes-feedback(s)",
        code: |c, args| truth(feedback(c, args)?.is_some()),
    },
    Function {
        name: "feedback",
        params: &[STAGE],
        gives: DECIBELS,
        solved: true,
        docs: "What the feedback that comes in at a stage takes off the gain at 1 kHz; below 0 dB it adds. 0 dB where none \
               comes in.",
        example: "feedback(s) < 0 dB",
        code: |c, args| {
            let off = |gain: Complex64| decibels(gain + 1.0).max(-200.0);
            Ok(Value::solved(feedback(c, args)?.map_or(0.0, off)))
        },
    },
    Function {
        name: "aids",
        params: &[STAGE],
        gives: TRUTH,
        solved: true,
        docs: "Whether the feedback that comes in at a stage adds to the signal at 1 kHz instead of taking away: at least a \
               hundredth of it; a dead amplifier returns nothing, with either sign.",
        example: "aids(s)",
        code: |c, args| truth(feedback(c, args)?.is_some_and(|gain| gain.re < -LEAST_RETURN)),
    },
    Function {
        name: "howls",
        params: &[STAGE],
        gives: TRUTH,
        solved: true,
        docs: "Whether the feedback that comes in at a stage makes the amplifier oscillate, by computation.",
        example: "howls(s)",
        code: |c, args| {
            let comes_in = feedback(c, args)?.is_some();
            truth(comes_in && c.signals().howls(&c.amplifier())?)
        },
    },
    Function {
        name: "delivers",
        params: &[STAGE],
        gives: DECIBELS,
        solved: true,
        docs: "What of a stage's output arrives at the grids after it at 1 kHz, controls as the stock spec sets them: the ratios \
               added up. Unknown where a switch stands elsewhere than there. \
               -200 dB where no way leads on.",
        example: "delivers(s) < stock(delivers(s)) - 3 dB",
        code: |c, args| c.signals().delivers(&c.amplifier(), index(args)?).map(Value::solved),
    },
    Function {
        name: "hottest-share",
        params: &[PART],
        gives: SHARE,
        solved: true,
        docs: "The highest share of its maximum that any output valve idles at with a bias control turned to either end.",
        example: "hottest-share(p) > 200 %",
        code: |c, args| c.signals().share_at_ends(&c.amplifier(), part(args)?).map(Value::solved),
    },
];

/// Whether the stock spec does not have a thing.
fn added(c: &Context<'_>, thing: Thing) -> bool {
    let stock =
        Context { which: Which::Stock, slots: Vec::new(), limits: Vec::new(), shared: Vec::new(), ..*c };
    c.worked_of(Which::Stock).is_err() || stock.brought(c.which, thing).is_err()
}

fn index(args: &[Value]) -> Known<usize> {
    match thing(args, 0)? {
        Thing::Stage(index) => Ok(index),
        _ => Err("not a stage".to_owned()),
    }
}

fn gains<'a>(c: &Context<'a>, args: &[Value]) -> Known<&'a [f64]> {
    c.signals().gains(&c.amplifier(), index(args)?)
}

/// Loop gain at 1 kHz of the feedback that comes in at a stage.
fn feedback(c: &Context<'_>, args: &[Value]) -> Known<Option<Complex64>> {
    c.signals().feedback(&c.amplifier(), index(args)?)
}
