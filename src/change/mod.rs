//! Two circuits to the list of what is different, and what each difference did.

pub mod alike;
mod attribute;
mod comparing;
mod condition;
pub mod correspond;
pub mod effect;
pub mod named;
mod nets;
mod patch;
mod stage_gain;

use crate::circuit::PartId;
use crate::source::Span;

pub use attribute::{effects, preventing, quantities};
pub use comparing::Side;
pub use effect::{Cause, Effect, JointMember, Quantities, QuantityKind, QuantityName};
pub use named::{Comparison, compare, drifted};

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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
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
    Repaired,
    /// Legs exchanged where that matters.
    Reversed,
    /// Conducts from leg to leg.
    Shorted,
    /// Another valve type, or valves exchanged.
    ValveSwapped,
    /// Another value by its label.
    Revalued,
    /// Measures outside its tolerance.
    Drifted,
    /// Leaks.
    Leaky,
    /// Same value, another rating or construction.
    Rerated,
    /// Replaced like for like.
    Replaced,
    /// A control stands elsewhere.
    ControlSet,
}

impl ChangeKind {
    /// Every kind, in listing order.
    pub const ALL: [ChangeKind; 18] = [
        ChangeKind::Missing,
        ChangeKind::Added,
        ChangeKind::Lifted,
        ChangeKind::Moved,
        ChangeKind::Restored,
        ChangeKind::Removed,
        ChangeKind::Bridged,
        ChangeKind::Cut,
        ChangeKind::Repaired,
        ChangeKind::Reversed,
        ChangeKind::Shorted,
        ChangeKind::ValveSwapped,
        ChangeKind::Revalued,
        ChangeKind::Drifted,
        ChangeKind::Leaky,
        ChangeKind::Rerated,
        ChangeKind::Replaced,
        ChangeKind::ControlSet,
    ];

    /// The word in text, JSON and rules.
    pub fn word(self) -> &'static str {
        match self {
            ChangeKind::Missing => "missing",
            ChangeKind::Added => "added",
            ChangeKind::Lifted => "lifted",
            ChangeKind::Moved => "moved",
            ChangeKind::Restored => "restored",
            ChangeKind::Removed => "removed",
            ChangeKind::Bridged => "bridged",
            ChangeKind::Cut => "cut",
            ChangeKind::Repaired => "trace repaired by wire",
            ChangeKind::Reversed => "reversed",
            ChangeKind::Shorted => "shorted",
            ChangeKind::ValveSwapped => "valve swapped",
            ChangeKind::Revalued => "revalued",
            ChangeKind::Drifted => "drifted",
            ChangeKind::Leaky => "leaky",
            ChangeKind::Rerated => "re-rated",
            ChangeKind::Replaced => "replaced like for like",
            ChangeKind::ControlSet => "control set",
        }
    }
}
