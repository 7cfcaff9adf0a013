//! Networks of elements to operating points and responses: vectors, nodes and seconds, no parts and no documents.
//!
//! `linear` solves systems of equations, `dc` finds operating points, `ac` what small signals do about one, `time` what
//! discharges and what rectifiers do, `statistics` what the spread of values does. An answer cannot be had without
//! convergence, and says which nodes have no defined volts.

pub mod ac;
pub mod dc;
pub mod linear;
pub mod network;
pub mod outcome;
pub mod point;
pub mod statistics;
pub mod time;

pub use ac::{Drive, Linearised, Response, response};
pub use dc::{Prepared, operating_point, operating_points};
pub use network::{CHASSIS, Element, GridModel, Law, Network, Node, PentodeModel, TriodeModel, Winding};
pub use outcome::{Outcome, Unsolved};
pub use point::{FloatingGrid, FloatingGrids, Island, OperatingPoint, ValvePoint};
