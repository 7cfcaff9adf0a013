//! Kinds of parts, constructions and tapers.

use strum::{IntoStaticStr, VariantArray};

use crate::units::Unit;

/// Kinds of parts; each has one keyword.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, VariantArray, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
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
    #[strum(serialize = "transformer")]
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
    pub const ALL: [Kind; Kind::VARIANTS.len()] = *Kind::VARIANTS.first_chunk().expect("all of them");

    /// The keyword. `tube` and `valve` are one; a mains transformer is written `transformer T1 mains`.
    pub fn word(self) -> &'static str {
        self.into()
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, VariantArray, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
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
    #[strum(serialize = "ceramic class-1")]
    Ceramic1,
    #[strum(serialize = "ceramic class-2")]
    Ceramic2,
    Electrolytic,
    #[strum(serialize = "class-X1")]
    X1,
    #[strum(serialize = "class-X2")]
    X2,
    #[strum(serialize = "class-Y1")]
    Y1,
    #[strum(serialize = "class-Y2")]
    Y2,
}

impl Construction {
    /// Every construction.
    pub const ALL: [Construction; Construction::VARIANTS.len()] =
        *Construction::VARIANTS.first_chunk().expect("all of them");

    /// As written; a bare `ceramic` is read as class 2 (marked assumed nowhere: class matters to notices only).
    pub fn word(self) -> &'static str {
        self.into()
    }
}

/// Taper of a pot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, VariantArray, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
#[allow(missing_docs, reason = "trade words")]
pub enum Taper {
    Lin,
    Log,
    ReverseLog,
}

impl Taper {
    /// Every taper.
    pub const ALL: [Taper; Taper::VARIANTS.len()] = *Taper::VARIANTS.first_chunk().expect("all of them");

    /// As written.
    pub fn word(self) -> &'static str {
        self.into()
    }
}
