//! Circuit to operating points.

pub mod condition;
pub mod solved;

pub use condition::Condition;
pub use solved::{Solved, SolvedSection, SolvedSet, Undefined};
