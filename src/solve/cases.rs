//! Conditions that an amplifier has in several cases: one thing cold, or open, at a time.

use std::collections::BTreeSet;

use crate::circuit::{Circuit, LegId, PartId};
use crate::model::{Condition, Kind, RoleKind};
use crate::recognise::{Recognised, StageKind};
use crate::solve::setup::{Setup, below_chassis};

/// How the case of a control's wiper without contact is called, after the control's name.
pub const WIPER_OPEN: &str = ".wiper open";

/// Each bottle with a section that shares a DC path with another, cold alone: its heater warms all of it.
pub(super) fn uneven_warm_ups(circuit: &Circuit, recognised: &Recognised) -> Vec<Setup> {
    let direct = recognised.couplings.iter().filter(|coupling| coupling.output == coupling.input);
    let coupled = direct.flat_map(|coupling| [coupling.from, coupling.to]);
    let shared = |kind: StageKind| {
        matches!(kind, StageKind::LongTailedPair | StageKind::PushPullOutput { fixed_bias: false })
    };
    let pairs = recognised.stages.iter().enumerate().filter(|(_, s)| shared(s.kind));
    let stages: BTreeSet<usize> = coupled.chain(pairs.map(|(index, _)| index)).collect();
    let bottles: BTreeSet<PartId> =
        stages.into_iter().flat_map(|index| &recognised.stages[index].sections).map(|s| s.tube).collect();
    let all = || recognised.stages.iter().flat_map(|s| &s.sections).chain(&recognised.strange_sections);
    let cold = |tube: PartId| Setup {
        condition: Condition::UnevenWarmUp,
        case: Some(format!("{} cold", circuit.part(tube).name)),
        cold: all().filter(|section| section.tube == tube).cloned().collect(),
        ..Setup::idle()
    };
    bottles.into_iter().map(cold).collect()
}

/// The bias supply's rectifiers open (with a source that stands for them), each resistor of its feed open, each bias
/// control's wiper without contact.
pub(super) fn bias_losses(circuit: &Circuit, recognised: &Recognised) -> Vec<Setup> {
    let role = |id: PartId| recognised.role(id).map(|role| role.kind);
    let begins = |id: &PartId| {
        let part = circuit.part(*id);
        let source = part.kind == Kind::Source && part.fitted() && below_chassis(part);
        source || role(*id) == Some(RoleKind::BiasRectifier)
    };
    let first: BTreeSet<PartId> = circuit.part_ids().filter(begins).collect();
    let name = |part: &PartId| circuit.part(*part).name.as_str();
    let lost = |name: String| Setup { condition: Condition::BiasLost, case: Some(name), ..Setup::idle() };
    let open = |parts: BTreeSet<PartId>| {
        let names: Vec<&str> = parts.iter().map(name).collect();
        Setup { removed: parts.clone(), ..lost(format!("{} open", names.join(" and "))) }
    };
    let wiper = |part: PartId| {
        let leg = circuit.part(part).leg_index("wiper")? as u32;
        let name = format!("{}{WIPER_OPEN}", circuit.part(part).name);
        Some(Setup { open: vec![LegId { part, leg }], ..lost(name) })
    };
    let of = |id: PartId| match role(id)? {
        RoleKind::BiasFeed | RoleKind::BiasDropper => Some(open(BTreeSet::from([id]))),
        RoleKind::BiasControl => wiper(id),
        _ => None,
    };
    let supply = (!first.is_empty()).then(|| open(first));
    supply.into_iter().chain(circuit.part_ids().filter_map(of)).collect()
}
