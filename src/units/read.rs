//! Quantities as people and IEC 60062 write them.

use super::{Quantity, Unit};

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
