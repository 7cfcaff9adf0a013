//! Systems of linear equations: sparse with an order that keeps the factors so, and small full ones.

pub(crate) mod dense;
pub(crate) mod pattern;
pub(crate) mod sparse;
