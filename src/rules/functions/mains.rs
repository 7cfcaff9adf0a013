//! What the mains side carries: fuses, switches, windings and heaters against what they are made for.

use super::{AMPS, Function, Gives, PART, SHARE, TEXT, TRUTH, VOLTS, part, text, truth};
use crate::circuit::{CHASSIS, Circuit, NetId, Part, PartId, Winding};
use crate::model::Kind;
use crate::rules::context::{Context, Known};
use crate::rules::dimension::{Dim, Ty};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, Value};
use crate::solve::touch::{fuse_bypassed, secondary_amps};
use crate::units::{Unit, rounded};

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "mains-volts",
        params: &[],
        gives: VOLTS,
        solved: false,
        docs: "Nominal volts of the mains.",
        example: "rated-volts(f) < mains-volts",
        code: |c, _| mains(c.circuit()).map(Value::stated),
    },
    Function {
        name: "full-load-current",
        params: &[],
        gives: AMPS,
        solved: false,
        docs: "What all mains transformers draw from the mains with every winding at its rated current: the primary's own \
               rating where it is stated, else volts times amperes of the other windings over the mains' volts.",
        example: "rated-amps(f) > 200 % of full-load-current",
        code: |c, _| full_load(c.circuit()).map(Value::stated),
    },
    Function {
        name: "bypassed",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a fuse cuts off the mains or the high tension in the stock spec, and here that supply is on without it.",
        example: "bypassed(f)",
        code: bypassed,
    },
    Function {
        name: "at-a-winding",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a fuse lies at a mains transformer's secondary winding, over wire and closed contacts.",
        example: "where at-a-winding(f)",
        code: |c, args| truth(winding_at(c, part(args)?).is_some()),
    },
    Function {
        name: "fused-winding-current",
        params: &[PART],
        gives: AMPS,
        solved: false,
        docs: "Rated current of that winding.",
        example: "rated-amps(f) > 400 % of fused-winding-current(f)",
        code: |c, args| winding_current(c, part(args)?).map(Value::stated),
    },
    Function {
        name: "blowing-fuses",
        params: &[PART],
        gives: TEXT,
        solved: true,
        docs: "The fuses before and behind a mains transformer that blow by what they carry, with their ratings.",
        example: "{blowing-fuses(t)}",
        code: |c, args| text(blowing_fuses(c, part(args)?)?),
    },
    Function {
        name: "contact-volts",
        params: &[PART],
        gives: VOLTS,
        solved: true,
        docs: "Greatest volts DC between the lugs of a switch's contacts; of a mains switch the mains'.",
        example: "contact-volts(s) > rated-volts(s)",
        code: contact_volts,
    },
    Function {
        name: "contact-amps",
        params: &[PART],
        gives: AMPS,
        solved: true,
        docs: "Greatest current DC through a switch's lugs; of a mains switch the full-load current.",
        example: "contact-amps(s) > rated-amps(s)",
        code: contact_amps,
    },
    Function {
        name: "heater-share",
        params: &[PART],
        gives: SHARE,
        solved: false,
        docs: "A mains transformer's busiest heater winding: what the valves that it feeds and all that lies across it draw, \
               over its rated current.",
        example: "heater-share(t) > 100 %",
        code: heater_share,
    },
    Function {
        name: "winding-ends-tied",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether both ends of one of a mains transformer's windings meet over wire.",
        example: "winding-ends-tied(t)",
        code: |c, args| truth(ends_tied(c, part(args)?)),
    },
    Function {
        name: "short-circuit-watts",
        params: &[PART],
        gives: Gives::Ty(Ty::Number(Dim::WATT)),
        solved: false,
        docs: "Heat in the windings of a mains transformer whose ends meet over wire, as their resistance makes it.",
        example: "{short-circuit-watts(t)}",
        code: |c, args| Ok(solved(short_watts(c, part(args)?))),
    },
    Function {
        name: "heater-fed",
        params: &[PART],
        gives: TRUTH,
        solved: false,
        docs: "Whether a winding with both its wires on feeds a valve's heater; every valve counts as fed where the text \
               says of no valve what feeds it.",
        example: "not heater-fed(v)",
        code: |c, args| truth(heater_fed(c.circuit(), part(args)?)),
    },
];

fn solved(value: f64) -> Value {
    Value::number(Number::plain(value, Basis::Solved))
}

fn mains(circuit: &Circuit) -> Known<f64> {
    circuit.mains.map(|m| m.volts).ok_or_else(|| "the mains is not stated".to_owned())
}

fn transformers(circuit: &Circuit) -> impl Iterator<Item = &Part> {
    circuit.parts.iter().map(AsRef::as_ref).filter(|p: &&Part| p.kind == Kind::MainsTransformer && p.fitted())
}

/// Volts from end to end.
fn whole(winding: &Winding) -> f64 {
    if winding.centre_tapped { 2.0 * winding.volts } else { winding.volts }
}

fn full_load(circuit: &Circuit) -> Known<f64> {
    let volts = mains(circuit)?;
    let mut amps = 0.0;
    for part in transformers(circuit) {
        let (primaries, others): (Vec<&Winding>, Vec<&Winding>) =
            part.component.body.windings.iter().partition(|w| w.name.starts_with("primary"));
        let rated = |windings: &[&Winding]| -> Option<f64> {
            windings.iter().map(|w| w.amps.map(|amps| amps * whole(w))).sum()
        };
        let stated = rated(&primaries).filter(|watts| *watts > 0.0);
        let unrated = || format!("the windings of {} have no rated current", part.name);
        amps += stated.or_else(|| rated(&others)).ok_or_else(unrated)? / volts;
    }
    if amps > 0.0 { Ok(amps) } else { Err("there is no mains transformer".to_owned()) }
}

fn bypassed(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let id = part(args)?;
    let Some(stock) = &c.facts.stock else { return truth(false) };
    let unsolved = |why| format!("what {} cuts off can't be worked out: {why}", c.part(id).name);
    truth(fuse_bypassed(&stock.circuit, c.circuit(), &c.part(id).name).map_err(unsolved)?)
}

/// The secondary winding that a fuse lies at, and its transformer.
fn winding_at<'a>(c: &Context<'a>, fuse: PartId) -> Option<(&'a Part, &'a Winding)> {
    let circuit = c.circuit();
    let ends = circuit.part(fuse).legs.iter().filter_map(|leg| leg.net).filter(|net| *net != CHASSIS);
    let nets: Vec<NetId> = ends.flat_map(|net| c.paths().by_contact(circuit, net)).collect();
    let at = |part: &Part, winding: &Winding| {
        let prefix = format!("{}.", winding.name);
        let here = |net: NetId| net != CHASSIS && nets.contains(&net);
        part.legs.iter().any(|leg| leg.name.starts_with(&prefix) && leg.net.is_some_and(here))
    };
    transformers(circuit).find_map(|part| {
        let secondary = part.component.body.windings.iter().filter(|w| !w.name.starts_with("primary"));
        secondary.filter(|winding| at(part, winding)).map(|winding| (part, winding)).next()
    })
}

fn winding_current(c: &Context<'_>, fuse: PartId) -> Known<f64> {
    let (part, winding) =
        winding_at(c, fuse).ok_or_else(|| format!("{} lies at no winding", c.part(fuse).name))?;
    let unrated = || format!("the current rating of {}.{} is not stated", part.name, winding.name);
    winding.amps.filter(|amps| *amps > 0.0).ok_or_else(unrated)
}

/// A fuse blows within half an hour above this share of its rating (IEC 60127-2, from memory).
const BLOWS: f64 = 2.1;

fn blowing_fuses(c: &Context<'_>, transformer: PartId) -> Known<String> {
    let circuit = c.circuit();
    let mut named = Vec::new();
    for id in
        circuit.part_ids().filter(|id| circuit.part(*id).kind == Kind::Fuse && circuit.part(*id).fitted())
    {
        let fuse = circuit.part(id);
        let rated = fuse.value().filter(|_| !fuse.component.shorted);
        if let (Some(rated), Some(amps)) = (rated, carried(c, id, transformer)?)
            && amps > BLOWS * rated
        {
            named.push(format!(
                "{} ({}, carrying {})",
                fuse.name,
                rounded(rated, Unit::Amp, 3),
                rounded(amps, Unit::Amp, 2)
            ));
        }
    }
    Ok(match &named[..] {
        [] => "no fuse blows".to_owned(),
        [one] => format!("{one} blows"),
        more => format!("{} blow", more.join(" and ")),
    })
}

/// Current rms of a fuse by what a transformer takes or gives; `None` where it lies elsewhere.
fn carried(c: &Context<'_>, fuse: PartId, transformer: PartId) -> Known<Option<f64>> {
    let supplies = super::supply::supplies(c)?;
    if c.role_word(fuse) == "mains-fuse" {
        let primaries = supplies.iter().flat_map(|supply| &supply.primaries);
        return Ok(primaries
            .filter(|(part, _)| *part == transformer)
            .map(|(_, amps)| *amps)
            .reduce(f64::max));
    }
    let name = winding_at(c, fuse).filter(|(part, _)| part.name == c.part(transformer).name);
    let windings = supplies.iter().flat_map(|s| &s.windings).filter(|w| w.part == transformer);
    Ok(name.and_then(|(_, at)| windings.filter(|w| w.name == at.name).map(|w| w.rms_amps).reduce(f64::max)))
}

/// Whether a switch stands in the mains.
fn in_the_mains(c: &Context<'_>, id: PartId) -> bool {
    c.role_word(id) == "mains-switch"
}

fn contact_volts(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let id = part(args)?;
    if in_the_mains(c, id) {
        return mains(c.circuit()).map(Value::stated);
    }
    let (this, at) = (c.part(id), c.solved()?);
    let volts = |leg: u32| this.legs.get(leg as usize).and_then(|l| l.net).and_then(|net| at.net_volts(net));
    let across = this.component.body.contacts.iter().filter_map(|c| Some((volts(c.a)? - volts(c.b)?).abs()));
    Ok(solved(across.fold(0.0, f64::max)))
}

fn contact_amps(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let id = part(args)?;
    if in_the_mains(c, id) {
        return full_load(c.circuit()).map(Value::stated);
    }
    let amps = c.solved()?.amps.get(id.0 as usize).into_iter().flatten().flatten();
    Ok(solved(amps.copied().map(f64::abs).fold(0.0, f64::max)))
}

/// Windings with the valves that each feeds.
fn heater_share(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let (circuit, id) = (c.circuit(), part(args)?);
    let mut worst: Option<f64> = None;
    for heater in circuit.heaters.iter().filter(|h| h.transformer == id) {
        let windings = &c.part(id).component.body.windings;
        let Some(index) = windings.iter().position(|w| w.name == heater.winding) else { continue };
        let unsolved =
            |why| format!("the current of {}.{} can't be worked out: {why}", c.part(id).name, heater.winding);
        let mut amps = secondary_amps(circuit, id, index).map_err(unsolved)?;
        for valve in heater.valves.iter().filter(|v| circuit.part(**v).fitted()) {
            let missing =
                || format!("the heater current of {} is not in its type data", circuit.part(*valve).name);
            amps += c.tube_type(*valve)?.heater.ok_or_else(missing)?.1;
        }
        let unrated =
            || format!("the current rating of {}.{} is not stated", c.part(id).name, heater.winding);
        let share = amps / windings[index].amps.filter(|a| *a > 0.0).ok_or_else(unrated)?;
        worst = Some(worst.map_or(share, |w| w.max(share)));
    }
    worst.map(solved).ok_or_else(|| format!("{} feeds no heater that the text names", c.part(id).name))
}

/// Windings of a transformer whose ends meet over wire.
fn tied<'a>(c: &Context<'a>, id: PartId) -> Vec<&'a Winding> {
    let this = c.part(id);
    let net = |winding: &Winding, end: &str| {
        this.leg_index(&format!("{}.{end}", winding.name)).and_then(|leg| this.legs[leg].net)
    };
    let meets = |winding: &&Winding| {
        let ends = ["a", "centre", "b"].map(|end| net(winding, end));
        let pairs = [(ends[0], ends[2]), (ends[0], ends[1]), (ends[1], ends[2])];
        let joined = |(x, y)| match (x, y) {
            (Some(x), Some(y)) => x == y || c.paths().wired(c.circuit(), x, y),
            _ => false,
        };
        pairs.into_iter().any(joined)
    };
    this.component.body.windings.iter().filter(meets).collect()
}

fn ends_tied(c: &Context<'_>, id: PartId) -> bool {
    !tied(c, id).is_empty()
}

fn short_watts(c: &Context<'_>, id: PartId) -> f64 {
    let heat = |w: &&Winding| w.ohms.filter(|ohms| *ohms > 0.0).map(|ohms| w.volts * w.volts / ohms);
    tied(c, id).iter().filter_map(heat).sum()
}

fn heater_fed(circuit: &Circuit, valve: PartId) -> bool {
    let wired = |heater: &&crate::circuit::Heater| {
        let transformer = circuit.part(heater.transformer);
        let ends = ["a", "b"].map(|end| transformer.leg_index(&format!("{}.{end}", heater.winding)));
        transformer.fitted() && ends.iter().flatten().all(|leg| !transformer.legs[*leg].lifted)
    };
    circuit.heaters.is_empty()
        || circuit.heaters.iter().filter(wired).any(|heater| heater.valves.contains(&valve))
}
