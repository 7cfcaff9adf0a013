//! Small signals from stage to stage: the amplifier as a linear model, gains, sweeps, feedback loops, and where a signal
//! is lost.

pub mod feedback;
pub mod gain;
pub(in crate::solve) mod lost;
pub mod model;
pub mod ports;
pub mod report;
pub mod sweep;
