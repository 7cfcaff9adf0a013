//! Stored charge of the circuits that rules look at, worked out once for each condition that is asked for.

use std::sync::OnceLock;

use super::context::Known;
use super::facts::Worked;
use crate::circuit::PartId;
use crate::model::Condition;
use crate::numeric::time::discharge::{Fall, Valves};
use crate::solve::decay::{Stored, stored_charge};
use crate::solve::{Setup, decay};

/// The stored charge of one circuit by condition.
#[derive(Debug, Default)]
pub(crate) struct Charge {
    by_condition: [OnceLock<Known<decay::Charge>>; Condition::ALL.len()],
}

impl Charge {
    /// A capacitor after switching off from a condition, valves cold, at worst. That it goes is known only where every
    /// position of the switches was worked out.
    pub(crate) fn of<'a>(&'a self, view: &Worked, condition: Condition, part: PartId) -> Known<&'a Stored> {
        let all = self.all(view, condition).as_ref().map_err(Clone::clone)?;
        let name = || format!("what {} holds is unknown", view.circuit.part(part).name);
        let stored = all.stored.iter().find(|s| s.part == part).ok_or_else(name)?;
        match &all.unjudged {
            Some(why) if stored.fall != Fall::Never => Err(why.clone()),
            _ => Ok(stored),
        }
    }

    /// Every capacitor, in the first case of a condition.
    pub(crate) fn all(&self, view: &Worked, condition: Condition) -> &Known<decay::Charge> {
        self.by_condition[condition as usize].get_or_init(|| {
            let setup = Setup::first(condition, &view.circuit, &view.recognised)
                .map_err(|why| format!("{} does not apply: {why}", condition.word()))?;
            let rest = view.solved.of(condition).filter(|solved| solved.case == setup.case);
            stored_charge(&view.circuit, &setup, rest, Valves::Cold)
                .map_err(|why| format!("the charge that stays can't be worked out: {why}"))
        })
    }
}
