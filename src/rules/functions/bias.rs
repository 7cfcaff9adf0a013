//! Where a valve section stands on its load line.

use super::sections::electrode;
use super::{COUNT, Function, SECTION, SHARE, TRUTH, VOLTS, section, truth};
use crate::circuit::{CHASSIS, NetId, PartId};
use crate::model::{Condition, Kind};
use crate::recognise::StageKind;
use crate::rules::context::{Context, Known, letter};
use crate::rules::value::{SectionId, Value};
use crate::solve::{Case, SolvedSection, WIPER_OPEN};

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "grid-volts",
        params: &[SECTION],
        gives: VOLTS,
        solved: true,
        docs: "Grid volts above the cathode, as solved; below 0 V in a valve that is biased.",
        example: "grid-volts(s) > 0 V",
        code: |c, args| {
            let id = section(args)?;
            c.between(electrode(c, id, "grid")?, electrode(c, id, "cathode")?).map(Value::Number)
        },
    },
    Function {
        name: "hangs-on-a-wiper",
        params: &[SECTION],
        gives: TRUTH,
        solved: true,
        docs: "Whether the section is biased from a supply with a control whose wiper may lose contact.",
        example: "hangs-on-a-wiper(s)",
        code: |c, args| truth(!without_wiper(c, section(args)?).is_empty()),
    },
    Function {
        name: "share-without-wiper",
        params: &[SECTION],
        gives: SHARE,
        solved: true,
        docs: "Plate dissipation over the type's maximum with the wiper of the bias control out of contact; of several \
               controls the worst.",
        example: "share-without-wiper(s) > 130 %",
        code: |c, args| {
            let id = section(args)?;
            let unknown = || format!("{} without a wiper is not solved", c.section_name(id));
            let shares = without_wiper(c, id).into_iter().map(|section| section.plate_share);
            let shares = shares.collect::<Option<Vec<f64>>>().ok_or_else(unknown)?;
            shares.into_iter().reduce(f64::max).map(Value::solved).ok_or_else(unknown)
        },
    },
    Function {
        name: "plate-place",
        params: &[SECTION],
        gives: SHARE,
        solved: true,
        docs: "Where the plate stands between the cathode and the rail that its load hangs on: near 100 % the valve passes \
               next to nothing, near 0 % all it can.",
        example: "plate-place(s) > 95 %",
        code: |c, args| plate_place(c, section(args)?).map(Value::solved),
    },
    Function {
        name: "rail-depth",
        params: &[SECTION],
        gives: COUNT,
        solved: false,
        docs: "How many droppers and chokes lie between the reservoir and the rail that a section's plate load hangs on.",
        example: "rail-depth(s) < stock(rail-depth(s))",
        code: |c, args| {
            let id = section(args)?;
            let rail = c.recognised().rail(plate_rail(c, id)?);
            let missing = || format!("the plate load of {} hangs on no rail", c.section_name(id));
            Ok(Value::stated(f64::from(rail.ok_or_else(missing)?.depth)))
        },
    },
    Function {
        name: "bypassed",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether a common-cathode section's cathode resistor has its bypass capacitor.",
        example: "stock(bypassed(s)) and not bypassed(s)",
        code: |c, args| {
            let kind = c.stage_of(section(args)?).map(|s| s.kind);
            truth(kind == Some(StageKind::CommonCathode { bypassed: true }))
        },
    },
    Function {
        name: "grid-tied",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether the grid lies at chassis or at its own cathode over wire or shorted parts, so that no signal moves it.",
        example: "grid-tied(s) and not stock(grid-tied(s))",
        code: |c, args| {
            let id = section(args)?;
            let Some(grid) = c.electrode_net(id, "grid") else { return truth(false) };
            let ends = [Some(CHASSIS), c.electrode_net(id, "cathode")];
            let tied = |end: NetId| grid == end || c.paths().wired(c.circuit(), grid, end);
            truth(ends.into_iter().flatten().any(tied))
        },
    },
    Function {
        name: "direct-coupled",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether the grid sits on what the stage before gives, with no capacitor between: that stage's volts are its own.",
        example: "direct-coupled(s)",
        code: |c, args| {
            let grid = c.electrode_net(section(args)?, "grid");
            let mut couplings =
                c.recognised().couplings.iter().filter(|coupling| Some(coupling.input) == grid);
            truth(couplings.any(|coupling| !isolated(c, &coupling.parts)))
        },
    },
    Function {
        name: "heater-referenced",
        params: &[SECTION],
        gives: TRUTH,
        solved: false,
        docs: "Whether the winding that heats the section is tied to anything: its stated reference, by a leg that still sits \
               there. Unknown where the text names no winding or nothing that holds it.",
        example: "not heater-referenced(s)",
        code: |c, args| heater_referenced(c, section(args)?),
    },
];

/// The net at the far end of a section's plate load.
fn plate_rail(c: &Context<'_>, id: SectionId) -> Known<NetId> {
    let (plate, circuit) = (electrode(c, id, "plate")?, c.circuit());
    let load = circuit.parts_on(plate).into_iter().find(|part| c.role_word(*part) == "plate-load");
    let rail = load.and_then(|part| circuit.across(part, plate));
    rail.ok_or_else(|| format!("no plate load of {} leads to a rail", c.section_name(id)))
}

fn plate_place(c: &Context<'_>, id: SectionId) -> Known<f64> {
    let (plate, cathode) = (electrode(c, id, "plate")?, electrode(c, id, "cathode")?);
    let rail = plate_rail(c, id)?;
    let foot = c.net_volts(cathode)?;
    let whole = c.net_volts(rail)? - foot;
    if whole < 1.0 {
        return Err(format!("{} has no supply", c.section_name(id)));
    }
    Ok((c.net_volts(plate)? - foot) / whole)
}

fn heater_referenced(c: &Context<'_>, id: SectionId) -> Known<Value> {
    let circuit = c.circuit();
    let feed = circuit.heaters.iter().find(|h| h.valves.contains(&id.tube));
    let feed = feed.ok_or_else(|| "the text names no winding that heats it".to_owned())?;
    let winding = format!("{}.", feed.winding);
    let legs = &c.part(feed.transformer).legs;
    let own = legs.iter().filter(|l| l.name.starts_with(&winding)).filter_map(|l| l.net);
    let held = |net: NetId| c.paths().grounded(circuit, net);
    let by_leg = own.into_iter().any(|net| held(net) || Some(net) == feed.reference);
    if !by_leg && feed.reference.is_none() {
        return Err("the text does not say what holds its heater winding".to_owned());
    }
    truth(by_leg)
}

/// Whether a capacitor keeps direct current out of a way.
fn isolated(c: &Context<'_>, way: &[PartId]) -> bool {
    way.iter().any(|part| c.part(*part).kind == Kind::Capacitor)
}

/// A section in every case of lost bias in which a wiper is out of contact.
fn without_wiper<'a>(c: &Context<'a>, id: SectionId) -> Vec<&'a SolvedSection> {
    let lifted = |case: &&Case| case.solved.case.as_deref().is_some_and(|name| name.ends_with(WIPER_OPEN));
    let cases = c.cases(Condition::BiasLost).iter().filter(lifted);
    cases.filter_map(|case| case.solved.section(id.tube, &letter(id))).collect()
}
