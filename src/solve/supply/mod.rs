//! Supplies that run from the mains: windings, rectifiers, reservoir and filter in their periodic steady state.
//!
//! `mesh` says what a supply is made of; `steady` finds the state that one period of the mains brings back to itself
//! and measures it.

mod couple;
mod plan;
mod primary;
mod report;
mod state;

pub(super) use couple::{Coupled, couple, couple_near};
pub(super) use report::report;
pub use state::{CapacitorState, ChokeState, NetState, RectifierState, Supply, WindingState};
