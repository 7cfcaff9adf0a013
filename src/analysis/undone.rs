//! The judged amplifier with some changes undone: recognised, and solved from where the judged one rests.

use super::{Worked, predicted};
use crate::circuit::Circuit;
use crate::model::Condition;
use crate::recognise::recognise;
use crate::solve::{AtRest, Setup, SolvedSet};

/// A circuit much like the judged one, in the conditions that this one was solved in: rules look beyond their own. What was
/// read with all changes in moves as the prediction does.
pub(super) fn undone(judged: &Worked, mut circuit: Circuit) -> Worked {
    let recognised = recognise(&circuit);
    let mut set = SolvedSet::default();
    for condition in judged.solved.by_condition.keys() {
        match Setup::cases(*condition, &circuit, &recognised) {
            Ok(cases) => {
                for setup in &cases {
                    // Where it has no operating point its rules can't tell, as they can't of a document.
                    drop(set.solve_near(&circuit, setup, near(judged, setup)));
                }
            }
            Err(why) => {
                set.not_applicable.insert(*condition, why);
            }
        }
    }
    shift_readings(judged, &mut circuit, &set);
    Worked::new(circuit, recognised, set)
}

/// Where the judged one rests in the same case.
fn near<'a>(judged: &'a Worked, setup: &Setup) -> Option<&'a AtRest> {
    let cases = judged.solved.cases(setup.condition);
    let same = cases.iter().find(|case| case.solved.case == setup.case).or(cases.first())?;
    same.solved.windows.at_rest()
}

fn shift_readings(judged: &Worked, circuit: &mut Circuit, solved: &SolvedSet) {
    let mut readings = std::mem::take(&mut circuit.readings);
    readings.retain_mut(|reading| {
        let then = judged.circuit.readings.iter().find(|own| own.span == reading.span);
        let shift = then.zip(Condition::of(&reading.condition)).and_then(|(own, condition)| {
            let with = predicted(&judged.circuit, judged.solved.of(condition)?, own.target, own.unit)?;
            Some(predicted(circuit, solved.of(condition)?, reading.target, reading.unit)? - with)
        });
        reading.value += shift.unwrap_or_default();
        shift.is_some()
    });
    circuit.readings = readings;
}
