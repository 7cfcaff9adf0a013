//! What was found, what is planned and what was done: the verbs of layers.

use pest::iterators::{Pair, Pairs};

use super::grammar::Rule;
use super::value::Sign;
use super::{Walk, trade};
use crate::source::{Problem, ProblemCode, Spanned};
use crate::syntax::tree::{MeterSaid, Replacement, Said, Setting, Spec, Word};
use crate::units::{Quantity, Unit, parse_quantity};

impl Walk {
    /// A statement that begins with names: `R3 R4 checked`, `R40 lifted at B2`.
    pub(super) fn named(&mut self, inner: Pairs<Rule>) -> Option<Said> {
        let names = self.words(inner.clone(), Rule::place);
        let leg = self.first(inner.clone(), Rule::swapped_leg);
        let verb = inner.last()?;
        let rule = verb.as_rule();
        if let Some((word, help)) =
            names.first().and_then(|name| Some((name, trade::of_a_joint(&name.value)?)))
        {
            let problem =
                Problem::error(ProblemCode::UnknownVerb, word.span, format!("not said so: `{}`", word.value));
            self.push(problem.here("a word of the bench").help(help));
            return None;
        }
        if let Some(leg) = leg.as_ref().filter(|_| rule != Rule::swapped) {
            let problem =
                Problem::error(ProblemCode::LegAfterName, leg.span, format!("not said so: `{}`", leg.value))
                    .here("a leg follows its part after a point")
                    .help(format!(
                        "write `{}.{}`",
                        names.last().map_or("R1", |n| n.value.as_str()),
                        leg.value
                    ));
            self.push(problem);
            return None;
        }
        if rule == Rule::checked {
            return Some(Said::Checked(names));
        }
        let mut names = names.into_iter();
        let name = names.next()?;
        if let Some(second) = names.next() {
            let word = verb.as_str().split_whitespace().next().unwrap_or("this");
            let problem = Problem::error(
                ProblemCode::OneName,
                second.span,
                format!("not more than one name before `{word}`"),
            )
            .here("a second name")
            .help(format!("write one line for each: `{} {}`", name.value, verb.as_str()));
            self.push(problem);
            return None;
        }
        self.of_one(name, leg, &verb)
    }

    /// A verb about one part, leg or section.
    fn of_one(&mut self, part: Word, leg: Option<Word>, verb: &Pair<Rule>) -> Option<Said> {
        let inner = verb.clone().into_inner();
        let note = self.note(&inner);
        let has = |rule: Rule| inner.clone().any(|p| p.as_rule() == rule);
        Some(match verb.as_rule() {
            Rule::reads => {
                let quantity = inner.clone().find(|p| p.as_rule() == Rule::quantity)?;
                let value = self.reading(&quantity)?;
                Said::Reads { part, value, in_circuit: has(Rule::in_circuit), note }
            }
            Rule::leaks => {
                let mut values = inner.clone().filter(|p| p.as_rule() == Rule::quantity);
                let (amps, volts) = (values.next()?, values.next()?);
                let amps = self.value(&amps, Unit::Amp, Sign::Above);
                let volts = self.value(&volts, Unit::Volt, Sign::Above);
                Said::Leaks { part, amps: amps?, volts: volts?, to: self.first(inner, Rule::place), note }
            }
            Rule::missing => Said::Missing { part, snipped: has(Rule::k_snipped), note },
            Rule::replaced => {
                let (by, note) = self.replacement(inner)?;
                Said::Replaced { change: false, part, by, note }
            }
            Rule::lifted => Said::Lifted { what: part, at: self.first(inner, Rule::place), note },
            Rule::moved => Said::Moved { plan: false, leg: part, to: self.first(inner, Rule::place)?, note },
            Rule::swapped => Said::Swapped { part, leg, with: self.first(inner, Rule::any_word)?, note },
            Rule::reversed => Said::Reversed { part, note },
            Rule::shorted => Said::Shorted { part, to: self.first(inner, Rule::place), note },
            Rule::used => Said::Used { section: part, group: self.group(inner) },
            _ => {
                let mut legs = Vec::new();
                for clause in inner.filter(|p| matches!(p.as_rule(), Rule::leg | Rule::plates)) {
                    for (leg, place) in self.joins(&clause) {
                        self.leg(&mut legs, leg, place);
                    }
                }
                legs.sort_by_key(|leg| super::legs::electrode_rank(&leg.leg.value));
                Said::Unused { section: part, legs }
            }
        })
    }

    /// The quoted name of `in "extra stage"`.
    fn group(&self, mut inner: Pairs<Rule>) -> Option<Word> {
        inner.find(|p| p.as_rule() == Rule::in_group).and_then(|p| self.first(p.into_inner(), Rule::string))
    }

    /// A meter's figure of a part's value: its unit as written, zero or above.
    fn reading(&mut self, pair: &Pair<Rule>) -> Option<Spanned<Quantity>> {
        let value = self.any_value(pair)?;
        if value.value.value < 0.0 {
            let problem = Problem::error(
                ProblemCode::ValueOutOfRange,
                value.span,
                format!("`{}` can't be: a part's value is zero or above", pair.as_str()),
            )
            .here("below zero")
            .help("write what the meter shows, like 131k or 22n");
            self.push(problem);
            return None;
        }
        Some(value)
    }

    /// By what a part is replaced, and the remark.
    fn replacement(&mut self, inner: Pairs<Rule>) -> Option<(Replacement, Option<Word>)> {
        let mut note = None;
        if let Some(several) = inner.clone().find(|p| p.as_rule() == Rule::by_several) {
            let inner = several.into_inner();
            let series = inner.clone().any(|p| p.as_rule() == Rule::k_series);
            let mut bodies: Vec<(Word, Spec)> = Vec::new();
            for body in inner.filter(|p| p.as_rule() == Rule::body) {
                let mut inner = body.into_inner();
                let name = self.word(&inner.next()?);
                let spec = self.body(inner, &mut note);
                match bodies.iter().find(|(old, _)| old.value == name.value) {
                    Some((old, _)) => self.twice(old.span, name.span, "this name"),
                    None => bodies.push((name, spec)),
                }
            }
            if let [(only, _)] = bodies.as_slice() {
                let problem = Problem::error(ProblemCode::OnePart, only.span, "not several: one part")
                    .here("alone")
                    .help("write what replaces it, `R9 replaced 5k6 0.5W`, or the others after a comma");
                self.push(problem);
            }
            let by = if series { Replacement::Series(bodies) } else { Replacement::Parallel(bodies) };
            return Some((by, note));
        }
        let clauses = inner
            .filter(|p| !matches!(p.as_rule(), Rule::k_replaced | Rule::k_change | Rule::k_to | Rule::name));
        let spec = self.body(clauses, &mut note);
        Some((Replacement::One(spec), note))
    }

    /// A body whose kind is that of the part it replaces, not known here.
    fn body<'a>(&mut self, clauses: impl Iterator<Item = Pair<'a, Rule>>, note: &mut Option<Word>) -> Spec {
        let mut spec = Spec::default();
        for clause in clauses {
            if clause.as_rule() == Rule::string {
                let text = self.word(&clause);
                self.once(note, text, "the quoted remark");
            } else {
                self.clause(&mut spec, None, &clause);
            }
        }
        self.unknown_or_value(&spec);
        spec
    }

    /// A layer's statement that begins with its verb.
    pub(super) fn worked(&mut self, rule: Rule, inner: Pairs<Rule>) -> Option<Said> {
        let note = self.note(&inner);
        let mut places = self.words(inner.clone(), Rule::place).into_iter();
        let mut names = self.words(inner.clone(), Rule::name).into_iter();
        let all = inner.clone().any(|p| p.as_rule() == Rule::k_all);
        Some(match rule {
            Rule::added => {
                let fit = inner.clone().any(|p| p.as_rule() == Rule::k_fit);
                let group = self.group(inner.clone());
                let part = inner.clone().find(|p| p.as_rule() == Rule::part_added)?;
                Said::Added { fit, part: self.part(part.into_inner())?, group }
            }
            Rule::joined => Said::Joined { leg: places.next()?, to: places.next()?, note },
            Rule::cut => Said::Cut { net: places.next()?, legs: places.collect(), new: names.next()?, note },
            Rule::bridged => self.bridged(&inner, note)?,
            Rule::meter => Said::Meter(self.meter(inner)?),
            Rule::set => self.set(inner)?,
            Rule::restore => {
                let names: Vec<Word> = names.collect();
                if all {
                    Said::Restore { names: Vec::new(), all, except: names }
                } else {
                    Said::Restore { names, all, except: Vec::new() }
                }
            }
            Rule::change => {
                let part = names.next()?;
                let (by, note) = self.replacement(inner)?;
                Said::Replaced { change: true, part, by, note }
            }
            Rule::move_line => Said::Moved { plan: true, leg: places.next()?, to: places.next()?, note },
            Rule::remove => match inner.clone().find(|p| p.as_rule() == Rule::group) {
                Some(group) => {
                    Said::Remove { name: self.first(group.into_inner(), Rule::string)?, group: true, note }
                }
                None => Said::Remove { name: names.next()?, group: false, note },
            },
            Rule::rejoin => Said::Rejoin { new: names.next()?, to: names.next()?, note },
            Rule::accept => {
                let because = inner.clone().find(|p| p.as_rule() == Rule::because)?;
                Said::Accept {
                    rule: self.first(inner.clone(), Rule::any_word)?,
                    on: places.next(),
                    because: self.reason(because)?,
                }
            }
            Rule::done => {
                let groups = inner.clone().filter(|p| p.as_rule() == Rule::group);
                let groups: Vec<Word> =
                    groups.filter_map(|g| self.first(g.into_inner(), Rule::string)).collect();
                Said::Done { names: names.chain(groups).collect(), all }
            }
            _ => return None,
        })
    }

    fn bridged(&mut self, inner: &Pairs<Rule>, note: Option<Word>) -> Option<Said> {
        let mut places = self.words(inner.clone(), Rule::place).into_iter();
        let clause = |rule: Rule| inner.clone().find(|p| p.as_rule() == rule);
        let wire = clause(Rule::with_wire).and_then(|p| self.first(p.into_inner(), Rule::name));
        let through = clause(Rule::through).and_then(|p| self.only_value(&p, Unit::Ohm, Sign::Above));
        if let (Some(wire), Some(through)) = (&wire, &through) {
            let problem = Problem::error(
                ProblemCode::SaidTwice,
                through.span,
                "not both: a wire and a carbonised path",
            )
            .here("another way")
            .also(wire.span, "a wire")
            .help("write one line for each; a resistor that was put in is `added resistor …`");
            self.push(problem);
        }
        Some(Said::Bridged { a: places.next()?, b: places.next()?, wire, through, note })
    }

    fn set(&mut self, inner: Pairs<Rule>) -> Option<Said> {
        let control = self.first(inner.clone(), Rule::name)?;
        let to = inner.last()?;
        let text = to.as_str();
        let word = text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
        let setting = if to.as_rule() == Rule::any_word || (word && !text.starts_with('-')) {
            Setting::Position(self.word(&to))
        } else {
            Setting::Turn(self.share(&to)?)
        };
        Some(Said::Set { control, to: setting })
    }

    fn meter(&mut self, inner: Pairs<Rule>) -> Option<MeterSaid> {
        let mut places = self.words(inner.clone(), Rule::place).into_iter();
        let (place, to) = (places.next()?, places.next());
        let figure = inner.clone().find(|p| p.as_rule() == Rule::quantity)?;
        let amps = parse_quantity(figure.as_str()).is_ok_and(|q| q.unit == Some(Unit::Amp));
        let value = self.value(&figure, if amps { Unit::Amp } else { Unit::Volt }, Sign::Any)?;
        if let (true, Some(to)) = (amps, &to) {
            let problem = Problem::error(
                ProblemCode::CurrentBetweenPlaces,
                value.span,
                "not a voltage: a current has one place",
            )
            .here("a current")
            .also(to.span, "a second place")
            .help("write `meter LEG 22mA`: the current into that leg");
            self.push(problem);
        }
        let mut ac = None;
        let (mut hertz, mut condition, mut note) = (None, None, None);
        let mut with: Option<Spanned<(Option<_>, Option<_>)>> = None;
        for clause in inner {
            let span = self.span(&clause);
            match clause.as_rule() {
                Rule::k_ac => self.mark(&mut ac, span, "`ac`"),
                Rule::at => {
                    if let Some(value) = self.only_value(&clause, Unit::Hertz, Sign::Above) {
                        self.once(&mut hertz, value, "the frequency");
                    }
                }
                Rule::in_condition => {
                    for word in self.words(clause.into_inner(), Rule::any_word) {
                        self.once(&mut condition, word, "the condition");
                    }
                }
                Rule::string => {
                    let text = self.word(&clause);
                    self.once(&mut note, text, "the quoted remark");
                }
                Rule::with_meter => {
                    let value = self.instrument(clause.into_inner());
                    self.once(&mut with, Spanned { value, span }, "the meter");
                }
                _ => {}
            }
        }
        if let (None, Some(hertz)) = (ac, &hertz) {
            let problem = Problem::error(ProblemCode::NotOfThisPart, hertz.span, "not of DC: a frequency")
                .here("of which alternating volts?")
                .help("write `ac` before it: `meter T2.8R 3.1V ac at 1kHz`");
            self.push(problem);
        }
        let with = with.map_or((None, None), |w| w.value);
        Some(MeterSaid { place, to, value, ac: ac.is_some(), hertz, condition, with, note })
    }

    /// `with 1% 10M`: accuracy and input resistance, either or both.
    fn instrument(&mut self, inner: Pairs<Rule>) -> (Option<Spanned<Quantity>>, Option<Spanned<Quantity>>) {
        let (mut accuracy, mut ohms) = (None, None);
        for quantity in inner.filter(|p| p.as_rule() == Rule::quantity) {
            if quantity.as_str().ends_with('%') {
                if let Some(value) = self.share(&quantity) {
                    if value.value.value == 0.0 {
                        let problem = Problem::error(
                            ProblemCode::WrongValue,
                            value.span,
                            "not an accuracy: no meter is exact",
                        )
                        .help("write what its maker states, like `with 1% 10M`");
                        self.push(problem);
                    }
                    self.once(&mut accuracy, value, "the meter's accuracy");
                }
            } else if let Some(value) = self.value(&quantity, Unit::Ohm, Sign::Above) {
                self.once(&mut ohms, value, "the meter's resistance");
            }
        }
        (accuracy, ohms)
    }
}
