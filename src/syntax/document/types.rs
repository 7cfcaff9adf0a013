//! Lines of type data: `tube-type ECC83 …` and those that follow it.

use pest::iterators::{Pair, Pairs};

use super::Walk;
use super::grammar::Rule;
use crate::source::{Problem, ProblemCode, Spanned};
use crate::syntax::tree::{TypeLine, TypeSaid, Word};
use crate::units::{Unit, parse_quantity};

impl Walk {
    /// One line of type data.
    pub(super) fn type_line(&mut self, rule: Rule, mut inner: Pairs<Rule>) -> Option<TypeSaid> {
        let keyword = inner.next()?;
        let line = TypeLine::ALL.into_iter().find(|line| line.word() == keyword.as_str())?;
        let mut said = TypeSaid {
            line: Spanned { value: line, span: self.span(&keyword) },
            name: self.word(&inner.next()?),
            construction: None,
            also: Vec::new(),
            base: None,
            values: Vec::new(),
            note: None,
        };
        for pair in inner {
            match pair.as_rule() {
                Rule::string => {
                    let note = self.word(&pair);
                    self.once(&mut said.note, note, "the quoted text");
                }
                Rule::also => said.also.extend(self.words(pair.into_inner(), Rule::type_name)),
                Rule::base => {
                    for word in self.words(pair.into_inner(), Rule::any_word) {
                        self.once(&mut said.base, word, "the base");
                    }
                }
                Rule::any_word => {
                    let word = self.word(&pair);
                    self.once(&mut said.construction, word, "the construction");
                }
                Rule::key => {
                    let key = self.word(&pair);
                    self.without_value(&mut said, key);
                }
                Rule::quantity => self.heater_value(&mut said, &pair),
                _ => self.named_value(&mut said, pair, rule),
            }
        }
        Some(said)
    }

    /// `plate 300V`, `a.plate 6`, `design-centre`.
    fn named_value(&mut self, said: &mut TypeSaid, pair: Pair<Rule>, rule: Rule) {
        let mut inner = pair.into_inner();
        let Some(key) = inner.next().map(|p| self.word(&p)) else { return };
        if let Some((old, _)) = said.values.iter().find(|(old, _)| old.value == key.value) {
            return self.twice(old.span, key.span, &format!("`{}`", key.value));
        }
        let Some(quantity) = inner.next() else { return self.without_value(said, key) };
        let Some(value) = self.any_value(&quantity) else { return };
        if rule == Rule::pins {
            let pin = value.value;
            if pin.unit.is_some()
                || pin.prefixed
                || pin.value.fract() != 0.0
                || !(1.0..=99.0).contains(&pin.value)
            {
                let problem = Problem::error(
                    ProblemCode::WrongValue,
                    value.span,
                    format!("not a pin's number: `{}`", quantity.as_str()),
                )
                .here("not a whole number from 1")
                .help("write `pins ECC83 a.plate 6 a.grid 7 …`");
                return self.push(problem);
            }
        }
        said.values.push((key, Some(value)));
    }

    /// A name without a value; a unit that has lost its number is none.
    fn without_value(&mut self, said: &mut TypeSaid, key: Word) {
        if parse_quantity(&format!("1{}", key.value)).is_ok() {
            let words = format!("`{}` stands alone", key.value);
            let problem = Problem::error(ProblemCode::UnexpectedWord, key.span, words)
                .here("a unit without a number")
                .help(format!("write it at its number: `1.5{}`", key.value));
            return self.push(problem);
        }
        said.values.push((key, None));
    }

    /// A value without a name: the heater's volts and amps.
    fn heater_value(&mut self, said: &mut TypeSaid, pair: &Pair<Rule>) {
        let Some(value) = self.any_value(pair) else { return };
        let key = match value.value.unit {
            Some(Unit::Volt) => "volts",
            Some(Unit::Amp) => "amps",
            _ => {
                let problem = Problem::error(ProblemCode::WrongValue, value.span, format!("not named: `{}`", pair.as_str()))
                    .here("which value is this?")
                    .help("a heater has volts and amps, `heater-data ECC83 6.3V 300mA`; other values have a name before them");
                return self.push(problem);
            }
        };
        let key: Word = Spanned { value: key.to_owned(), span: value.span };
        if let Some((old, _)) = said.values.iter().find(|(old, _)| old.value == key.value) {
            return self.twice(old.span, key.span, &format!("the {}", key.value));
        }
        said.values.push((key, Some(value)));
    }
}
