//! Quantities: units, SI prefixes and IEC 60062 value codes, read and printed.

use std::fmt;

/// A unit of the documents and rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
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
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// In SI units, finite.
    pub value: f64,
    /// The unit written; `None` for a bare number or a value code without unit letter.
    pub unit: Option<Unit>,
    /// Whether a prefix (k, M, m, u, n, p, G) was written: tells `47` from `47u`.
    pub prefixed: bool,
}

const PREFIXES: [(char, i32); 11] = [
    ('G', 9),
    ('M', 6),
    ('k', 3),
    ('K', 3),
    ('m', -3),
    ('u', -6),
    ('µ', -6),
    ('μ', -6),
    ('n', -9),
    ('p', -12),
    ('f', -15),
];

/// Reads a quantity: `4k7`, `4.7k`, `0R47`, `22nF`, `0.68µF`, `462V`, `60%`, `2M2`, `100`.
///
/// # Errors
/// One sentence on what is wrong: a decimal comma, two points, an unknown unit, a number that is not finite.
pub fn parse_quantity(text: &str) -> Result<Quantity, String> {
    let text = text.trim();
    if text.contains(',') {
        return Err(format!(
            "write the decimal point as `.`, or use a value code: `{}`",
            text.replace(',', ".")
        ));
    }
    let (negative, rest) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (digits, tail) = split_number(rest);
    if digits.is_empty() && !tail.starts_with(['R', 'r']) {
        return Err(format!("`{text}` does not start with a number"));
    }
    let (number, exponent, unit, prefixed) = read_tail(digits, tail.trim_start())
        .ok_or_else(|| format!("`{text}` is not a value: write like 4k7, 22nF, 0R47, 462V or 60%"))?;
    // One decimal-to-binary rounding, so that 4k7, 4.7k and 4700 are the same double.
    let value: f64 =
        format!("{number}e{exponent}").parse().map_err(|_| format!("`{text}` is not a number"))?;
    if !value.is_finite() {
        return Err(format!("`{text}` is too large"));
    }
    Ok(Quantity { value: if negative { -value } else { value }, unit, prefixed })
}

/// Splits "4.7k" into "4.7" and "k"; an exponent (`1e-3`) stays with the number.
fn split_number(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let mut end = bytes.iter().take_while(|b| b.is_ascii_digit() || **b == b'.').count();
    if end > 0 && matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let digits = bytes[end + 1 + sign..].iter().take_while(|b| b.is_ascii_digit()).count();
        if digits > 0 {
            end += 1 + sign + digits;
        }
    }
    text.split_at(end)
}

fn read_tail(digits: &str, tail: &str) -> Option<(String, i32, Option<Unit>, bool)> {
    let (mantissa, written_exponent) = match digits.split_once(['e', 'E']) {
        Some((m, e)) => (m, e.parse::<i32>().ok()?),
        None => (digits, 0),
    };
    if mantissa.matches('.').count() > 1 || mantissa == "." {
        return None;
    }
    let exponent = |extra: i32| written_exponent.checked_add(extra);
    if let Some(unit) = unit_of(tail) {
        let percent = if tail == "%" { -2 } else { 0 };
        return Some((zero_led(mantissa), exponent(percent)?, unit, false));
    }
    let mut chars = tail.chars();
    let letter = chars.next()?;
    let after = chars.as_str();
    let power = match letter {
        'R' | 'r' | 'Ω' | '\u{2126}' => 0,
        _ => PREFIXES.iter().find(|(c, _)| *c == letter)?.1,
    };
    let fraction = after.bytes().take_while(u8::is_ascii_digit).count();
    let (fraction, unit_text) = after.split_at(fraction);
    if !fraction.is_empty() && mantissa.contains('.') {
        return None;
    }
    let unit =
        if power == 0 { unit_text.is_empty().then_some(Some(Unit::Ohm))? } else { unit_of(unit_text)? };
    let number =
        if fraction.is_empty() { zero_led(mantissa) } else { format!("{}.{fraction}", zero_led(mantissa)) };
    Some((number, exponent(power)?, unit, power != 0))
}

fn zero_led(mantissa: &str) -> String {
    if mantissa.is_empty() { "0".to_owned() } else { mantissa.to_owned() }
}

/// The unit a sign stands for; `Some(None)` for no sign at all.
#[allow(clippy::option_option, reason = "no unit written is one of the answers, not a sign is another")]
fn unit_of(sign: &str) -> Option<Option<Unit>> {
    Some(match sign {
        "" => None,
        "V" => Some(Unit::Volt),
        "A" => Some(Unit::Amp),
        "Ω" | "\u{2126}" | "ohm" | "ohms" => Some(Unit::Ohm),
        "F" => Some(Unit::Farad),
        "H" => Some(Unit::Henry),
        "Hz" => Some(Unit::Hertz),
        "W" => Some(Unit::Watt),
        "s" => Some(Unit::Second),
        "J" => Some(Unit::Joule),
        "S" => Some(Unit::Siemens),
        "dB" => Some(Unit::Decibel),
        "%" => Some(Unit::Ratio),
        _ => return None,
    })
}

/// Prints a resistance, capacitance or inductance as an IEC 60062 code: `4k7`, `820R`, `0R47`, `2n2`, `10H`.
/// The code holds all digits of `value`, so that reading it back gives the same value.
pub fn value_code(value: f64, unit: Unit) -> String {
    let (power, letter) = scale(value, unit);
    let digits = shifted(value, -power);
    match unit {
        // A henry needs its letter: 10H, 4.7H.
        Unit::Henry => format!("{digits}{letter}H"),
        Unit::Ohm | Unit::Farad => match digits.split_once('.') {
            Some((whole, fraction)) => format!("{whole}{letter}{fraction}"),
            None => format!("{digits}{letter}"),
        },
        _ => format!("{digits}{letter}{}", unit.sign()),
    }
}

/// Prints exactly with prefix and unit, no space: `462V`, `120mA`, `0.5W`, `60%`.
pub fn exact(value: f64, unit: Unit) -> String {
    match unit {
        Unit::Ohm | Unit::Farad | Unit::Henry => value_code(value, unit),
        Unit::Ratio => format!("{}%", shifted(value, 2)),
        // 0.5 V stays, 38 mV is not 0.038 V.
        Unit::Volt if value.abs() >= 0.1 || value == 0.0 => format!("{}V", shifted(value, 0)),
        Unit::Watt | Unit::Second | Unit::Decibel if value.abs() >= 0.001 || value == 0.0 => {
            format!("{}{}", shifted(value, 0), unit.sign())
        }
        _ => {
            let (power, letter) = scale(value, unit);
            format!("{}{letter}{}", shifted(value, -power), unit.sign())
        }
    }
}

/// Prints for people, rounded to `digits` significant digits, with a space: `462 V`, `3.21 mA`, `71.4 %`.
/// A voltage below 1 nV and a current below 1 pA print as 0. Resistances and capacitances print as codes.
pub fn rounded(value: f64, unit: Unit, digits: usize) -> String {
    let value = match unit {
        Unit::Volt if value.abs() < 1e-9 => 0.0,
        Unit::Amp if value.abs() < 1e-12 => 0.0,
        _ => value,
    };
    // Adding zero turns −0 into 0.
    let value = significant(value, digits) + 0.0;
    match unit {
        Unit::Ohm | Unit::Farad => value_code(value, unit),
        Unit::Ratio => format!("{} %", shifted(value, 2)),
        Unit::Decibel => format!("{value:.1} dB"),
        _ => {
            let (power, letter) = scale(value, unit);
            let letter = if letter == "u" { "µ" } else { letter };
            format!("{} {letter}{}", shifted(value, -power), unit.sign())
        }
    }
}

/// Prints `value` with the prefix and the last digit that `reference` has when rounded to `digits` significant
/// digits, so that figures of one comparison line up: `-0.08 V` beside `-4.83 V`.
pub fn rounded_like(value: f64, reference: f64, unit: Unit, digits: usize) -> String {
    let reference = significant(reference, digits);
    if reference == 0.0 || !reference.is_finite() || matches!(unit, Unit::Ohm | Unit::Farad | Unit::Decibel) {
        return rounded(value, unit, digits);
    }
    let (power, letter) = if unit == Unit::Ratio { (-2, "%") } else { scale(reference, unit) };
    let letter = if letter == "u" { "µ" } else { letter };
    let before_point = format!("{:e}", reference.abs()).split_once('e').and_then(|(_, e)| e.parse().ok());
    let before_point: i32 = before_point.unwrap_or(0) - power + 1;
    let decimals = usize::try_from(i32::try_from(digits).unwrap_or(0) - before_point).unwrap_or(0);
    let shown = format!("{:.decimals$}", value * 10f64.powi(-power));
    let shown =
        if shown.trim_start_matches(['-', '0', '.']).is_empty() { shown.replace('-', "") } else { shown };
    format!("{shown} {letter}{}", unit.sign())
}

/// `value` rounded to `digits` significant decimal digits.
pub fn significant(value: f64, digits: usize) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    format!("{value:.*e}", digits.saturating_sub(1)).parse().unwrap_or(value)
}

/// The power of ten and letter for a value. `R` is the letter of no prefix for ohms in a code.
fn scale(value: f64, unit: Unit) -> (i32, &'static str) {
    let magnitude = value.abs();
    let none = if unit == Unit::Ohm {
        "R"
    } else if unit == Unit::Farad {
        "F"
    } else {
        ""
    };
    let table: &[(f64, i32, &'static str)] = match unit {
        Unit::Ohm => &[(1e9, 9, "G"), (1e6, 6, "M"), (1e3, 3, "k"), (0.0, 0, "R")],
        Unit::Farad => &[(1.0, 0, "F"), (1e-3, -3, "m"), (1e-6, -6, "u"), (1e-9, -9, "n"), (0.0, -12, "p")],
        Unit::Hertz | Unit::Watt | Unit::Volt => {
            &[(1e6, 6, "M"), (1e3, 3, "k"), (1.0, 0, ""), (1e-3, -3, "m"), (1e-6, -6, "u"), (0.0, -9, "n")]
        }
        _ => {
            &[(1e3, 3, "k"), (1.0, 0, ""), (1e-3, -3, "m"), (1e-6, -6, "u"), (1e-9, -9, "n"), (0.0, -12, "p")]
        }
    };
    if magnitude == 0.0 {
        return (0, none);
    }
    // Volts of a rail stay volts: 1200 V, not 1.2 kV, below ten thousand.
    if unit == Unit::Volt && (1e3..1e4).contains(&magnitude) {
        return (0, "");
    }
    let (_, power, letter) = *table.iter().find(|(floor, ..)| magnitude >= *floor).unwrap_or(&(0.0, 0, none));
    (power, letter)
}

/// The shortest decimal digits of `value`, with the point moved by `power` places: no rounding is added.
fn shifted(value: f64, power: i32) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let text = format!("{value:e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let exponent: i32 = exponent.parse::<i32>().unwrap_or(0) + power;
    let (sign, mantissa) = mantissa.strip_prefix('-').map_or(("", mantissa), |m| ("-", m));
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let point = exponent + 1;
    let body = if point <= 0 {
        format!("0.{}{digits}", "0".repeat(point.unsigned_abs() as usize))
    } else if point as usize >= digits.len() {
        format!("{digits}{}", "0".repeat(point as usize - digits.len()))
    } else {
        format!("{}.{}", &digits[..point as usize], &digits[point as usize..])
    };
    let body = if body.contains('.') { body.trim_end_matches('0').trim_end_matches('.') } else { &body };
    format!("{sign}{body}")
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.sign())
    }
}

/// A time as people say it: `40 ms`, `42 s`, `3.2 min`, `14 h`.
pub fn duration(seconds: f64) -> String {
    let (value, unit) = match seconds {
        s if s < 0.5 => (s * 1e3, "ms"),
        s if s < 90.0 => (s, "s"),
        s if s < 5400.0 => (s / 60.0, "min"),
        s => (s / 3600.0, "h"),
    };
    format!("{} {unit}", significant(value, 2))
}

/// Energy: `2.3 J`, `14 mJ`.
pub fn joules(joules: f64) -> String {
    let (value, unit) = if joules >= 0.1 { (joules, "J") } else { (joules * 1e3, "mJ") };
    format!("{} {unit}", significant(value, 2))
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
