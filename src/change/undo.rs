//! The later of two circuits with some of the changes between them taken out: what would be there had they not been made.
//! A change is undone by the edits that lead from the later circuit back to the earlier one: what came in goes out, what
//! went comes back, nets that were joined come apart.
//!
//! ```text
//! R41 taken out       Take R41               undone: Fit R41, as the earlier circuit has it
//! C90 added           Fit C90                undone: TakeNamed C90
//! R7 2k2 became 5k6   Body R7                undone: Body R7, of the earlier circuit
//! B5 cut              Cut B5, new half       undone: Bridge new half, B5
//! ```

use super::correspond::Correspondence;
use super::named::Comparison;
use super::patch::{Between, Edit, Step};
use crate::circuit::{Circuit, LegId, PartId};

/// The later circuit, and each change between the two undone.
#[derive(Debug)]
pub struct Undo<'a> {
    later: &'a Circuit,
    between: Between<'a>,
    steps: Vec<Step>,
}

/// The nets of a comparison seen from its later side.
pub fn turned(comparison: &Comparison) -> Correspondence {
    comparison.nets.turned()
}

impl<'a> Undo<'a> {
    /// Of a comparison of `earlier` with `later`; `nets` are its nets, [`turned`].
    pub fn new(
        comparison: &Comparison,
        earlier: &'a Circuit,
        later: &'a Circuit,
        nets: &'a Correspondence,
    ) -> Undo<'a> {
        let between = Between::new(later, earlier, nets);
        let undone = |step: &Step| Step {
            edits: step.edits.iter().filter_map(|edit| undone(edit, earlier, later, nets)).collect(),
            group: step.group.clone(),
        };
        Undo { later, steps: comparison.steps.iter().map(undone).collect(), between }
    }

    /// The later circuit without some of the changes. What it says of places and parts
    /// stays; its readings were taken with all changes in.
    pub fn without(&self, changes: &[usize]) -> Circuit {
        let steps: Vec<&Step> = changes.iter().map(|index| &self.steps[*index]).collect();
        self.between.patched(&steps).with_words_of(self.later)
    }
}

/// The edit that takes one back.
fn undone(edit: &Edit, earlier: &Circuit, later: &Circuit, nets: &Correspondence) -> Option<Edit> {
    let then = |id: &PartId| earlier.find(&later.part(*id).name);
    let fitted = |id: &PartId| earlier.part(*id).fitted();
    Some(match edit {
        Edit::Take(id) => Edit::Fit(then(id)?),
        Edit::TakeNamed(name) => Edit::Fit(earlier.find(name)?),
        Edit::Fit(id) => match then(id).filter(fitted) {
            Some(old) => Edit::Fit(old),
            None => Edit::TakeNamed(later.part(*id).name.clone()),
        },
        Edit::Body(id) => Edit::Body(then(id)?),
        Edit::Measured(id) => Edit::Measured(then(id)?),
        Edit::Leak(id) => Edit::Leak(then(id)?),
        Edit::Short(id) => Edit::Short(then(id)?),
        Edit::Stray(id, stray) => Edit::Stray(then(id)?, stray.clone()),
        Edit::Setting(id) => Edit::Setting(then(id)?),
        Edit::Idle(id) => Edit::Idle(then(id)?),
        Edit::Leg(leg) => {
            let part = then(&leg.part)?;
            let index = earlier.part(part).leg_index(&later.part(leg.part).legs[leg.leg as usize].name)?;
            Edit::Leg(LegId { part, leg: index as u32 })
        }
        Edit::Cut { from, new } => Edit::Bridge { gone: *new, with: nets.before_of[from.0 as usize]? },
        Edit::Bridge { gone, with } => Edit::Cut { from: nets.before_of[with.0 as usize]?, new: *gone },
    })
}
