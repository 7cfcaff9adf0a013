//! The amplifier with some of the changes between two circuits, at rest: the base of what is told of causes.

use super::comparing::Side;
use super::named::Comparison;
use super::patch::{Between, Step};
use crate::circuit::Circuit;
use crate::model::Condition;
use crate::recognise::recognise;
use crate::solve::at_rest::read_back;
use crate::solve::{AtRest, Setup, Solved};

/// Every amplifier between two circuits in one state. Each is made and solved when it is asked for, from where one that is
/// near it rests: with the layout of its equations where that is the same.
pub(super) struct Variants<'a> {
    between: Between<'a>,
    steps: &'a [Step],
    condition: Condition,
    case: Option<&'a str>,
}

/// The first circuit with some of the changes put in.
pub(super) struct Variant {
    pub(super) circuit: Circuit,
    pub(super) rest: AtRest,
}

impl<'a> Variants<'a> {
    pub(super) fn new(
        comparison: &'a Comparison,
        before: Side<'a>,
        after: &'a Circuit,
        (condition, case): (Condition, Option<&'a str>),
    ) -> Variants<'a> {
        let between = Between::new(before.circuit, after, &comparison.nets);
        Variants { between, steps: &comparison.steps, condition, case }
    }

    /// What the circuits are between.
    pub(super) fn between(&self) -> &Between<'a> {
        &self.between
    }

    /// The amplifier with those changes in that are chosen, solved from where one much like it rests, or from cold; `None`
    /// where it has no operating point, or not this state.
    pub(super) fn with(&self, chosen: impl Fn(usize) -> bool, near: Option<&AtRest>) -> Option<Variant> {
        let steps: Vec<&Step> =
            self.steps.iter().enumerate().filter(|(index, _)| chosen(*index)).map(|(_, step)| step).collect();
        let circuit = self.between.patched(&steps);
        let setup = self.setup(&circuit)?;
        let rest = match near {
            Some(near) => AtRest::near(&circuit, &setup, near),
            None => AtRest::of(&circuit, &setup),
        };
        Some(Variant { circuit, rest: rest.ok()? })
    }

    /// The state on a circuit; `None` where it doesn't have it.
    fn setup(&self, circuit: &Circuit) -> Option<Setup> {
        if self.condition == Condition::Idle {
            return Some(Setup::idle());
        }
        let cases = Setup::cases(self.condition, circuit, &recognise(circuit)).ok()?;
        cases.into_iter().find(|setup| setup.case.as_deref() == self.case)
    }
}

impl Variant {
    /// It in the circuit's own terms.
    pub(super) fn solved(&self, condition: Condition) -> Solved {
        read_back(&self.circuit, condition, &self.rest.lowered, &self.rest.point)
    }
}
