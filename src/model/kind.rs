//! Kinds of parts, constructions and tapers.

use crate::units::Unit;

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
