//! A condition applied to a circuit.

use std::collections::{BTreeMap, BTreeSet};

use super::cases::{bias_losses, uneven_warm_ups};
use super::setup::{Setup, below_chassis};
use crate::circuit::{Circuit, Part, PartId};
use crate::model::{Condition, RoleKind};
use crate::recognise::{Recognised, StageKind};

/// Mains limits where none are stated: EN 50160 and IEC 60038, ±10 %, from memory.
const ASSUMED_LIMIT: f64 = 0.10;
/// What a reservoir holds with no load, over the loaded EMF, where it is not stated: common practice, no source.
const ASSUMED_UNLOADED: f64 = 1.10;

impl Setup {
    /// The condition on a circuit in each of its cases, at least one, or why the circuit doesn't have it.
    pub fn cases(
        condition: Condition,
        circuit: &Circuit,
        recognised: &Recognised,
    ) -> Result<Vec<Setup>, String> {
        let cases = match condition {
            Condition::UnevenWarmUp => uneven_warm_ups(circuit, recognised),
            Condition::BiasLost => bias_losses(circuit, recognised),
            _ => return Setup::single(condition, circuit, recognised).map(|setup| vec![setup]),
        };
        match condition {
            _ if !cases.is_empty() => Ok(cases),
            Condition::UnevenWarmUp => Err("no two sections share a DC path".into()),
            _ => Err("no bias supply was recognised".into()),
        }
    }

    /// The first of a condition's cases.
    pub fn first(condition: Condition, circuit: &Circuit, recognised: &Recognised) -> Result<Setup, String> {
        Setup::cases(condition, circuit, recognised).map(|mut cases| cases.swap_remove(0))
    }

    /// A condition of one case.
    fn single(condition: Condition, circuit: &Circuit, recognised: &Recognised) -> Result<Setup, String> {
        let limits = circuit.mains.and_then(|m| m.limits.map(|(low, high)| (low / m.volts, high / m.volts)));
        let (low, high) = limits.unwrap_or((1.0 - ASSUMED_LIMIT, 1.0 + ASSUMED_LIMIT));
        let mut setup = Setup { condition, limits_assumed: limits.is_none(), ..Setup::idle() };
        match condition {
            Condition::Idle | Condition::UnevenWarmUp | Condition::BiasLost => {}
            Condition::HighMains | Condition::ColdStart => setup.mains_share = high,
            Condition::LowMains => setup.mains_share = low,
            Condition::Standby => setup.stand_by(circuit, recognised)?,
            Condition::OutputValvesPulled => {
                setup.removed = output_valves(recognised);
                if setup.removed.is_empty() {
                    return Err("no output stage was recognised".into());
                }
            }
        }
        Ok(setup)
    }

    /// Idle at the mains that the record's readings were taken at; `None` where it is not stated, or nominal.
    pub fn as_read(circuit: &Circuit) -> Option<Setup> {
        let (nominal, read) = (circuit.mains?.volts, circuit.mains_measured.as_ref()?.value);
        (nominal > 0.0 && read > 0.0 && read != nominal)
            .then(|| Setup { mains_share: read / nominal, ..Setup::idle() })
    }

    /// As the circuit stands, nominal mains: for circuits without recognition.
    pub fn idle() -> Setup {
        Setup {
            condition: Condition::Idle,
            case: None,
            mains_share: 1.0,
            limits_assumed: false,
            removed: BTreeSet::new(),
            cold: Vec::new(),
            open: Vec::new(),
            positions: BTreeMap::new(),
        }
    }

    fn stand_by(&mut self, circuit: &Circuit, recognised: &Recognised) -> Result<(), String> {
        let with_role =
            |(id, role): (&PartId, &crate::recognise::Role)| (role.kind == RoleKind::Standby).then_some(*id);
        let switches: Vec<PartId> = recognised.roles.iter().filter_map(with_role).collect();
        for id in switches {
            let body = &circuit.part(id).component.body;
            let named = body.positions.iter().find(|p| p.as_str() == "standby");
            let other = named.or_else(|| body.positions.iter().find(|p| Some(*p) != body.now.as_ref()));
            if let Some(position) = other {
                self.positions.insert(id, position.clone());
            }
        }
        if self.positions.is_empty() { Err("there is no standby switch".into()) } else { Ok(()) }
    }

    /// The position a switch stands in, where the condition sets it.
    pub(super) fn position(&self, switch: PartId) -> Option<&str> {
        self.positions.get(&switch).map(String::as_str)
    }

    /// The EMF of a source in this condition.
    pub(super) fn emf(&self, source: &Part) -> Option<f64> {
        let loaded = source.component.body.value?;
        let share = if source.component.body.steady { 1.0 } else { self.mains_share };
        let rest = match self.condition {
            _ if source.component.body.steady => loaded,
            // A bias supply feeds its own divider whatever the output valves do.
            Condition::Standby | Condition::OutputValvesPulled if below_chassis(source) => loaded,
            // With next to no load the reservoir stands near its unloaded volts, not on the loaded line.
            Condition::ColdStart | Condition::Standby | Condition::OutputValvesPulled => {
                source.component.body.unloaded.unwrap_or(loaded * ASSUMED_UNLOADED)
            }
            _ => loaded,
        };
        Some(rest * share)
    }

    /// What was assumed for that EMF.
    pub(super) fn emf_assumption(&self, source: &Part) -> Option<String> {
        let light = match self.condition {
            Condition::ColdStart => true,
            Condition::Standby | Condition::OutputValvesPulled => !below_chassis(source),
            _ => false,
        };
        let unloaded = light && source.component.body.unloaded.is_none();
        let name = &source.name;
        if unloaded && !source.component.body.steady {
            return Some(format!(
                "{name}: unloaded volts not stated, loaded EMF × {ASSUMED_UNLOADED} assumed"
            ));
        }
        let limit = self.mains_share != 1.0 && self.limits_assumed && !source.component.body.steady;
        limit.then(|| format!("{name}: mains limits not stated, ±{:.0} % assumed", ASSUMED_LIMIT * 100.0))
    }
}

fn output_valves(recognised: &Recognised) -> BTreeSet<PartId> {
    let output = |kind: StageKind| {
        matches!(kind, StageKind::SingleEndedOutput { .. } | StageKind::PushPullOutput { .. })
    };
    let stages = recognised.stages.iter().filter(|s| output(s.kind));
    stages.flat_map(|s| s.sections.iter().map(|section| section.tube)).collect()
}
