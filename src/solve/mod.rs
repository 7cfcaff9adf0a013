//! Circuit to operating points.
//!
//! The numeric core (`network`, `prepared`, `ac` …) takes a network of elements and gives its operating point
//! and small-signal response; it knows nothing of documents, parts or files. An answer cannot be had without
//! convergence, and says which nodes have no defined volts. `lower` makes networks from circuits in a
//! [`Condition`](crate::model::Condition); `at_rest` reads the answer back in the circuit's own terms.

pub mod ac;
mod answer;
pub mod at_rest;
mod cases;
pub mod condition;
pub mod decay;
mod device;
mod elements;
pub mod gain;
mod gain_dense;
pub mod gain_ports;
mod idle;
mod in_circuit;
mod island;
mod layout;
mod link;
pub mod loop_gain;
pub mod loop_margin;
pub mod lower;
pub mod network;
mod newton;
pub mod outcome;
mod pattern;
pub mod point;
pub mod prepared;
mod response_lost;
pub mod response_report;
pub mod response_rig;
pub mod response_sweep;
mod resting;
pub mod settle;
pub mod solved;
mod sparse;
mod stamp;
mod stepping;
pub mod supply;
pub(crate) mod switches;
pub mod tolerance;
pub mod touch;
pub mod transfer;
mod transfer_cycle;
mod transfer_held;
pub mod transfer_periodic;
pub mod transfer_power;
mod transfer_stage;
mod valve;

pub use at_rest::{at_rest, network_at_rest, solve_all};
pub use cases::WIPER_OPEN;
pub use condition::Setup;
pub use in_circuit::{FromReading, PowerOff, own_values};
pub use solved::{Case, Solved, SolvedSection, SolvedSet, Undefined};

pub use ac::{Drive, Linearised, Response, response};
pub use network::{CHASSIS, Element, GridModel, Law, Network, Node, PentodeModel, TriodeModel, Winding};
pub use outcome::{Outcome, Unsolved};
pub use point::{FloatingGrid, FloatingGrids, Island, OperatingPoint, ValvePoint};
pub use prepared::{Prepared, operating_point};
pub use settle::operating_points;
