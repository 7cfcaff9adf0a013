//! Quantities printed: exactly, as codes, and rounded for people.

use std::collections::BTreeSet;

use super::Unit;

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

/// Prints one figure among others for people: rounded as [`rounded`], with all its digits where more than three tell it
/// from another: `278.0 V` beside `278.6 V`.
pub fn figure(value: f64, unit: Unit, digits: usize) -> String {
    if digits > 3 { rounded_like(value, value, unit, digits) } else { rounded(value, unit, digits) }
}

/// The digits, from `digits` up, with which no two of these figures print alike that are not the same. Figures that nine
/// digits don't tell apart are the same.
pub fn digits_apart(figures: &[(f64, Unit)], digits: usize) -> usize {
    let printed = |digits: usize| figures.iter().map(move |(value, unit)| figure(*value, *unit, digits));
    let different = |digits: usize| printed(digits).collect::<BTreeSet<String>>().len();
    let most = different(9);
    (digits..9).find(|digits| different(*digits) == most).unwrap_or(9)
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
