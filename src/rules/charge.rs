//! Stored charge of the circuits that rules look at, worked out once for each condition that is asked for.

use std::sync::OnceLock;

use super::context::Known;
use super::facts::Worked;
use crate::circuit::PartId;
use crate::solve::decay::{Stored, Valves, stored_charge, stored_from};
use crate::solve::{Condition, Setup};

/// The stored charge of one circuit by condition.
#[derive(Debug, Default)]
pub(crate) struct Charge {
    by_condition: [OnceLock<Known<Vec<Stored>>>; Condition::ALL.len()],
}

impl Charge {
    /// A capacitor after switching off from a condition, valves cold.
    pub(crate) fn of(&self, view: &Worked, condition: Condition, part: PartId) -> Known<Stored> {
        let Some(cell) = self.by_condition.get(condition as usize) else {
            return Err(format!("{} is not solved", condition.word()));
        };
        let all = cell.get_or_init(|| {
            let setup = Setup::first(condition, &view.circuit, &view.recognised)
                .map_err(|why| format!("{} does not apply: {why}", condition.word()))?;
            let solved = view.solved.of(condition).filter(|solved| solved.case == setup.case);
            let found = solved.and_then(|s| stored_from(&view.circuit, &setup, s, Valves::Cold));
            found
                .unwrap_or_else(|| stored_charge(&view.circuit, &setup, Valves::Cold))
                .map_err(|why| format!("the charge that stays can't be worked out: {why}"))
        });
        let name = || format!("what {} holds is unknown", view.circuit.part(part).name);
        all.as_ref().map_err(Clone::clone)?.iter().find(|s| s.part == part).copied().ok_or_else(name)
    }
}
