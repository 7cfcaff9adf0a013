//! The numeric core: a network of elements in, its operating point and small-signal response out.
//!
//! Knows nothing of documents, parts or files. An answer cannot be had without convergence, and says
//! which nodes have no defined volts; an end without answer names itself and the worst node ([`Unsolved`]).

pub mod ac;
mod answer;
mod device;
mod idle;
mod island;
mod layout;
mod link;
pub mod network;
mod newton;
pub mod outcome;
mod pattern;
pub mod point;
pub mod prepared;
pub mod settle;
mod sparse;
mod stamp;
mod stepping;
mod valve;

pub use ac::{Drive, Linearised, Response, response};
pub use network::{CHASSIS, Element, GridModel, Law, Network, Node, PentodeModel, TriodeModel, Winding};
pub use outcome::{Outcome, Unsolved};
pub use point::{FloatingGrid, FloatingGrids, Island, OperatingPoint, ValvePoint};
pub use prepared::{Prepared, operating_point};
pub use settle::operating_points;
