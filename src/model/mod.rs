//! The trade's words, of which every room speaks: kinds of parts and documents, conditions, roles.

mod condition;
mod document;
mod kind;
mod role;

pub use condition::Condition;
pub use document::DocumentKind;
pub use kind::{Construction, Kind, Taper};
pub use role::RoleKind;
