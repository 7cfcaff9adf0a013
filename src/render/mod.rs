//! Values to what people and programs read: text for a terminal, and JSON. Computes nothing and does no I/O.

pub mod csv;
pub mod json;
pub mod problems;
pub mod text;
