//! Values while a rule is evaluated: known, or unknown with what is missing.

use std::borrow::Cow;

use crate::circuit::{LegId, NetId, PartId};
use crate::numeric::statistics::Within;
use crate::units::Unit;

use super::ast::{Comparator, Sign};
use super::dimension::Dim;
use super::finding::Basis;

/// A number with the window it may lie in, and how it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Number {
    /// SI value.
    pub value: f64,
    /// Lowest it may be.
    pub low: f64,
    /// Highest it may be.
    pub high: f64,
    /// How it is known.
    pub basis: Basis,
}

/// A section of a valve; `letter` is `None` for a one-section valve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SectionId {
    /// The valve.
    pub tube: PartId,
    /// `a` or `b`.
    pub letter: Option<char>,
}

/// Something a rule looks at. Ids belong to the circuit that is being looked at: now, beneath or stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Thing {
    /// A part.
    Part(PartId),
    /// A net.
    Net(NetId),
    /// A leg.
    Leg(LegId),
    /// A valve section.
    Section(SectionId),
    /// A stage, by index.
    Stage(usize),
    /// A change since the document beneath, by index.
    Change(usize),
    /// A difference from the stock spec, by index.
    Difference(usize),
    /// A reading, by index.
    Reading(usize),
    /// A window, by index.
    Window(usize),
    /// The whole.
    Amplifier,
    /// A finding on the document beneath, by index.
    Hazard(usize),
    /// A finding of the rules before, by index: one that a plan brings.
    Introduced(usize),
    /// An acceptance, by index.
    Acceptance(usize),
}

/// A value.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number.
    Number(Number),
    /// It holds or not.
    Truth(bool),
    /// Text.
    Text(String),
    /// Figures for a message, of what is known by name: what a meter showed, the two ends of a window.
    Figures(Vec<f64>, Unit),
    /// A word of a closed list.
    Word(Cow<'static, str>),
    /// A thing.
    Thing(Thing),
    /// Several things.
    Group(Vec<Thing>),
    /// Not known, and what is missing: "the power rating of R41 is not stated".
    Unknown(String),
}

impl Number {
    /// A number without a window.
    pub fn plain(value: f64, basis: Basis) -> Number {
        Number { value, low: value, high: value, basis }
    }

    /// A solved number in the window that was worked out for it; without one, plain.
    pub fn within(value: f64, within: Option<Within>) -> Number {
        let plain = Number::plain(value, Basis::Solved);
        within.map_or(plain, |w| Number { low: w.low.min(value), high: w.high.max(value), ..plain })
    }

    /// Its size, with the window's.
    #[must_use]
    pub fn sized(self) -> Number {
        let (a, b) = (self.low.abs(), self.high.abs());
        let low = if self.low < 0.0 && self.high > 0.0 { 0.0 } else { a.min(b) };
        Number { value: self.value.abs(), low, high: a.max(b), ..self }
    }

    /// The same with a window of a share either way.
    #[must_use]
    pub fn spread(self, share: f64) -> Number {
        let wide = self.value.abs() * share;
        Number { low: self.value - wide, high: self.value + wide, ..self }
    }

    /// What `change` makes of value and window, where it never falls.
    #[must_use]
    pub fn mapped(self, change: impl Fn(f64) -> f64) -> Number {
        let ends = [change(self.low), change(self.high)];
        Number { value: change(self.value), low: ends[0].min(ends[1]), high: ends[0].max(ends[1]), ..self }
    }

    /// Arithmetic of two numbers with their windows; `None` for a division by nothing.
    pub fn arith(self, sign: Sign, other: Number) -> Option<Number> {
        let apply = |a: f64, b: f64| match sign {
            Sign::Plus => a + b,
            Sign::Minus => a - b,
            Sign::Times => a * b,
            Sign::Over => a / b,
        };
        let ends = [
            apply(self.low, other.low),
            apply(self.low, other.high),
            apply(self.high, other.low),
            apply(self.high, other.high),
        ];
        let value = apply(self.value, other.value);
        if !value.is_finite() || ends.iter().any(|e| e.is_nan()) {
            return None;
        }
        let crosses = sign == Sign::Over && other.low <= 0.0 && other.high >= 0.0;
        let low = if crosses { f64::NEG_INFINITY } else { ends.into_iter().fold(value, f64::min) };
        let high = if crosses { f64::INFINITY } else { ends.into_iter().fold(value, f64::max) };
        Some(Number { value, low, high, basis: self.basis.max(other.basis) })
    }
}

impl Value {
    /// A solved number.
    pub fn solved(value: f64) -> Value {
        Value::number(Number::plain(value, Basis::Solved))
    }

    /// A stated number.
    pub fn stated(value: f64) -> Value {
        Value::number(Number::plain(value, Basis::Stated))
    }

    /// A number, if it is one.
    pub fn number(number: Number) -> Value {
        if number.value.is_finite() {
            Value::Number(number)
        } else {
            Value::Unknown("a value is not a finite number".to_owned())
        }
    }

    /// A known value, or what is missing.
    pub fn known(value: Option<Value>, missing: impl FnOnce() -> String) -> Value {
        value.unwrap_or_else(|| Value::Unknown(missing()))
    }

    /// Whether it is unknown, and why.
    pub fn missing(&self) -> Option<&str> {
        match self {
            Value::Unknown(why) => Some(why),
            _ => None,
        }
    }
}

/// Compares two numbers by their values.
pub fn compare(sign: Comparator, a: f64, b: f64) -> bool {
    match sign {
        Comparator::Over => a > b,
        Comparator::Under => a < b,
        Comparator::AtLeast => a >= b,
        Comparator::AtMost => a <= b,
        Comparator::Equal => a == b,
    }
}

/// Prints a number for people: with so many digits and its unit, `71.4 %`, `4k7`; counts as they are.
pub fn printed(value: f64, dim: Dim, digits: usize) -> String {
    if dim.is_count() {
        return crate::units::significant(value, 6).to_string();
    }
    match dim.unit() {
        Some(unit) => crate::units::figure(value, unit, digits),
        None => format!("{} {}", crate::units::significant(value, digits), dim.words()),
    }
}
