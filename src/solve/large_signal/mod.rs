//! Signals that clip: what a stage makes of a cycle, power into the load.

pub(in crate::solve) mod cycle;
pub(in crate::solve) mod frozen;
pub mod power;
pub(in crate::solve) mod stage;
pub mod transfer;
