//! Networks in time.

pub mod discharge;
pub mod rectifier;
