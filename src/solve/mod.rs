//! Circuit to operating points.
//!
//! `lower` makes networks of [`numeric`](crate::numeric) from circuits in a [`Condition`](crate::model::Condition);
//! `at_rest` reads the operating point back in the circuit's own terms. `signal` is what small signals do from stage to
//! stage, `large_signal` where they clip; `supply` runs rectifiers from the mains, `decay` and `touch` are what is left
//! when it is off and what hands meet, `tolerance` is what parts and valves spread.

pub mod at_rest;
mod cases;
pub mod condition;
pub mod decay;
mod in_circuit;
pub mod large_signal;
pub mod lower;
pub mod setup;
pub mod signal;
pub mod solved;
pub mod supply;
pub(crate) mod switches;
pub mod tolerance;
pub mod touch;

pub use at_rest::{AtRest, at_rest, network_at_rest, solve_all};
pub use cases::WIPER_OPEN;
pub use in_circuit::{FromReading, PowerOff, own_values};
pub use setup::Setup;
pub use solved::{Case, Solved, SolvedSection, SolvedSet, Undefined};
