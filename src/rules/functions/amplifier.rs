//! The whole amplifier, and its way from the mains.

use super::{Function, PART, TRUTH, part, truth, word};
use crate::rules::dimension::Domain;
use crate::rules::domain::document_word;
use crate::rules::paths;
use crate::rules::value::Value;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "document",
        params: &[],
        gives: word(Domain::Document),
        solved: false,
        docs: "What kind of document is judged. Without brackets, as it asks for nothing.",
        example: "where document is plan",
        code: |c, _| Ok(Value::Word(document_word(c.circuit().kind).into())),
    },
    Function {
        name: "double-insulated",
        params: &[],
        gives: TRUTH,
        solved: false,
        docs: "Whether the spec says `insulation class-II`. Where it says nothing the amplifier counts as class I: a metal \
               chassis.",
        example: "where not double-insulated",
        code: |c, _| truth(c.circuit().insulation.as_ref().is_some_and(|i| i.value == "class-II")),
    },
    Function {
        name: "earthed",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether an inlet's earth leads to chassis over wire alone; a resistor or a fuse on the way is no earth.",
        example: "require earthed(p) else danger to people",
        code: |c, args| truth(c.paths().earthed(c.circuit(), part(args)?)),
    },
    Function {
        name: "earthed-through-parts",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether an inlet's earth leads to chassis, but over a switch, a resistor or another part that may open.",
        example: "earthed-through-parts(p)",
        code: |c, args| {
            let inlet = part(args)?;
            let earth = c.circuit().leg_net(inlet, "earth");
            let leads = earth.is_some_and(|net| c.paths().grounded(c.circuit(), net));
            truth(leads && !c.paths().earthed(c.circuit(), inlet))
        },
    },
    Function {
        name: "in-the-neutral-alone",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a fuse or a switch stands in an inlet's neutral conductor while nothing of its kind stands in the live \
               one.",
        example: "in-the-neutral-alone(f)",
        code: |c, args| truth(paths::in_the_neutral_alone(c.circuit(), part(args)?)),
    },
    Function {
        name: "shorts-the-mains",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether an inlet's live and neutral conductor meet over wire past no fuse, in any position of the switches.",
        example: "shorts-the-mains(p)",
        code: |c, args| truth(paths::mains_shorted(c.circuit(), part(args)?, false)),
    },
    Function {
        name: "shorts-the-fused-mains",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "The same over wire and fuses.",
        example: "shorts-the-fused-mains(p)",
        code: |c, args| truth(paths::mains_shorted(c.circuit(), part(args)?, true)),
    },
    Function {
        name: "unfused",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether an inlet's live conductor reaches a mains transformer past no fuse, switches closed.",
        example: "unfused(p)",
        code: |c, args| truth(paths::unfused(c.circuit(), part(args)?)),
    },
];
