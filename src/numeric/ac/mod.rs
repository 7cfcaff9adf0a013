//! Small signals about an operating point.

pub(crate) mod linearised;
pub mod margins;
pub(crate) mod range;

pub use linearised::{Drive, Linearised, Response, response};
pub use range::Range;
