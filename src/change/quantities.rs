//! The quantities that effects are told of: all of a solved circuit, or those that are asked for.

use std::collections::BTreeSet;

use super::effect::{Quantities, QuantityKind, QuantityName};
use super::stage_gain::StageGains;
use crate::change::comparing::Side;
use crate::circuit::{Circuit, Part};
use crate::model::{Condition, Kind};
use crate::solve::signal::model::Rig;
use crate::solve::{AtRest, Setup, Solved, SolvedSection};

/// The listed quantities of a circuit. Rails are those of `named_by`, the circuit it is compared with; nets are
/// named by a leg in them, so that a name means the same place in both.
pub fn quantities(circuit: &Circuit, named_by: Side, solved: &Solved) -> Quantities {
    with_gains(circuit, solved, &names(circuit, named_by, solved), &StageGains::of(named_by)).0
}

/// The quantities of these names and gains, and what the gains were found in.
pub(super) fn with_gains(
    circuit: &Circuit,
    solved: &Solved,
    names: &BTreeSet<QuantityName>,
    gains: &StageGains,
) -> (Quantities, Option<Rig>) {
    let mut table = at_dc(circuit, solved, names);
    let rig = (solved.condition == Condition::Idle).then(|| ready(circuit, solved, gains)).flatten();
    let found = rig.map(|mut rig| (gains.in_rig(circuit, &mut rig), rig));
    let Some((found, rig)) = found else { return (table, None) };
    table.extend(found.unwrap_or_default());
    (table, Some(rig))
}

/// A solved circuit made ready for gains.
fn ready(circuit: &Circuit, solved: &Solved, gains: &StageGains) -> Option<Rig> {
    let kept = solved.windows.at_rest().map(|rest| (rest.lowered.clone(), rest.point.clone()));
    let anew = || AtRest::of(circuit, &Setup::idle()).ok().map(|rest| (rest.lowered, rest.point));
    gains.rig(circuit, kept.or_else(anew)?, None).ok()
}

/// The quantities of these names that need no signal.
pub(super) fn at_dc(circuit: &Circuit, solved: &Solved, names: &BTreeSet<QuantityName>) -> Quantities {
    let value = |name: &QuantityName| Some((name.clone(), value(circuit, solved, name)?));
    names.iter().filter_map(value).collect()
}

fn value(circuit: &Circuit, solved: &Solved, (kind, name): &QuantityName) -> Option<f64> {
    let section = |after: &str| solved.sections.iter().find(|s| names_section(circuit, s, name, after));
    match kind {
        QuantityKind::RailVolts => solved.net_volts(circuit.find_net(name)?),
        QuantityKind::ElectrodeVolts => ELECTRODES.iter().find_map(|(electrode, after)| {
            let section = section(after)?;
            let own = circuit.part(section.tube);
            let leg = own.legs.iter().find(|leg| is_electrode(&leg.name, &section.letter, electrode))?;
            solved.net_volts(leg.net?)
        }),
        QuantityKind::IdleCurrent => Some(section("")?.cathode_amps),
        QuantityKind::PlateDissipation => Some(section("")?.plate_watts),
        QuantityKind::ScreenDissipation => section("")?.screen_watts,
        QuantityKind::PartPower => {
            let id = circuit.find(name)?;
            solved.watts[id.0 as usize].filter(|_| heats(circuit.part(id)))
        }
        QuantityKind::StageGain | QuantityKind::Bass | QuantityKind::Middle | QuantityKind::Treble => None,
    }
}

/// Electrodes, and how they are told.
const ELECTRODES: [(&str, &str); 3] = [("plate", ".plate"), ("cathode", ".cathode"), ("grid", ".grid")];

/// Whether a name is that of a section, with something after it.
fn names_section(circuit: &Circuit, section: &SolvedSection, name: &str, after: &str) -> bool {
    let rest = name.strip_prefix(circuit.part(section.tube).name.as_str());
    rest.and_then(|rest| rest.strip_prefix(section.letter.as_str())).is_some_and(|rest| rest == after)
}

/// Whether a leg is an electrode of a section: `a.plate`, `plate`.
fn is_electrode(leg: &str, letter: &str, electrode: &str) -> bool {
    let own = if letter.is_empty() {
        Some(leg)
    } else {
        leg.strip_prefix(letter).and_then(|l| l.strip_prefix('.'))
    };
    own == Some(electrode)
}

fn heats(part: &Part) -> bool {
    part.fitted()
        && matches!(part.kind, Kind::Resistor | Kind::Choke | Kind::Pot | Kind::Trimmer | Kind::Zener)
}

/// The names of everything in a circuit that needs no signal.
pub(super) fn names(circuit: &Circuit, named_by: Side, solved: &Solved) -> BTreeSet<QuantityName> {
    let rails = named_by.recognised.rails.iter();
    let rails = rails.map(|rail| (QuantityKind::RailVolts, named_by.circuit.net(rail.net).name.clone()));
    let mut names: BTreeSet<QuantityName> = rails.collect();
    for section in &solved.sections {
        let name = format!("{}{}", circuit.part(section.tube).name, section.letter);
        let electrode = |after: &str| (QuantityKind::ElectrodeVolts, format!("{name}{after}"));
        names.extend(ELECTRODES.iter().map(|(_, after)| electrode(after)));
        let own =
            [QuantityKind::IdleCurrent, QuantityKind::PlateDissipation, QuantityKind::ScreenDissipation];
        names.extend(own.map(|kind| (kind, name.clone())));
    }
    let parts = circuit.parts.iter().filter(|part| heats(part));
    names.extend(parts.map(|part| (QuantityKind::PartPower, part.name.clone())));
    names
}
