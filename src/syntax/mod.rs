//! Text to tree and tree to text, for documents and rules.

pub mod check;
pub mod conflict;
pub mod document;
pub mod merge;
pub mod print;
pub mod tree;
pub mod words;
