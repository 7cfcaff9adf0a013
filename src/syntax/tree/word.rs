//! Words, places and values with where they stand.

use crate::source::Spanned;
use crate::units::Quantity;

/// A name or a word with its place.
pub type Word = Spanned<String>;

/// A place as written: `chassis`, `B1`, `R5.1`, `V1a.plate`, `T1.ht.a`, `V5.pin3`. One span over all.
pub type Place = Word;

/// A value with its place.
pub type Value = Spanned<Quantity>;
