//! What a document says, statement by statement, with the place of every word. Decides nothing:
//! names are not looked up and legs are not joined here.

use crate::source::{FileId, Span, Spanned};
use crate::units::{Quantity, Unit};

/// A name or a word with its place.
pub type Word = Spanned<String>;

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

/// `stock "Sedge 45" "two-channel head"`, `stock "B" of "a.amp"`, `as-found "job" of "spec.amp"`,
/// `plan "…" for "job.amp"`, `as-left "…" after "plan.amp"`, `type-data "…"`; `pinned 9f3a51c2d4e6b708` at the
/// end pins what it rests on.
#[derive(Debug, Clone)]
pub struct Header {
    /// Which kind, at its word.
    pub kind: Spanned<DocumentKind>,
    /// Model, job or plan.
    pub title: Word,
    /// A second quoted text.
    pub subtitle: Option<Word>,
    /// Relative path of the document beneath.
    pub base: Option<Word>,
    /// Fingerprint of the document beneath (16 hexadecimal digits).
    pub pin: Option<Word>,
}

/// A place as written: `chassis`, `B1`, `R5.1`, `V1a.plate`, `T1.ht.a`, `V5.pin3`. One span over all.
pub type Place = Word;

/// A value with its place.
pub type Value = Spanned<Quantity>;

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
    /// `C33 leaks 12uA at 250V`
    Leaks {
        /// the capacitor
        part: Word,
        /// leakage current
        amps: Value,
        /// at this voltage
        volts: Value,
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
    /// `C33 shorted`: the part itself conducts
    Shorted {
        /// the part
        part: Word,
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

/// `window 290V to 330V in high-mains because "…"`.
#[derive(Debug, Clone)]
pub struct WindowSaid {
    /// lowest
    pub low: Value,
    /// highest
    pub high: Value,
    /// condition's name; idle where absent
    pub condition: Option<Word>,
    /// reason, where it excuses a limit
    pub because: Option<Word>,
}

/// Where a control is set.
#[derive(Debug, Clone)]
pub enum Setting {
    /// shaft position, 0 … 1
    Turn(Value),
    /// a switch position's name
    Position(Word),
}

/// By what a part was replaced.
#[derive(Debug, Clone)]
#[allow(clippy::large_enum_variant, reason = "nearly all are of one body")]
pub enum Replacement {
    /// one body
    One(Spec),
    /// `by series R9a 2k7, R9b 2k2`
    Series(Vec<(Word, Spec)>),
    /// `by parallel C9a 10n, C9b 12n`
    Parallel(Vec<(Word, Spec)>),
}

/// `meter B3 271V`, `meter V5.cathode 22mA`, `meter R40 12V`, `meter A to B 3V ac at 1kHz in standby with 1% 10M`.
#[derive(Debug, Clone)]
pub struct MeterSaid {
    /// net, leg (for amps) or part (across it)
    pub place: Place,
    /// second place of a difference
    pub to: Option<Place>,
    /// the figure, volts or amps
    pub value: Value,
    /// whether `ac`
    pub ac: bool,
    /// at which frequency
    pub hertz: Option<Value>,
    /// in which condition; idle where absent
    pub condition: Option<Word>,
    /// the meter's accuracy and input resistance
    pub with: (Option<Value>, Option<Value>),
    /// quoted remark
    pub note: Option<Word>,
}

/// A leg and where it goes: `plus B1`; `from A to B` gives legs `1` and `2`.
#[derive(Debug, Clone)]
pub struct LegSaid {
    /// canonical leg name within the part: `1`, `plus`, `wiper`, `plate`, `a.plate`
    pub leg: Word,
    /// where it is joined
    pub place: Place,
}

/// Kinds of parts; each has one keyword.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "the keyword of each says what it is, see `Kind::word`")]
pub enum Kind {
    Resistor,
    Capacitor,
    Inductor,
    Choke,
    Pot,
    Trimmer,
    Tube,
    Diode,
    Zener,
    Bridge,
    Led,
    MainsTransformer,
    OutputTransformer,
    ReverbTransformer,
    Switch,
    Relay,
    Jack,
    Fuse,
    Lamp,
    Link,
    Inlet,
    Speaker,
    Thermistor,
    Varistor,
    Source,
    Fitting,
    Can,
}

impl Kind {
    /// Every kind, in the order of the reference.
    pub const ALL: [Kind; 27] = [
        Kind::Resistor,
        Kind::Capacitor,
        Kind::Inductor,
        Kind::Choke,
        Kind::Pot,
        Kind::Trimmer,
        Kind::Tube,
        Kind::Diode,
        Kind::Zener,
        Kind::Bridge,
        Kind::Led,
        Kind::MainsTransformer,
        Kind::OutputTransformer,
        Kind::ReverbTransformer,
        Kind::Switch,
        Kind::Relay,
        Kind::Jack,
        Kind::Fuse,
        Kind::Lamp,
        Kind::Link,
        Kind::Inlet,
        Kind::Speaker,
        Kind::Thermistor,
        Kind::Varistor,
        Kind::Source,
        Kind::Fitting,
        Kind::Can,
    ];

    /// The keyword. `tube` and `valve` are one; a mains transformer is written `transformer T1 mains`.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Resistor => "resistor",
            Kind::Capacitor => "capacitor",
            Kind::Inductor => "inductor",
            Kind::Choke => "choke",
            Kind::Pot => "pot",
            Kind::Trimmer => "trimmer",
            Kind::Tube => "tube",
            Kind::Diode => "diode",
            Kind::Zener => "zener",
            Kind::Bridge => "bridge",
            Kind::Led => "led",
            Kind::MainsTransformer => "transformer",
            Kind::OutputTransformer => "output-transformer",
            Kind::ReverbTransformer => "reverb-transformer",
            Kind::Switch => "switch",
            Kind::Relay => "relay",
            Kind::Jack => "jack",
            Kind::Fuse => "fuse",
            Kind::Lamp => "lamp",
            Kind::Link => "link",
            Kind::Inlet => "inlet",
            Kind::Speaker => "speaker",
            Kind::Thermistor => "thermistor",
            Kind::Varistor => "varistor",
            Kind::Source => "source",
            Kind::Fitting => "fitting",
            Kind::Can => "can",
        }
    }

    /// The fixed legs in order. Tubes, bridges' `ac` pair aside, take theirs from type data; transformers from
    /// their windings; switches from their contacts.
    pub fn legs(self) -> &'static [&'static str] {
        match self {
            Kind::Resistor
            | Kind::Inductor
            | Kind::Choke
            | Kind::Fuse
            | Kind::Lamp
            | Kind::Link
            | Kind::Speaker
            | Kind::Thermistor
            | Kind::Varistor => &["1", "2"],
            // `1` and `2` name the same two legs where the capacitor is not polarised.
            Kind::Capacitor | Kind::Source => &["plus", "minus"],
            Kind::Pot | Kind::Trimmer => &["top", "wiper", "bottom"],
            Kind::Diode | Kind::Zener | Kind::Led => &["anode", "cathode"],
            Kind::Bridge => &["ac1", "ac2", "plus", "minus"],
            Kind::Jack => &["tip", "sleeve"],
            Kind::Inlet => &["live", "neutral", "earth"],
            Kind::Tube
            | Kind::MainsTransformer
            | Kind::OutputTransformer
            | Kind::ReverbTransformer
            | Kind::Switch
            | Kind::Relay
            | Kind::Fitting
            | Kind::Can => &[],
        }
    }

    /// The unit of the part's main value, where it has one.
    pub fn unit(self) -> Option<Unit> {
        match self {
            Kind::Resistor
            | Kind::Pot
            | Kind::Trimmer
            | Kind::Speaker
            | Kind::Thermistor
            | Kind::OutputTransformer
            | Kind::ReverbTransformer => Some(Unit::Ohm),
            Kind::Capacitor => Some(Unit::Farad),
            Kind::Inductor | Kind::Choke => Some(Unit::Henry),
            Kind::Zener | Kind::Source | Kind::Varistor | Kind::Lamp => Some(Unit::Volt),
            Kind::Fuse => Some(Unit::Amp),
            _ => None,
        }
    }

    /// Whether its two legs may be exchanged without a difference (an electrolytic's may not).
    pub fn symmetric(self) -> bool {
        matches!(
            self,
            Kind::Resistor
                | Kind::Capacitor
                | Kind::Inductor
                | Kind::Choke
                | Kind::Fuse
                | Kind::Lamp
                | Kind::Link
                | Kind::Speaker
                | Kind::Thermistor
                | Kind::Varistor
        )
    }
}

/// How a part is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "the word of each says what it is, see `Construction::word`")]
pub enum Construction {
    CarbonComposition,
    CarbonFilm,
    MetalFilm,
    MetalOxide,
    Wirewound,
    Film,
    Paper,
    Mica,
    Ceramic1,
    Ceramic2,
    Electrolytic,
    X1,
    X2,
    Y1,
    Y2,
}

impl Construction {
    /// Every construction.
    pub const ALL: [Construction; 15] = [
        Construction::CarbonComposition,
        Construction::CarbonFilm,
        Construction::MetalFilm,
        Construction::MetalOxide,
        Construction::Wirewound,
        Construction::Film,
        Construction::Paper,
        Construction::Mica,
        Construction::Ceramic1,
        Construction::Ceramic2,
        Construction::Electrolytic,
        Construction::X1,
        Construction::X2,
        Construction::Y1,
        Construction::Y2,
    ];

    /// As written; a bare `ceramic` is read as class 2 (marked assumed nowhere: class matters to notices only).
    pub fn word(self) -> &'static str {
        match self {
            Construction::CarbonComposition => "carbon-composition",
            Construction::CarbonFilm => "carbon-film",
            Construction::MetalFilm => "metal-film",
            Construction::MetalOxide => "metal-oxide",
            Construction::Wirewound => "wirewound",
            Construction::Film => "film",
            Construction::Paper => "paper",
            Construction::Mica => "mica",
            Construction::Ceramic1 => "ceramic class-1",
            Construction::Ceramic2 => "ceramic class-2",
            Construction::Electrolytic => "electrolytic",
            Construction::X1 => "class-X1",
            Construction::X2 => "class-X2",
            Construction::Y1 => "class-Y1",
            Construction::Y2 => "class-Y2",
        }
    }
}

/// Taper of a pot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "trade words")]
pub enum Taper {
    Lin,
    Log,
    ReverseLog,
}

impl Taper {
    /// Every taper.
    pub const ALL: [Taper; 3] = [Taper::Lin, Taper::Log, Taper::ReverseLog];

    /// As written.
    pub fn word(self) -> &'static str {
        match self {
            Taper::Lin => "lin",
            Taper::Log => "log",
            Taper::ReverseLog => "reverse-log",
        }
    }
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
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
    pub const ALL: [TypeLine; 8] = [
        TypeLine::TubeType,
        TypeLine::DiodeType,
        TypeLine::Pins,
        TypeLine::HeaterData,
        TypeLine::Model,
        TypeLine::Limits,
        TypeLine::Capacitances,
        TypeLine::Provenance,
    ];

    /// The keyword.
    pub fn word(self) -> &'static str {
        match self {
            TypeLine::TubeType => "tube-type",
            TypeLine::DiodeType => "diode-type",
            TypeLine::Pins => "pins",
            TypeLine::HeaterData => "heater-data",
            TypeLine::Model => "model",
            TypeLine::Limits => "limits",
            TypeLine::Capacitances => "capacitances",
            TypeLine::Provenance => "provenance",
        }
    }
}
