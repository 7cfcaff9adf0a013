//! Systems of linear equations: sparse with an order that keeps the factors so, and small full ones.

pub mod dense;
pub mod pattern;
pub mod sparse;
