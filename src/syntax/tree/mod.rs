//! What a document says, statement by statement, with the place of every word. Decides nothing:
//! names are not looked up and legs are not joined here.

mod found;
mod header;
mod part;
mod word;

use crate::source::{FileId, Span, Spanned};

pub use found::{MeterSaid, Replacement, Setting, WindowSaid};
pub use header::Header;
pub use part::{LegSaid, PartSaid, Spec, TypeLine, TypeSaid, WindingSaid};
pub use word::{Place, Value, Word};

/// One document: its lines in order.
#[derive(Debug, Clone)]
pub struct Document {
    /// The text it was read from.
    pub file: FileId,
    /// Every line, blank ones and comments included, so that `tidy` loses nothing.
    pub lines: Vec<Line>,
}

/// One line of a document.
#[derive(Debug, Clone)]
pub struct Line {
    /// The statement, if the line has one.
    pub statement: Option<Statement>,
    /// The comment without its `#`, if the line has one.
    pub comment: Option<String>,
}

/// One statement.
#[derive(Debug, Clone)]
pub struct Statement {
    /// The whole statement, without its comment.
    pub span: Span,
    /// Its keyword: the first word, or the verb after names.
    pub word: Span,
    /// What it says.
    pub said: Said,
}

impl Document {
    /// The statements in order.
    pub fn statements(&self) -> impl Iterator<Item = &Statement> {
        self.lines.iter().filter_map(|line| line.statement.as_ref())
    }

    /// The header, if there is one.
    pub fn header(&self) -> Option<&Header> {
        self.statements().find_map(|s| match &s.said {
            Said::Header(header) => Some(header),
            _ => None,
        })
    }
}

/// Everything a statement can say.
#[derive(Debug, Clone)]
#[allow(clippy::large_enum_variant, reason = "most statements are parts")]
pub enum Said {
    /// see [`Header`]
    Header(Header),
    /// `types from "my-valves.amp"`: further type data, by relative path
    TypesFrom(Word),
    /// `rail B3 "phase inverter" window 290V to 330V` or `net STK "stack middle"`
    Net {
        /// whether the word was `rail`
        rail: bool,
        /// its name
        name: Word,
        /// quoted purpose
        title: Option<Word>,
        /// its window at idle
        window: Option<WindowSaid>,
    },
    /// `mains 230V 50Hz limits 207V to 253V`; in a layer `mains 231V` holds for the record's readings
    Mains {
        /// nominal or measured volts rms
        volts: Value,
        /// frequency
        hertz: Option<Value>,
        /// lowest and highest
        limits: Option<(Value, Value)>,
    },
    /// `insulation class-I` (or `class-II`)
    Insulation(Word),
    /// `made 1968`, of the whole document
    Made(Spanned<u32>),
    /// `note "seen at the bench"`
    Note(Word),
    /// a part: `resistor R4 100k 1W from B4 to V1a.plate`
    Part(PartSaid),
    /// `winding T1.ht 330V-0-330V 62R a side taps bias 52V from a`
    Winding(WindingSaid),
    /// `heater T1.heat feeds V1 V2 reference centre to chassis`
    Heater {
        /// winding, as `T1.heat`
        winding: Place,
        /// the valves it feeds
        feeds: Vec<Word>,
        /// winding end or `centre`, and where it is referred to
        reference: Option<(Word, Place)>,
    },
    /// `contact S2 play joins RAW to SW`
    Contact {
        /// the switch or relay
        switch: Word,
        /// in which position
        position: Word,
        /// one side
        a: Place,
        /// other side
        b: Place,
    },
    /// `V2b unused grid V2b.cathode cathode chassis`
    Unused {
        /// the section
        section: Word,
        /// legs joined to places
        legs: Vec<LegSaid>,
    },
    /// `role R5 grid-stopper "why"`
    Role {
        /// the part
        part: Word,
        /// the role's name
        role: Word,
        /// reason
        note: Option<Word>,
    },
    /// `open V2b.plate T2.4R`: these legs are meant to be alone
    Open(Vec<Place>),
    /// `window B3 290V to 330V in high-mains because "…"`
    Window {
        /// a net, or a leg for a current window, or a part for a power window
        place: Place,
        /// the bounds
        window: WindowSaid,
    },
    /// `drive J1 behind 10k`
    Drive {
        /// the jack
        jack: Word,
        /// source resistance
        behind: Option<Value>,
    },
    /// a line of type data, `tube-type ECC83 …` and those that follow it
    Type(TypeSaid),

    /// `R3 R4 R8 checked`
    Checked(Vec<Word>),
    /// `R7 reads 131k in circuit`
    Reads {
        /// the part
        part: Word,
        /// what the meter showed
        value: Value,
        /// both legs still joined
        in_circuit: bool,
        /// quoted remark
        note: Option<Word>,
    },
    /// `C33 leaks 12uA at 250V`, `V2a.grid leaks 2uA at 250V to V2a.plate`
    Leaks {
        /// the part, or the leg it leaks from
        part: Word,
        /// leakage current
        amps: Value,
        /// at this voltage
        volts: Value,
        /// the leg it leaks to, or chassis
        to: Option<Place>,
        /// quoted remark
        note: Option<Word>,
    },
    /// `C3 missing "snipped, legs still in the board"` or `C3 missing snipped`
    Missing {
        /// the part
        part: Word,
        /// whether `snipped` was said
        snipped: bool,
        /// quoted remark
        note: Option<Word>,
    },
    /// `R9 replaced 5k6 0.5W`, `R9 replaced by series R9a 2k7, R9b 2k2`; in a plan `change R9 to 8k2 0.5W`
    Replaced {
        /// whether it was `change … to`
        change: bool,
        /// the part
        part: Word,
        /// by what
        by: Replacement,
        /// quoted remark
        note: Option<Word>,
    },
    /// `R40 lifted at B2`, `R40.2 lifted`
    Lifted {
        /// part or leg
        what: Place,
        /// the net where it is lifted
        at: Option<Place>,
        /// quoted remark
        note: Option<Word>,
    },
    /// `C12.2 moved to R15.1`; in a plan `move C12.2 to R15.1`
    Moved {
        /// whether it was the plan's `move`
        plan: bool,
        /// the leg
        leg: Place,
        /// new place
        to: Place,
        /// quoted remark
        note: Option<Word>,
    },
    /// `V2a swapped with V2b`, `VR1 top swapped with bottom`
    Swapped {
        /// part or section
        part: Word,
        /// its leg, when two legs of one part are swapped
        leg: Option<Word>,
        /// the other part, or the other leg
        with: Word,
        /// quoted remark
        note: Option<Word>,
    },
    /// `C40 reversed`
    Reversed {
        /// the part
        part: Word,
        /// quoted remark
        note: Option<Word>,
    },
    /// `C33 shorted`: the part itself conducts; `V2a.grid shorted to V2a.cathode`, `T1.ht shorted`
    Shorted {
        /// the part, its section or winding, or the leg that the short begins at
        part: Word,
        /// the leg it leads to, or chassis
        to: Option<Place>,
        /// quoted remark
        note: Option<Word>,
    },
    /// `added capacitor C90 …`; in a plan `fit resistor R95 …`; `in "extra stage"` names a group
    Added {
        /// whether it was the plan's `fit`
        fit: bool,
        /// the part
        part: PartSaid,
        /// group
        group: Option<Word>,
    },
    /// `joined R91.2 to B4`
    Joined {
        /// a leg
        leg: Place,
        /// a place
        to: Place,
        /// quoted remark
        note: Option<Word>,
    },
    /// `cut B3 leaving R42.2 C41.plus on B3x "trace burnt"`
    Cut {
        /// the net
        net: Place,
        /// the legs that leave it
        legs: Vec<Place>,
        /// the new net's name
        new: Word,
        /// quoted remark
        note: Option<Word>,
    },
    /// `bridged B3 to B3x with wire W1`, `bridged A to B through 150k`
    Bridged {
        /// one place
        a: Place,
        /// the other
        b: Place,
        /// the wire's name; without it the two become one net (solder, carbonised board)
        wire: Option<Word>,
        /// resistance of a carbonised path
        through: Option<Value>,
        /// quoted remark
        note: Option<Word>,
    },
    /// `V2b used in "extra stage"`
    Used {
        /// the section
        section: Word,
        /// group
        group: Option<Word>,
    },
    /// see [`MeterSaid`]
    Meter(MeterSaid),
    /// `set VR1 50%`, `set S2 play`
    Set {
        /// the control
        control: Word,
        /// where to
        to: Setting,
    },
    /// `restore C3`, `restore all except R9`
    Restore {
        /// names; empty for `all`
        names: Vec<Word>,
        /// whether `all`
        all: bool,
        /// names left out of `all`
        except: Vec<Word>,
    },
    /// `remove C90`, `remove "extra stage"`
    Remove {
        /// a part, or a group when quoted
        name: Word,
        /// whether it was quoted
        group: bool,
        /// quoted remark
        note: Option<Word>,
    },
    /// `rejoin B3x to B3 "trace rebuilt, W1 out"`
    Rejoin {
        /// the net that a cut made
        new: Word,
        /// the net it came from
        to: Word,
        /// quoted remark
        note: Option<Word>,
    },
    /// `accept part-drifted on R7 because "owner keeps the worn-in voice"`
    Accept {
        /// the rule
        rule: Word,
        /// part, net or valve; all where absent
        on: Option<Place>,
        /// the written reason
        because: Word,
    },
    /// `done R9 C3` / `done all`
    Done {
        /// names; empty for `all`
        names: Vec<Word>,
        /// whether `all`
        all: bool,
    },
}
