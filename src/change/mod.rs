//! Two circuits to the list of what is different, and what each difference did.

use strum::{IntoStaticStr, VariantArray};

pub mod alike;
mod attribute;
mod comparing;
mod condition;
pub mod correspond;
pub mod effect;
pub mod named;
mod nets;
mod patch;
mod quantities;
mod stage_gain;
mod undo;
mod variant;

use crate::circuit::PartId;
use crate::source::Span;

pub use attribute::{bundled, effects, preventing};
pub use comparing::Side;
pub use effect::{Cause, Effect, JointMember, Quantities, QuantityKind, QuantityName, TONE};
pub use named::{Comparison, compare, drifted};
pub use quantities::quantities;
pub use undo::{Undo, turned};

/// One difference between two circuits.
#[derive(Debug, Clone)]
pub struct Change {
    /// What kind of difference.
    pub kind: ChangeKind,
    /// The part or net it is about, by name.
    pub subject: String,
    /// The part in the first circuit, if it is there.
    pub before_part: Option<PartId>,
    /// The part in the second circuit, if it is there.
    pub after_part: Option<PartId>,
    /// As it was: `100k`, `fitted`, `from B2 to V1a.plate`.
    pub before: String,
    /// As it is.
    pub after: String,
    /// Role and stage in the trade's words: "cathode resistor, second stage".
    pub role: String,
    /// The remark that the text gave.
    pub note: Option<String>,
    /// Statements that said so, in either document.
    pub spans: Vec<Span>,
}

/// Kinds of difference, in the order they are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, VariantArray, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum ChangeKind {
    /// Not there any more.
    Missing,
    /// There, but not before.
    Added,
    /// A leg out of its joint.
    Lifted,
    /// A leg in another net.
    Moved,
    /// Back as it was meant: fitted again, joined again, cured.
    Restored,
    /// An added part taken out.
    Removed,
    /// Nets joined that were apart.
    Bridged,
    /// A net in two.
    Cut,
    /// Cut, and joined again by a wire: electrically none.
    #[strum(serialize = "trace repaired by wire")]
    Repaired,
    /// Legs exchanged where that matters.
    Reversed,
    /// Conducts from leg to leg.
    Shorted,
    /// Another valve type, or valves exchanged.
    #[strum(serialize = "valve swapped")]
    ValveSwapped,
    /// Another value by its label.
    Revalued,
    /// Measures outside its tolerance.
    Drifted,
    /// Leaks.
    Leaky,
    /// Same value, another rating or construction.
    #[strum(serialize = "re-rated")]
    Rerated,
    /// Replaced like for like.
    #[strum(serialize = "replaced like for like")]
    Replaced,
    /// A control stands elsewhere.
    #[strum(serialize = "control set")]
    ControlSet,
}

impl ChangeKind {
    /// Every kind, in listing order.
    pub const ALL: [ChangeKind; ChangeKind::VARIANTS.len()] =
        *ChangeKind::VARIANTS.first_chunk().expect("all of them");

    /// The word in text, JSON and rules.
    pub fn word(self) -> &'static str {
        self.into()
    }
}
