//! Supplies that run from the mains: windings, rectifiers, reservoir and filter in their periodic steady state.
//!
//! `mesh` says what a supply is made of; `steady` finds the state that one period of the mains brings back to itself
//! and measures it.

mod couple;
mod course;
mod dense;
mod inrush;
mod march;
mod measure;
mod mesh;
mod operators;
mod plan;
mod primary;
mod rectifier;
mod report;
mod state;
mod steady;

pub(super) use couple::{Coupled, couple};
pub use course::Course;
pub use measure::Measured;
pub use mesh::{Feed, Mesh, Piece};
pub use rectifier::RectifierLaw;
pub(super) use report::report;
pub use state::{CapacitorState, ChokeState, NetState, RectifierState, Supply, WindingState};
pub use steady::{Means, Steady, Unsettled, steady_state};
