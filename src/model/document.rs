//! Kinds of documents.

/// What kind of document.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
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
    pub const ALL: [DocumentKind; 5] = [
        DocumentKind::Stock,
        DocumentKind::AsFound,
        DocumentKind::Plan,
        DocumentKind::AsLeft,
        DocumentKind::TypeData,
    ];

    /// The keyword of its header.
    pub fn word(self) -> &'static str {
        match self {
            DocumentKind::Stock => "stock",
            DocumentKind::AsFound => "as-found",
            DocumentKind::Plan => "plan",
            DocumentKind::AsLeft => "as-left",
            DocumentKind::TypeData => "type-data",
        }
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
