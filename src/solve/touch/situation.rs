//! In which states an amplifier is touched: switches in every position, plugs in and out, earth sound and lost, line
//! and neutral as wired and exchanged.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::circuit::{Circuit, PartId};
use crate::model::{Condition, Kind};
use crate::solve::setup::Setup;
use crate::solve::switches::{Positions, combinations, positions, switches, thrown};

/// More combinations of switches than this are not gone through: each switch is then thrown by itself.
const MOST_COMBINATIONS: usize = 64;

/// Where switches and plugs are.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Situation {
    /// Switches that stand elsewhere than stated.
    pub positions: Positions,
    /// Plugs open the contacts of their jacks, and the speaker is out.
    pub plugged: bool,
    /// A control at an end of its travel: `false` the bottom.
    pub turned: Option<(PartId, bool)>,
}

/// The mains side of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Supply {
    pub earth: bool,
    pub exchanged: bool,
}

impl Supply {
    /// Every case, the sound one first.
    pub(super) const ALL: [Supply; 4] = [
        Supply { earth: true, exchanged: false },
        Supply { earth: true, exchanged: true },
        Supply { earth: false, exchanged: false },
        Supply { earth: false, exchanged: true },
    ];
}

/// Whether not every combination of switches is gone through.
pub(super) fn leaves_combinations_out(circuit: &Circuit) -> bool {
    combinations(circuit, &switches(circuit)).is_none_or(|n| n > MOST_COMBINATIONS)
}

impl Situation {
    /// Every situation of a circuit, as it stands first.
    pub(super) fn all(circuit: &Circuit) -> Vec<Situation> {
        positions(circuit, &switches(circuit), MOST_COMBINATIONS)
            .into_iter()
            .flat_map(|positions| {
                [false, true].map(|plugged| Situation { positions: positions.clone(), plugged, turned: None })
            })
            .collect()
    }

    /// The same with each control at either end, one at a time: where it stands takes no danger away.
    pub(super) fn ends_of_travel(&self, circuit: &Circuit) -> Vec<Situation> {
        let turns = |id: &PartId| {
            let part = circuit.part(*id);
            part.fitted() && matches!(part.kind, Kind::Pot | Kind::Trimmer)
        };
        let controls = circuit.part_ids().filter(turns);
        let end = |id| [false, true].map(|top| Situation { turned: Some((id, top)), ..self.clone() });
        controls.flat_map(end).collect()
    }

    /// The circuit with its control turned.
    pub(super) fn circuit<'a>(&self, circuit: &'a Circuit) -> Cow<'a, Circuit> {
        let Some((id, top)) = self.turned else { return Cow::Borrowed(circuit) };
        let mut turned = circuit.clone();
        turned.part_mut(id).component.body.at = Some(if top { 1.0 } else { 0.0 });
        Cow::Owned(turned)
    }

    /// The circuit's state in it: at the high limit of the mains, valves cold, parts taken out.
    pub(super) fn setup(&self, circuit: &Circuit, removed: &BTreeSet<PartId>) -> Setup {
        let limits = circuit.mains.and_then(|m| m.limits.map(|(_, high)| high / m.volts));
        Setup {
            condition: Condition::ColdStart,
            mains_share: limits.unwrap_or(1.1),
            removed: removed.clone(),
            positions: self.positions.clone(),
            ..Setup::idle()
        }
    }

    /// In words, with commas before each.
    pub(super) fn told(&self, circuit: &Circuit) -> Vec<String> {
        let mut words = thrown(circuit, &Positions::new(), &self.positions);
        if let Some((id, top)) = self.turned {
            words.push(format!("{} turned {}", circuit.part(id).name, if top { "up" } else { "down" }));
        }
        words
    }
}
