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

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str) -> f64 {
        parse_quantity(text).unwrap().value
    }

    /// IEC 60062 (RKM code) examples as quoted in `tests/reference/published/standards.json`, marked read.
    #[test]
    fn reads_the_value_codes_of_iec_60062() {
        for (code, ohms) in [
            ("R47", 0.47),
            ("4R7", 4.7),
            ("470R", 470.0),
            ("4K7", 4700.0),
            ("47K", 47e3),
            ("47K3", 47.3e3),
            ("470K", 470e3),
            ("4M7", 4.7e6),
        ] {
            assert_eq!(value(code), ohms, "{code}");
        }
    }

    #[test]
    fn spellings_of_one_value_are_one_double() {
        assert_eq!(value("4k7"), value("4.7k"));
        assert_eq!(value("4k7"), 4700.0);
        assert_eq!(value("0.68µF"), value("680nF"));
        assert_eq!(value("0R47"), value("470mΩ"));
        assert_eq!(parse_quantity("22 nF").unwrap().unit, Some(Unit::Farad));
        assert_eq!(value("60%"), 0.6);
    }

    #[test]
    fn refuses_what_is_not_a_value() {
        for text in ["4,7k", "k", "1.2.3", "4.7k7", "10zF", "1e400", "", ".", "1e99999999999", "4kk"] {
            assert!(parse_quantity(text).is_err(), "{text}");
        }
    }

    #[test]
    fn prints_codes_that_read_back() {
        for (ohms, code) in
            [(4700.0, "4k7"), (0.47, "0R47"), (820.0, "820R"), (1e6, "1M"), (131_000.0, "131k")]
        {
            assert_eq!(value_code(ohms, Unit::Ohm), code);
            assert_eq!(value(code), ohms);
        }
        for (farads, code) in [(2.2e-9, "2n2"), (330e-12, "330p"), (47e-6, "47u"), (0.68e-6, "680n")] {
            assert_eq!(value_code(farads, Unit::Farad), code);
            assert_eq!(value(code), farads);
        }
    }

    #[test]
    fn rounds_for_people() {
        assert_eq!(rounded(461.237, Unit::Volt, 4), "461.2 V");
        assert_eq!(rounded(0.032_14, Unit::Amp, 3), "32.1 mA");
        assert_eq!(rounded(0.7137, Unit::Ratio, 3), "71.4 %");
        assert_eq!(rounded(1e-10, Unit::Volt, 3), "0 V");
        assert_eq!(rounded(1300.0, Unit::Volt, 3), "1300 V");
        assert_eq!(rounded(0.0, Unit::Watt, 3), "0 W");
        assert_eq!(rounded(33e-6, Unit::Amp, 3), "33 µA");
    }

    #[test]
    fn figures_of_one_comparison_line_up() {
        assert_eq!(rounded_like(-0.0806, -4.83, Unit::Volt, 3), "-0.08 V");
        assert_eq!(rounded_like(685e-6, 709.3e-6, Unit::Amp, 4), "685.0 µA");
        assert_eq!(rounded_like(-0.0001, 461.2, Unit::Volt, 4), "0.0 V");
        assert_eq!(rounded_like(0.5, 1300.0, Unit::Volt, 3), "0 V");
        assert_eq!(rounded_like(0.05, 0.714, Unit::Ratio, 3), "5.0 %");
    }
}
