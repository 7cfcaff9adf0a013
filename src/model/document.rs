//! Kinds of documents.

use strum::{IntoStaticStr, VariantArray};

/// What kind of document.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, VariantArray, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum DocumentKind {
    /// `stock`: a complete circuit (or a variant of one)
    Stock,
    /// `as-found`: what the bench found
    AsFound,
    /// `plan`: what is to be done
    Plan,
    /// `as-left`: what was done
    AsLeft,
    /// `type-data`: valve and diode types
    TypeData,
}

impl DocumentKind {
    /// Every kind.
    pub const ALL: [DocumentKind; DocumentKind::VARIANTS.len()] =
        *DocumentKind::VARIANTS.first_chunk().expect("all of them");

    /// The keyword of its header.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// The word before the document it rests on.
    pub fn preposition(self) -> &'static str {
        match self {
            DocumentKind::Plan => "for",
            DocumentKind::AsLeft => "after",
            DocumentKind::Stock | DocumentKind::AsFound | DocumentKind::TypeData => "of",
        }
    }
}
