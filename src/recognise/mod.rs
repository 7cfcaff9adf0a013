//! What each part is for: rails, stages and roles, worked out from the topology, each with the path that
//! proves it. What can't be proved is listed, never guessed.
//!
//! Nets are taken as the board has them: a missing part or a lifted leg still tells by its joints what its place
//! is for, so that a fault leaves the names of stages and the roles of its neighbours as they were. Parts that are
//! not wholly joined are kept apart ([`Recognised::by_joint`]), and what a fault takes away (a bypass, a rail's
//! feed, its capacitors) is not claimed.
//!
//! Passes, in order: mains, supply, bias, rails, stages, feedback, signal, cathodes and plates, grids, controls,
//! couplings, the rest. The first claim on a part stands.

mod around;
mod bias;
mod controls;
mod coupling;
mod feedback;
mod finish;
mod flow;
mod grids;
mod mains;
mod negative;
mod order;
mod pairs;
mod rail_parts;
mod rails;
mod recognised;
mod reference;
mod rest;
mod role;
mod signal;
mod spell;
mod stages;
mod supply;
mod view;
mod ways;
mod work;

use crate::circuit::Circuit;
pub use recognised::{Coupling, Rail, Recognised, Section, Stage, StageKind};
pub use reference::GridReference;
pub use role::Role;

/// Recognises rails, stages and roles. Pure; the result does not depend on the order of statements.
pub fn recognise(circuit: &Circuit) -> Recognised {
    let mut work = work::Work::new(circuit);
    mains::claim(&mut work);
    supply::begin(&mut work);
    // Before rails, so that a negative supply's droppers are not taken for those of a rail.
    bias::from_supply(&mut work);
    rails::walk(&mut work);
    stages::find(&mut work);
    // After stages: only then it is known which valves are output valves. What bias they have is settled thereafter.
    bias::from_grids(&mut work);
    stages::settle_bias(&mut work);
    bias::claim(&mut work);
    rail_parts::claim(&mut work);
    // Before the signal is followed: a feedback resistor would be a way for it, and the loop would have no first
    // stage.
    feedback::claim(&mut work);
    around::claim(&mut work);
    let signal = signal::follow(&mut work);
    grids::claim(&mut work);
    controls::claim(&mut work);
    coupling::claim(&mut work, &signal);
    rest::claim(&mut work, &signal);
    finish::finish(&work, &signal)
}

impl Recognised {
    /// Where a grid's direct path leads, through what is really joined; `None` where the grid floats.
    pub fn grid_reference(&self, circuit: &Circuit, section: &Section) -> Option<GridReference> {
        reference::grid_reference(circuit, self, section)
    }
}
