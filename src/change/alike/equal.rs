//! What is told otherwise and is electrically the same.

/// Parts that differ in the telling only.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Equal {
    /// Names in the first circuit.
    pub first: Vec<String>,
    /// Names in the second.
    pub second: Vec<String>,
    /// Why it makes no difference.
    pub why: String,
}
