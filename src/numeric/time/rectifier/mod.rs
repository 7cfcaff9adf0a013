//! Supplies from the mains in their periodic steady state: `mesh` says what a supply is made of; `steady` finds the state
//! that one period of the mains brings back to itself and measures it.

pub(crate) mod course;
pub(crate) mod inrush;
pub(crate) mod law;
pub(crate) mod march;
pub(crate) mod measure;
pub(crate) mod mesh;
pub(crate) mod operators;
pub(crate) mod steady;

pub use course::Course;
pub use law::RectifierLaw;
pub use measure::Measured;
pub use mesh::{Feed, Mesh, Piece};
pub use steady::{Means, Steady, Unsettled, steady_state};
