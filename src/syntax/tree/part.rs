//! Parts, windings and lines of type data.

use strum::{IntoStaticStr, VariantArray};

use super::word::{Place, Value, Word};
use crate::model::{Construction, Kind, Taper};
use crate::source::{Span, Spanned};

/// A leg and where it goes: `plus B1`; `from A to B` gives legs `1` and `2`.
#[derive(Debug, Clone)]
pub struct LegSaid {
    /// canonical leg name within the part: `1`, `plus`, `wiper`, `plate`, `a.plate`
    pub leg: Word,
    /// where it is joined
    pub place: Place,
}

/// What is said of a part's body. What is not said is `None`: nothing is filled in here.
#[derive(Debug, Clone, Default)]
pub struct Spec {
    /// main value in the kind's unit
    pub value: Option<Value>,
    /// `unknown` was written for the value
    pub unknown: Option<Span>,
    /// tolerance below and above, as fractions: `5%` gives (0.05, 0.05), `-20%/+50%` gives (0.2, 0.5)
    pub tolerance: Option<Spanned<(f64, f64)>>,
    /// power rating
    pub power: Option<Value>,
    /// voltage rating (parts whose main value is a voltage have no other)
    pub volts: Option<Value>,
    /// current rating
    pub amps: Option<Value>,
    /// resistance beside the main value: a choke's winding, a source's `behind`, a half primary
    pub ohms: Option<Value>,
    /// inductance beside the main value: `30H` of a primary
    pub henries: Option<Value>,
    /// `unloaded 505V` of a source
    pub unloaded: Option<Value>,
    /// `steady` of a source: does not follow the mains
    pub steady: Option<Span>,
    /// construction
    pub construction: Option<Spanned<Construction>>,
    /// type name of a valve, diode, bridge, LED: `ECC83`
    pub type_name: Option<Word>,
    /// taper of a pot
    pub taper: Option<Spanned<Taper>>,
    /// shaft position, 0 … 1
    pub at: Option<Value>,
    /// `ganged with VR2`
    pub ganged: Option<Word>,
    /// `tap 50% to PLACE` of a pot: fractions of resistance from the bottom
    pub taps: Vec<(Value, Option<Place>)>,
    /// year of make
    pub made: Option<Spanned<u32>>,
    /// fuse: `slow` or `fast`
    pub speed: Option<Word>,
    /// inlet `two-core`
    pub two_core: Option<Span>,
    /// positions of a switch or relay, in order
    pub positions: Vec<Word>,
    /// the position it stands in
    pub now: Option<Word>,
    /// tap names of an output transformer: `4R 8R 16R`
    pub output_taps: Vec<Value>,
    /// `a side` was written: the resistance is that of half the primary
    pub a_side: Option<Span>,
    /// `in phase`: rising plate-a is rising taps
    pub in_phase: Option<Span>,
    /// jack contacts: (contact leg, place of `normals X to Y`)
    pub normals: Vec<(Word, Place)>,
    /// fitting: the part it is `on`
    pub on: Option<Word>,
}

/// A part as declared, added or fitted.
#[derive(Debug, Clone)]
pub struct PartSaid {
    /// at its keyword
    pub kind: Spanned<Kind>,
    /// designator
    pub name: Word,
    /// its body
    pub spec: Spec,
    /// joined legs
    pub legs: Vec<LegSaid>,
    /// quoted purpose or remark
    pub note: Option<Word>,
}

/// `winding T1.primary 230V 9R from X to Y`, `winding T1.ht 330V-0-330V 62R a side taps bias 52V from a`.
#[derive(Debug, Clone)]
pub struct WindingSaid {
    /// the whole name, `T1.ht`
    pub name: Place,
    /// volts rms of the whole winding, or of each side where centre-tapped
    pub volts: Value,
    /// `V-0-V` was written: legs a, centre, b; otherwise a, b
    pub centre_tapped: bool,
    /// `unloaded 355V`: volts with nothing drawn; `volts` are then those at the rated current
    pub unloaded: Option<Value>,
    /// winding resistance: of the whole, or of each side where centre-tapped
    pub ohms: Option<Value>,
    /// full-load current
    pub amps: Option<Value>,
    /// taps: name, volts, end they are counted from
    pub taps: Vec<(Word, Value, Word)>,
    /// joined ends
    pub legs: Vec<LegSaid>,
}

/// One line of type data.
#[derive(Debug, Clone)]
pub struct TypeSaid {
    /// which line
    pub line: Spanned<TypeLine>,
    /// the type it is about: `ECC83`
    pub name: Word,
    /// construction, for the line that opens a type: `double-triode`
    pub construction: Option<Word>,
    /// other names
    pub also: Vec<Word>,
    /// base, `B9A`
    pub base: Option<Word>,
    /// named values: `plate 300V`, `mu 100`, pins `a.plate 6`, and words: `design-centre`
    pub values: Vec<(Word, Option<Value>)>,
    /// quoted description or source
    pub note: Option<Word>,
}

/// The lines that make up type data.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, VariantArray, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
#[allow(missing_docs, reason = "the keyword of each says what it is")]
pub enum TypeLine {
    TubeType,
    DiodeType,
    Pins,
    HeaterData,
    Model,
    Limits,
    Capacitances,
    Provenance,
}

impl TypeLine {
    /// Every line.
    pub const ALL: [TypeLine; TypeLine::VARIANTS.len()] =
        *TypeLine::VARIANTS.first_chunk().expect("all of them");

    /// The keyword.
    pub fn word(self) -> &'static str {
        self.into()
    }
}
