//! Supplies that run from the mains: windings, rectifiers, reservoir and filter in their periodic steady state.
//!
//! `mesh` says what a supply is made of; `steady` finds the state that one period of the mains brings back to itself
//! and measures it.

mod course;
mod dense;
mod march;
mod measure;
mod mesh;
mod operators;
mod rectifier;
mod steady;

pub use course::Course;
pub use measure::Measured;
pub use mesh::{Feed, Mesh, Piece};
pub use rectifier::RectifierLaw;
pub use steady::{Steady, Unsettled, steady_state};
