//! The output transformer and what hangs on its taps.

use std::collections::BTreeSet;

use super::{Function, OHMS, PART, TRUTH, part, truth};
use crate::circuit::{CHASSIS, NetId, PartId};
use crate::model::Kind;
use crate::rules::context::Context;
use crate::rules::value::Value;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "tap-ohms",
        params: &[PART],
        gives: OHMS,
        solved: false,
        docs: "The ohms of the output transformer's tap that a speaker hangs on, over wires, jacks and closed contacts.",
        example: "ohms(l) < 60 % of tap-ohms(l)",
        code: |c, args| {
            let speaker = part(args)?;
            let none = || format!("{} hangs on no tap of an output transformer", c.part(speaker).name);
            tap(c, speaker).map(|(_, ohms)| Value::stated(ohms)).ok_or_else(none)
        },
    },
    Function {
        name: "on-a-tap",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a speaker hangs between a tap of an output transformer and its common end.",
        example: "where on-a-tap(l)",
        code: |c, args| truth(tap(c, part(args)?).is_some()),
    },
    Function {
        name: "speaker-on",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a speaker hangs on an output transformer.",
        example: "not speaker-on(t)",
        code: |c, args| {
            let transformer = part(args)?;
            let on = |id: PartId| tap(c, id).is_some_and(|(of, _)| of == transformer);
            truth(speakers(c).into_iter().any(on))
        },
    },
];

fn speakers(c: &Context<'_>) -> Vec<PartId> {
    let of = |id: &PartId| c.part(*id).kind == Kind::Speaker && c.part(*id).fitted();
    c.circuit().part_ids().filter(of).collect()
}

/// The output transformer that a speaker closes the secondary of, and the ohms of its tap.
fn tap(c: &Context<'_>, speaker: PartId) -> Option<(PartId, f64)> {
    let circuit = c.circuit();
    let (a, b) = circuit.ends(speaker)?;
    let reached = |net: NetId| c.paths().by_contact(circuit, net);
    let ends: [(BTreeSet<NetId>, BTreeSet<NetId>); 2] = [(reached(a), reached(b)), (reached(b), reached(a))];
    let transformers = circuit
        .part_ids()
        .filter(|id| circuit.part(*id).kind == Kind::OutputTransformer && circuit.part(*id).fitted());
    transformers.into_iter().find_map(|id| {
        let common = circuit.leg_net(id, "common")?;
        let taps = &circuit.part(id).component.body.output_taps;
        taps.iter().find_map(|(name, ohms)| {
            let net = circuit.leg_net(id, name).filter(|net| *net != CHASSIS)?;
            let closes = ends.iter().any(|(hot, cold)| hot.contains(&net) && cold.contains(&common));
            closes.then_some((id, *ohms))
        })
    })
}
