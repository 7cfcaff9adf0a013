//! Which way a limit is the laxer one, from how a rule compares with it.
//!
//! ```text
//! `danger to people when volts(c) > limit and ohms(c) < 2 * limit`, limit 50, asked for 60:
//! volts(c) > limit     comes to hold less as the limit grows: down
//! ohms(c) < 2 * limit  2 is positive: up; comes to hold more: up
//! both                 either way: no figure but 50 can be proven harmless, refused as "can't tell"
//! with the first alone 60 is laxer (refused) and 40 is stricter (taken)
//! ```

use super::ast::{Comparator, Gather, Sign};
use super::compile::{Code, Operand};
use super::dimension::{Dim, Ty};
use super::functions::Gives;
use super::rule::{Filter, Rule};

/// Why another figure for a limit of a danger to people is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Refused {
    /// It flags less.
    Laxer,
    /// Which way flags less can't be told.
    CannotTell,
}

/// Whether a figure for a limit could take a danger to people away that the rule as written tells.
pub(crate) fn laxer(rule: &Rule, limit: usize, value: f64) -> Option<Refused> {
    let written = rule.limits[limit].written;
    let slope = Slopes { limit, rule }.of_danger();
    match slope {
        // Before all else: a limit that no danger depends on may be anything.
        Slope::Flat => None,
        _ if value == written => None,
        Slope::Up if value < written => Some(Refused::Laxer),
        Slope::Down if value > written => Some(Refused::Laxer),
        Slope::Up | Slope::Down => None,
        Slope::Either => Some(Refused::CannotTell),
    }
}

/// How something moves when the limit grows; of a truth, whether it can only come to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Slope {
    Flat,
    Up,
    Down,
    Either,
}

impl Slope {
    fn with(self, other: Slope) -> Slope {
        match (self, other) {
            (Slope::Flat, x) | (x, Slope::Flat) => x,
            (a, b) if a == b => a,
            _ => Slope::Either,
        }
    }

    fn turned(self) -> Slope {
        match self {
            Slope::Up => Slope::Down,
            Slope::Down => Slope::Up,
            same => same,
        }
    }

    /// Something that depends on it in a way that isn't known.
    fn somehow(self) -> Slope {
        if self == Slope::Flat { Slope::Flat } else { Slope::Either }
    }

    /// Times something of this sign, which does not move.
    fn times(self, sign: Option<bool>) -> Slope {
        match sign {
            Some(true) => self,
            Some(false) => self.turned(),
            None => self.somehow(),
        }
    }
}

struct Slopes<'r> {
    limit: usize,
    rule: &'r Rule,
}

impl Slopes<'_> {
    /// Of everything that decides whether the rule tells a danger to people.
    fn of_danger(&self) -> Slope {
        let of = |slope: Slope, filter: &Filter| slope.with(self.of(&filter.code));
        let filters = self.rule.asks().filters.iter().fold(Slope::Flat, of);
        let lines = self.rule.asks().levels.iter().filter(|line| line.severity.to_people).map(|line| {
            let slope = self.of(&line.code);
            // What is required and not so is the danger: it is told where the line does not hold.
            if line.required { slope.turned() } else { slope }
        });
        lines.fold(filters, Slope::with)
    }

    fn all(&self, codes: &[Code]) -> Slope {
        codes.iter().map(|code| self.of(code)).fold(Slope::Flat, Slope::with)
    }

    fn of(&self, code: &Code) -> Slope {
        match code {
            Code::Limit(index) if *index == self.limit => Slope::Up,
            Code::Number(_)
            | Code::Text(_)
            | Code::Word(_)
            | Code::Condition
            | Code::Variable(_)
            | Code::Limit(_)
            | Code::Each(_) => Slope::Flat,
            // A function may fall as its argument rises; none states which, so nothing is assumed.
            Code::Call(_, args) => self.all(args).somehow(),
            Code::Past(_, body) => self.of(body),
            Code::Not(body) | Code::Negate(body) => self.of(body).turned(),
            // Both only come to hold where one of theirs does: the same for either.
            Code::And(all) | Code::Or(all) => self.all(all),
            Code::Is { value, .. } => self.of(value).somehow(),
            Code::Compare { sign, a, b } => self.compared(*sign, a, b),
            Code::Range { outside, value, low, high } => {
                let edges = self.of(&low.code).with(self.of(&high.code).turned());
                let edges = if *outside { edges } else { edges.turned() };
                self.of(&value.code).somehow().with(edges)
            }
            Code::Arith { sign, a, b } => self.worked(*sign, a, b),
            Code::Gather { how, body, group, filter, .. } => {
                let filter = filter.as_ref().map_or(Slope::Flat, |filter| self.of(filter));
                gathered(*how, self.of(body), filter).with(self.of(group).somehow())
            }
        }
    }

    fn compared(&self, sign: Comparator, a: &Operand, b: &Operand) -> Slope {
        let rising = self.of(&a.code).with(self.of(&b.code).turned());
        match sign {
            Comparator::Over | Comparator::AtLeast => rising,
            Comparator::Under | Comparator::AtMost => rising.turned(),
            Comparator::Equal => rising.somehow(),
        }
    }

    fn worked(&self, sign: Sign, a: &Code, b: &Code) -> Slope {
        let (x, y) = (self.of(a), self.of(b));
        match (sign, x, y) {
            (Sign::Plus, ..) => x.with(y),
            (Sign::Minus, ..) => x.with(y.turned()),
            // By a divisor that moves anything may happen, by one that does not only its sign counts.
            (Sign::Times | Sign::Over, _, Slope::Flat) => x.times(self.positive(b)),
            (Sign::Times, Slope::Flat, _) => y.times(self.positive(a)),
            _ => Slope::Either,
        }
    }

    /// Whether a value is never negative, or never positive; `None` where that can't be told.
    fn positive(&self, code: &Code) -> Option<bool> {
        match code {
            Code::Number(number) => Some(number.value >= 0.0),
            Code::Limit(index) => Some(self.rule.limits[*index].value.value >= 0.0),
            Code::Negate(body) => self.positive(body).map(|positive| !positive),
            Code::Past(_, body) => self.positive(body),
            Code::Arith { sign: Sign::Times | Sign::Over, a, b } => {
                Some(self.positive(a)? == self.positive(b)?)
            }
            Code::Call(function, _) => {
                // Volts and amperes have signs; ohms, farads, seconds and the watts of a part have none.
                let never_negative = [Dim::OHM, Dim::FARAD, Dim::WATT, Dim::SECOND];
                let dim =
                    matches!(function.gives, Gives::Ty(Ty::Number(dim)) if never_negative.contains(&dim));
                (dim || function.name.starts_with("rated-")).then_some(true)
            }
            _ => None,
        }
    }
}

/// How what is gathered over a set goes where its body and its filter go somewhere.
fn gathered(how: Gather, body: Slope, filter: Slope) -> Slope {
    match how {
        Gather::Any | Gather::Count | Gather::Highest => body.with(filter),
        Gather::Every | Gather::Lowest => body.with(filter.turned()),
        Gather::None => body.with(filter).turned(),
        Gather::Sum => body.with(filter.somehow()),
    }
}
