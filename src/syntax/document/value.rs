//! Values of documents: the word, its unit, and whether it is what was wanted.

use pest::iterators::Pair;

use super::Walk;
use super::grammar::Rule;
use crate::source::{Problem, ProblemCode, Span, Spanned};
use crate::syntax::print;
use crate::syntax::tree::Value;
use crate::units::{Quantity, Unit, parse_quantity};

/// What a value has to be besides of its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    /// above zero
    Above,
    /// zero or above
    NotBelow,
    /// any
    Any,
}

/// The smallest size but 0 and the largest that a value of a unit can have in an amplifier, with how they are told; what
/// lies outside is a slip of the prefix, and would keep the solver busy with times that nothing on a bench has.
fn sizes(unit: Unit) -> Option<(f64, f64, &'static str)> {
    Some(match unit {
        Unit::Ohm => (1e-6, 1e15, "1 µR to 1000 TR"),
        Unit::Farad => (1e-15, 10.0, "1 fF to 10 F"),
        Unit::Henry => (1e-9, 1e6, "1 nH to 1 MH"),
        Unit::Hertz => (1e-3, 1e9, "1 mHz to 1 GHz"),
        Unit::Volt => (0.0, 1e6, "up to 1 MV"),
        Unit::Amp => (0.0, 1e6, "up to 1 MA"),
        Unit::Watt => (0.0, 1e9, "up to 1 GW"),
        _ => return None,
    })
}

/// How a value of a unit is written, for help.
pub(super) fn examples(unit: Unit) -> &'static str {
    match unit {
        Unit::Ohm => "write a resistance like 4k7, 820R, 1M or 0R47",
        Unit::Farad => "write a capacitance like 22n, 2n2, 330p or 47u",
        Unit::Henry => "write an inductance like 10H or 150mH",
        Unit::Volt => "write a voltage like 400V",
        Unit::Amp => "write a current like 120mA or 1A",
        Unit::Watt => "write a power like 0.5W",
        Unit::Hertz => "write a frequency like 50Hz or 1kHz",
        Unit::Ratio => "write a share like 60%",
        _ => "write a number with its unit",
    }
}

impl Walk {
    /// A value of a known unit, with its unit filled in; a problem where it is not.
    pub(super) fn value(&mut self, pair: &Pair<Rule>, unit: Unit, sign: Sign) -> Option<Value> {
        let span = self.span(pair);
        let text = pair.as_str();
        match parse_quantity(text) {
            Ok(quantity) => self.settled(text, Spanned { value: quantity, span }, unit, sign),
            Err(why) => {
                self.not_a(unit, text, span, &why);
                None
            }
        }
    }

    /// A value whose unit is whatever was written.
    pub(super) fn any_value(&mut self, pair: &Pair<Rule>) -> Option<Value> {
        let span = self.span(pair);
        match parse_quantity(pair.as_str()) {
            Ok(quantity) => Some(Spanned { value: plain(quantity), span }),
            Err(why) => {
                let problem =
                    Problem::error(ProblemCode::BadValue, span, format!("not a value: `{}`", pair.as_str()))
                        .here(why)
                        .help("write a value like 4k7, 22n, 0R47, 462V or 60%");
                self.push(problem);
                None
            }
        }
    }

    /// Checks unit and sign, and fills the unit in.
    pub(super) fn settled(&mut self, text: &str, value: Value, unit: Unit, sign: Sign) -> Option<Value> {
        let Spanned { value: quantity, span } = value;
        if let Some(why) = misfit(&quantity, unit) {
            self.not_a(unit, text, span, &why);
            return None;
        }
        let low = match sign {
            Sign::Above => quantity.value <= 0.0,
            Sign::NotBelow => quantity.value < 0.0,
            Sign::Any => false,
        };
        if low {
            let bound = if sign == Sign::Above { "above zero" } else { "zero or above" };
            let problem = Problem::error(
                ProblemCode::ValueOutOfRange,
                span,
                format!("`{text}` can't be: {} here is {bound}", unit.quantity()),
            )
            .here(format!("not {bound}"))
            .help(examples(unit));
            self.push(problem);
            return None;
        }
        if let Some(problem) = impossible(text, quantity.value.abs(), unit, span) {
            self.push(problem);
            return None;
        }
        let quantity = Quantity { value: quantity.value, unit: Some(unit), prefixed: false };
        Some(Spanned { value: quantity, span })
    }

    /// A year of make.
    pub(super) fn year(&mut self, pair: &Pair<Rule>) -> Option<Spanned<u32>> {
        let span = self.span(pair);
        let text = pair.as_str();
        if let Some(year) = text.parse().ok().filter(|year| (1900..=2100).contains(year)) {
            return Some(Spanned { value: year, span });
        }
        let problem = Problem::error(ProblemCode::BadYear, span, format!("not a year of make: `{text}`"))
            .here("not a year from 1900 to 2100")
            .help("write `made 1968`");
        self.push(problem);
        None
    }

    fn not_a(&mut self, unit: Unit, text: &str, span: Span, why: &str) {
        let wanted = unit.quantity();
        let problem = Problem::error(ProblemCode::WrongValue, span, format!("not {wanted}: `{text}`"))
            .here(why)
            .help(examples(unit));
        self.push(problem);
    }
}

/// The problem with a size that no value of the unit can have.
fn impossible(text: &str, size: f64, unit: Unit, span: Span) -> Option<Problem> {
    let (least, most, told) = sizes(unit)?;
    if size == 0.0 || (least..=most).contains(&size) {
        return None;
    }
    let what = unit.quantity();
    let problem = Problem::error(
        ProblemCode::ValueOutOfRange,
        span,
        format!("`{text}` can't be: {what} here is {told}"),
    );
    Some(problem.here(if size < least { "far too small" } else { "far too large" }).help(examples(unit)))
}

/// Why a quantity as written can't be of a unit.
fn misfit(quantity: &Quantity, unit: Unit) -> Option<String> {
    match quantity.unit {
        Some(written) if written == unit => None,
        Some(written) => Some(format!("this is {}", written.quantity())),
        None => {
            let small = quantity.value.abs() < 1.0;
            match unit {
                Unit::Ohm if quantity.prefixed && small => {
                    Some("the prefix makes it far too small".to_owned())
                }
                Unit::Farad if quantity.prefixed && !small => {
                    Some("the prefix makes it far too large".to_owned())
                }
                Unit::Farad if !quantity.prefixed && quantity.value != 0.0 => {
                    Some("it has no prefix: p, n or u".to_owned())
                }
                Unit::Ohm | Unit::Farad | Unit::Ratio => None,
                Unit::Henry if quantity.prefixed => None,
                _ => Some("it has no unit".to_owned()),
            }
        }
    }
}

/// A quantity in the one form that printing and reading back keeps: a prefix is remembered only where the
/// unit is not known and the prefix tells it.
pub(super) fn plain(quantity: Quantity) -> Quantity {
    let Quantity { value, unit, prefixed } = quantity;
    let size = value.abs();
    match unit {
        None if prefixed && (1.0..1e3).contains(&size) => {
            Quantity { unit: Some(Unit::Ohm), value, prefixed: false }
        }
        // 5600 Ω and 5k6 are one.
        Some(Unit::Ohm) if size >= 1e3 => Quantity { unit: None, value, prefixed: true },
        _ => Quantity { value, unit, prefixed: prefixed && unit.is_none() && value != 0.0 },
    }
}

/// `5%` and `-20%/+50%` as fractions below and above.
pub(super) fn tolerance(text: &str) -> Option<(f64, f64)> {
    if !text.contains('%') {
        return None;
    }
    let share = |text: &str| {
        let quantity = parse_quantity(text).ok()?;
        (quantity.unit == Some(Unit::Ratio) && (0.0..=10.0).contains(&quantity.value))
            .then_some(quantity.value)
    };
    if let Some(rest) = text.strip_prefix(['-', '−']) {
        let (below, above) = rest.split_once(['+'])?;
        let below = below.trim_end_matches('/');
        return Some((share(below)?, share(above)?)).filter(|(below, _)| *below <= 1.0);
    }
    let text = text.trim_start_matches(['±', '+']).trim_start_matches("/-");
    let value = share(text)?;
    (value <= 1.0).then_some((value, value))
}

/// Whether a word can be a type's name: `5Y3GT`, `1N4007`.
pub(super) fn looks_like_type(text: &str) -> bool {
    text.contains(|c: char| c.is_ascii_alphabetic())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || "-/".contains(c))
}

/// Whether a word that reads as a value may be a valve's type that the value would not be printed as: `6550A` is no
/// 6.55 kA, `6E5` no 600k.
pub(super) fn type_or_value(text: &str) -> bool {
    let capitals = text.chars().all(|c| c.is_ascii_digit() || c.is_ascii_uppercase());
    let other = |value: Quantity| print::value(&plain(value)).to_uppercase() != text;
    capitals && parse_quantity(text).is_ok_and(other)
}
