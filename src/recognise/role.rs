//! A part's role in its circuit, with its proof.

use crate::circuit::LegId;
use crate::model::RoleKind;

/// A role with its proof.
#[derive(Debug, Clone)]
pub struct Role {
    /// What the part is for.
    pub kind: RoleKind,
    /// The stage it serves; an index into [`stages`](super::Recognised::stages).
    pub stage: Option<usize>,
    /// The leg of the valve it serves, where it serves one.
    pub electrode: Option<LegId>,
    /// Nets and parts that prove it, as text.
    pub why: String,
    /// Stated by `role` in the text.
    pub stated: bool,
}
