//! Quantities: units, SI prefixes and IEC 60062 value codes, read and printed.

mod read;
mod write;

use std::fmt;

use serde::{Deserialize, Serialize};

pub use read::parse_quantity;
pub use write::{digits_apart, duration, exact, figure, rounded, rounded_like, significant, value_code};

/// A unit of the documents and rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Unit {
    /// V
    Volt,
    /// A
    Amp,
    /// Ω, written `R`
    Ohm,
    /// F
    Farad,
    /// H
    Henry,
    /// Hz
    Hertz,
    /// W
    Watt,
    /// s
    Second,
    /// J
    Joule,
    /// A/V, written `S`
    Siemens,
    /// dB
    Decibel,
    /// A pure number; `60 %` is 0.6
    Ratio,
}

impl Unit {
    /// The sign after a number.
    pub fn sign(self) -> &'static str {
        match self {
            Unit::Volt => "V",
            Unit::Amp => "A",
            Unit::Ohm => "R",
            Unit::Farad => "F",
            Unit::Henry => "H",
            Unit::Hertz => "Hz",
            Unit::Watt => "W",
            Unit::Second => "s",
            Unit::Joule => "J",
            Unit::Siemens => "S",
            Unit::Decibel => "dB",
            Unit::Ratio => "",
        }
    }

    /// What is measured, for messages: "a voltage".
    pub fn quantity(self) -> &'static str {
        match self {
            Unit::Volt => "a voltage",
            Unit::Amp => "a current",
            Unit::Ohm => "a resistance",
            Unit::Farad => "a capacitance",
            Unit::Henry => "an inductance",
            Unit::Hertz => "a frequency",
            Unit::Watt => "a power",
            Unit::Second => "a time",
            Unit::Joule => "an energy",
            Unit::Siemens => "a conductance",
            Unit::Decibel => "a level in dB",
            Unit::Ratio => "a number",
        }
    }
}

/// A number as written: SI value, and the unit if one was written (`4k7` and `15n` leave it to the part).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Quantity {
    /// In SI units, finite.
    pub value: f64,
    /// The unit written; `None` for a bare number or a value code without unit letter.
    pub unit: Option<Unit>,
    /// Whether a prefix (k, M, m, u, n, p, G) was written: tells `47` from `47u`.
    pub prefixed: bool,
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.sign())
    }
}
