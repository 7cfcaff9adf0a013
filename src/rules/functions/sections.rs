//! Valve sections: how they are wired and biased.

use std::collections::BTreeSet;

use super::{
    COUNT, Function, Gives, OHMS, PART, Param, SECTION, STAGE, TEXT, TRUTH, section, text, thing, truth, word,
};
use crate::circuit::{CHASSIS, NetId, PartId};
use crate::model::RoleKind;
use crate::recognise::{Stage, StageKind};
use crate::rules::context::{Context, Known};
use crate::rules::dimension::{Domain, Sort, Ty};
use crate::rules::domain::{NONE, stage_word};
use crate::rules::value::{SectionId, Thing, Value};

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "tube",
        params: &[SECTION],
        gives: Gives::Ty(Ty::Thing(Sort::Part)),
        solved: false,
        docs: "The valve that a section is in.",
        example: "value(tube(s))",
        code: |_, args| Ok(Value::Thing(Thing::Part(section(args)?.tube))),
    },
    Function {
        name: "stage",
        params: &[SECTION],
        gives: word(Domain::Stage),
        solved: false,
        docs: "The kind of stage that a section works in; `none` where nothing is recognised.",
        example: "stage(s) is cathode-follower",
        code: |c, args| {
            let stage = c.stage_of(section(args)?);
            Ok(Value::Word(stage.map_or(NONE, |s| stage_word(s.kind)).into()))
        },
    },
    Function {
        name: "stage",
        params: &[STAGE],
        gives: word(Domain::Stage),
        solved: false,
        docs: "The kind of a stage.",
        example: "stage(s) is push-pull-output",
        code: |c, args| Ok(Value::Word(stage_word(stage(c, args)?.kind).into())),
    },
    Function {
        name: "stage-name",
        params: &[SECTION],
        gives: TEXT,
        solved: false,
        docs: "The stage of a section in words: `phase inverter`.",
        example: "{stage-name(s)}",
        code: |c, args| text(c.stage_of(section(args)?).map_or("valve section", |s| s.name.as_str())),
    },
    Function {
        name: "sections",
        params: &[STAGE],
        gives: Gives::Ty(Ty::Group(Sort::Section)),
        solved: false,
        docs: "The valve sections of a stage, to count over.",
        example: "highest(cathode-amps(t) for t in sections(s))",
        code: |c, args| Ok(Value::Group(stage(c, args)?.sections.iter().map(section_of).collect())),
    },
    Function {
        name: "types",
        params: &[STAGE],
        gives: COUNT,
        solved: false,
        docs: "How many different types of valves work in a stage.",
        example: "types(s) > 1",
        code: |c, args| {
            let sections = stage(c, args)?.sections.iter();
            let types: BTreeSet<&str> =
                sections.map(|s| c.tube_type(s.tube).map(|t| t.name.as_str())).collect::<Known<_>>()?;
            Ok(Value::stated(types.len() as f64))
        },
    },
    Function {
        name: "output-valve",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether a section works in an output stage.",
        example: "where output-valve(s)",
        code: |c, args| truth(c.stage_of(section(args)?).is_some_and(|s| is_output(s.kind))),
    },
    Function {
        name: "fixed-bias",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether an output valve is biased from a bias supply rather than by its cathode resistor.",
        example: "where fixed-bias(s)",
        code: |c, args| truth(fixed_bias(c, section(args)?)),
    },
    Function {
        name: "fixed-bias",
        params: &[STAGE],
        gives: TRUTH,
        solved: false,
        docs: "Whether an output stage is biased from a bias supply.",
        example: "where fixed-bias(s)",
        code: |c, args| truth(is_fixed(stage(c, args)?.kind)),
    },
    Function {
        name: "unused",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether a section is said to be idle on purpose.",
        example: "where not unused(s)",
        code: |c, args| {
            let id = section(args)?;
            let letter = crate::rules::context::letter(id);
            truth(c.part(id.tube).unused.contains(&letter))
        },
    },
    Function {
        name: "grid-hangs",
        params: &[SECTION],
        gives: TRUTH,
        solved: true,
        docs: "Whether the control grid has no DC path to its reference, so that nothing holds its bias.",
        example: "grid-hangs(s)",
        code: |c, args| hangs(c, section(args)?, "grid"),
    },
    Function {
        name: "cathode-hangs",
        params: &[SECTION],
        gives: TRUTH,
        solved: true,
        docs: "Whether the cathode has no DC path to chassis, so that no current can flow.",
        example: "cathode-hangs(s)",
        code: |c, args| hangs(c, section(args)?, "cathode"),
    },
    Function {
        name: "plate-hangs",
        params: &[SECTION],
        gives: TRUTH,
        solved: true,
        docs: "Whether the plate has no DC path to anything, so that nothing feeds it.",
        example: "plate-hangs(s)",
        code: |c, args| hangs(c, section(args)?, "plate"),
    },
    Function {
        name: "grid-circuit",
        params: &[SECTION],
        gives: OHMS,
        solved: false,
        docs: "DC ohms from the grid with all sources at 0 to chassis, or to a point of its cathode's way there, which follows \
               the cathode; what several grids of a stage share counts once for each of them.",
        example: "grid-circuit(s) > grid-circuit-limit(s)",
        code: |c, args| {
            let id = section(args)?;
            let grid = electrode(c, id, "grid")?;
            let mut sharers: Vec<NetId> = c.stage_of(id).map_or(Vec::new(), |s| s.inputs.clone());
            sharers.sort_unstable();
            sharers.dedup();
            // Each grid of the stage carries the same current; its net may hang behind a stopper.
            let ohms = c.paths().ohms_to_reference(c.circuit(), grid, &beneath_cathode(c, id), &sharers)?;
            Ok(Value::stated(ohms))
        },
    },
    Function {
        name: "grid-circuit-limit",
        params: &[SECTION],
        gives: OHMS,
        solved: false,
        docs: "The highest grid-circuit resistance that the type allows for the kind of bias it has here.",
        example: "grid-circuit-limit(s)",
        code: |c, args| {
            let id = section(args)?;
            let output = c.stage_of(id).is_some_and(|s| is_output(s.kind));
            let limit = if fixed_bias(c, id) {
                "grid-circuit-fixed-bias"
            } else if !output && c.electrode_net(id, "cathode") == Some(CHASSIS) {
                // Biased by its own grid current over megohms, for which data sheets allow many times more.
                return Err("the type data state no limit for grid-current bias".to_owned());
            } else {
                "grid-circuit-cathode-bias"
            };
            c.type_limit(id.tube, limit).map(Value::stated)
        },
    },
    Function {
        name: "has-screen",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether the section has a screen grid.",
        example: "where has-screen(s)",
        code: |c, args| truth(c.electrode(section(args)?, "screen").is_some()),
    },
    Function {
        name: "screen-resistor",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether a resistor stands between the screen and its rail.",
        example: "not screen-resistor(s)",
        code: |c, args| truth(screen_resistor(c, section(args)?)),
    },
    Function {
        name: "serves",
        params: &[PART, Param::Is(Ty::Word(Domain::Stage))],
        gives: TRUTH,
        solved: false,
        docs: "Whether a part belongs to a stage of this kind.",
        example: "serves(r, long-tailed-pair)",
        code: |c, args| {
            let kind = super::word_of(args, 1)?;
            let stage = c.recognised().stage_of(super::part(args)?);
            truth(stage.is_some_and(|s| stage_word(s.kind) == kind))
        },
    },
];

fn stage<'a>(c: &Context<'a>, args: &[Value]) -> Known<&'a Stage> {
    match thing(args, 0)? {
        Thing::Stage(index) => c.recognised().stages.get(index).ok_or_else(|| "no such stage".to_owned()),
        _ => Err("not a stage".to_owned()),
    }
}

pub(crate) fn section_of(section: &crate::recognise::Section) -> Thing {
    Thing::Section(SectionId { tube: section.tube, letter: section.letter.chars().next() })
}

pub(super) fn is_output(kind: StageKind) -> bool {
    matches!(kind, StageKind::SingleEndedOutput { .. } | StageKind::PushPullOutput { .. })
}

fn is_fixed(kind: StageKind) -> bool {
    matches!(
        kind,
        StageKind::SingleEndedOutput { fixed_bias: true } | StageKind::PushPullOutput { fixed_bias: true }
    )
}

pub(super) fn fixed_bias(c: &Context<'_>, id: SectionId) -> bool {
    c.stage_of(id).is_some_and(|s| is_fixed(s.kind))
}

pub(super) fn electrode(c: &Context<'_>, id: SectionId, electrode: &str) -> Known<NetId> {
    c.electrode_net(id, electrode)
        .ok_or_else(|| format!("the {electrode} of {} is not connected", c.section_name(id)))
}

/// A free electrode, one in an island, or a grid that the solver found floating. What another valve's current holds,
/// as in a stack of two, does not hang.
/// Nets that follow a section's cathode: its own, and those between the parts of its way to chassis or a negative rail.
/// What a leak from there to the grid shares with the cathode moves both alike.
fn beneath_cathode(c: &Context<'_>, id: SectionId) -> BTreeSet<NetId> {
    let ways =
        [RoleKind::CathodeResistor, RoleKind::TailResistor, RoleKind::FollowerLoad, RoleKind::CathodeLoad];
    let carries = |part: &&PartId| c.recognised().role(**part).is_some_and(|r| ways.contains(&r.kind));
    let parts = c.parts_of_stage(id).iter().filter(carries);
    let nets = parts.flat_map(|part| c.part(*part).legs.iter().filter_map(|leg| leg.net));
    let still = |net: &NetId| c.recognised().bias.contains(net) || c.recognised().rail(*net).is_some();
    nets.chain(c.electrode_net(id, "cathode")).filter(|net| !still(net)).collect()
}

fn hangs(c: &Context<'_>, id: SectionId, name: &str) -> Known<Value> {
    let Some(leg) = c.electrode(id, name) else { return truth(false) };
    let Some(net) = c.circuit().net_of(leg) else { return truth(true) };
    let floating = c.solved().is_ok_and(|s| s.floating_grids.contains(&leg));
    let held = c.paths().grounded(c.circuit(), net) || c.net_volts(net).is_ok();
    truth(floating || !held)
}

/// A fitted resistor with a leg in the screen's net that is a screen resistor, or that leads to another net and is
/// the only way there.
fn screen_resistor(c: &Context<'_>, id: SectionId) -> bool {
    let Some(net) = c.electrode_net(id, "screen") else { return false };
    let serves = |part: &PartId| {
        let role = c.recognised().roles.get(part);
        role.is_some_and(|r| r.kind == RoleKind::ScreenResistor)
            && !c.paths().linked_out(c.circuit(), *part)
            && c.part(*part).fitted()
            && !c.part(*part).component.shorted
    };
    c.circuit().parts_on(net).iter().any(serves)
}
