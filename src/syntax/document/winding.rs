//! Windings: `winding T1.ht 330V-0-330V 62R a side taps bias 52V from a`, or by volts with and without load.

use pest::iterators::{Pair, Pairs};

use super::Walk;
use super::grammar::Rule;
use super::value::Sign;
use crate::source::{Problem, ProblemCode, Span, Spanned};
use crate::syntax::tree::{LegSaid, Value, WindingSaid, Word};
use crate::units::{Unit, parse_quantity};

/// What has been said of a winding so far.
#[derive(Default)]
struct Wound {
    volts: Option<Value>,
    centre_tapped: bool,
    unloaded: Option<Value>,
    ohms: Option<Value>,
    amps: Option<Value>,
    side: Option<Span>,
    taps: Vec<(Word, Value, Word)>,
    legs: Vec<LegSaid>,
}

impl Walk {
    /// A winding's name, volts, wire, taps and ends.
    pub(super) fn winding(&mut self, inner: Pairs<Rule>) -> Option<WindingSaid> {
        let name = self.first(inner.clone(), Rule::place)?;
        if !name.value.contains('.') {
            let problem = Problem::error(
                ProblemCode::NoWindingName,
                name.span,
                "not a winding: its own name is missing",
            )
            .here("no winding's name after the point")
            .help("write `winding T1.ht 330V-0-330V 62R a side`");
            self.push(problem);
        }
        let before = self.problems.len();
        let mut said = Wound::default();
        for pair in inner.skip(2) {
            match pair.as_rule() {
                Rule::quantity => self.wound(&mut said, &pair),
                Rule::current => {
                    if let Some(amps) = self.only_value(&pair, Unit::Amp, Sign::Above) {
                        self.once(&mut said.amps, amps, "the current rating");
                    }
                }
                Rule::unloaded => {
                    if let Some(volts) = self.only_value(&pair, Unit::Volt, Sign::Above) {
                        self.once(&mut said.unloaded, volts, "the `unloaded` voltage");
                    }
                }
                Rule::side => {
                    let span = self.span(&pair);
                    self.mark(&mut said.side, span, "`a side`");
                }
                Rule::winding_taps => self.winding_taps(&mut said, pair.into_inner()),
                _ => {
                    for (mut leg, place) in self.joins(&pair) {
                        leg.value = match leg.value.as_str() {
                            "from" => "a".to_owned(),
                            "to" => "b".to_owned(),
                            other => other.to_owned(),
                        };
                        self.leg(&mut said.legs, leg, place);
                    }
                }
            }
        }
        said.legs.sort_by_key(|leg| ["a", "b", "centre"].iter().position(|l| *l == leg.leg.value));
        let Some(volts) = said.volts else {
            if self.problems.len() > before {
                return None;
            }
            let problem =
                Problem::error(ProblemCode::NoVoltage, name.span, "not told: the winding's voltage")
                    .here("how many volts?")
                    .help("write `winding T1.heat 6.3V 0R05` or `winding T1.ht 330V-0-330V 62R a side`");
            self.push(problem);
            return None;
        };
        self.side_said(&said, name.span);
        self.unloaded_said(&said, &volts, name.span);
        let Wound { unloaded, ohms, amps, taps, legs, centre_tapped, .. } = said;
        Some(WindingSaid { name, volts, centre_tapped, unloaded, ohms, amps, taps, legs })
    }

    /// Whether the resistance is of one half or of the whole must be plain.
    fn side_said(&mut self, said: &Wound, name: Span) {
        match (said.centre_tapped, said.side, said.ohms) {
            (true, None, Some(ohms)) => {
                let problem = Problem::notice(
                    ProblemCode::SideAssumed,
                    ohms.span,
                    "not told: of one side or of the whole winding",
                )
                .here("taken as that of each side")
                .help("write `62R a side`");
                self.push(problem);
            }
            (false, Some(side), _) => {
                let problem =
                    Problem::error(ProblemCode::NoSides, side, "not a side: the winding has no centre tap")
                        .here("of which side?")
                        .also(name, "this winding")
                        .help("write `330V-0-330V 62R a side`, or leave `a side` out");
                self.push(problem);
            }
            _ => {}
        }
    }

    /// `unloaded` stands for the resistance: it needs the current it is lost at, and more volts than with the load.
    fn unloaded_said(&mut self, said: &Wound, volts: &Value, name: Span) {
        let Some(unloaded) = &said.unloaded else { return };
        let problem = match (&said.ohms, &said.amps) {
            (Some(ohms), _) => {
                Problem::error(ProblemCode::SaidTwice, ohms.span, "`unloaded` tells the resistance already")
                    .here("the resistance a second time")
                    .also(unloaded.span, "first here")
                    .help("give one of the two")
            }
            (None, None) => Problem::error(
                ProblemCode::NoCurrent,
                unloaded.span,
                "not told: at what current the volts fall",
            )
            .here("down to the full-load volts at how many amps?")
            .also(name, "this winding")
            .help("add the winding's rated current: `current 150mA`"),
            (None, Some(_)) if unloaded.value.value < volts.value.value => Problem::error(
                ProblemCode::WrongValue,
                unloaded.span,
                "not unloaded: below the volts at full load",
            )
            .here("less than with a load")
            .also(volts.span, "the volts at full load")
            .help("write the full-load volts first: `winding T1.ht 330V-0-330V unloaded 355V current 150mA`"),
            (None, Some(_)) => return,
        };
        self.push(problem);
    }

    fn wound(&mut self, said: &mut Wound, pair: &Pair<Rule>) {
        let text = pair.as_str();
        let span = self.span(pair);
        if let Some((one, other)) = text.split_once("-0-") {
            let sides = (parse_quantity(one), parse_quantity(other));
            match sides {
                (Ok(a), Ok(b)) if a.value == b.value && b.unit == Some(Unit::Volt) => {
                    said.centre_tapped = true;
                    if let Some(volts) =
                        self.settled(text, Spanned { value: b, span }, Unit::Volt, Sign::Above)
                    {
                        self.once(&mut said.volts, volts, "the winding's voltage");
                    }
                }
                _ => {
                    let problem = Problem::error(
                        ProblemCode::WrongValue,
                        span,
                        format!("not a winding's voltage: `{text}`"),
                    )
                    .here("both halves have the same volts")
                    .help("write `330V-0-330V`");
                    self.push(problem);
                }
            }
            return;
        }
        let unit = match parse_quantity(text).ok().and_then(|q| q.unit) {
            Some(unit @ (Unit::Amp | Unit::Volt | Unit::Ohm)) => unit,
            _ if said.volts.is_none() => Unit::Volt,
            _ => Unit::Ohm,
        };
        let Some(value) = self.value(pair, unit, Sign::Above) else { return };
        match unit {
            Unit::Volt => self.once(&mut said.volts, value, "the winding's voltage"),
            Unit::Amp => self.once(&mut said.amps, value, "the current rating"),
            _ => self.once(&mut said.ohms, value, "the winding's resistance"),
        }
    }

    fn winding_taps(&mut self, said: &mut Wound, inner: Pairs<Rule>) {
        for tap in inner.filter(|p| p.as_rule() == Rule::winding_tap) {
            let inner = tap.clone().into_inner();
            let name = self.first(inner.clone(), Rule::word);
            let end = self.first(inner, Rule::any_word);
            let volts = self.only_value(&tap, Unit::Volt, Sign::Above);
            let (Some(name), Some(end), Some(volts)) = (name, end, volts) else { continue };
            match said.taps.iter().find(|(old, ..)| old.value == name.value) {
                Some((old, ..)) => self.twice(old.span, name.span, "this tap"),
                None => said.taps.push((name, volts, end)),
            }
        }
    }
}
