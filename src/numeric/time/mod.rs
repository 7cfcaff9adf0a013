//! Networks in time.

pub mod discharge;
pub mod periodic;
pub mod rectifier;
