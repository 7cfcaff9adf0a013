//! What is said of a part's body, in free order, to a [`Spec`].

use pest::iterators::Pair;

use super::grammar::Rule;
use super::legs::{electrode_help, leg_names};
use super::value::{Sign, examples, looks_like_type, plain, tolerance, type_or_value};
use super::{Walk, an};
use crate::model::{Construction, Kind, Taper};
use crate::source::{Problem, ProblemCode, Span, Spanned, nearest};
use crate::syntax::tree::{Spec, Value, Word};
use crate::syntax::words::{KindWord, Slot, body_words};
use crate::units::{Quantity, Unit, parse_quantity};

impl Walk {
    /// One clause of a part's body; whether it was one. `kind` is `None` for a replacement.
    pub(super) fn clause(&mut self, spec: &mut Spec, kind: Option<Kind>, pair: &Pair<Rule>) {
        let span = self.span(pair);
        let text = pair.as_str();
        let slot = match pair.as_rule() {
            Rule::quantity => return self.quantity(spec, kind, pair),
            Rule::bare => return self.bare(spec, kind, text, span),
            Rule::k_unknown => return self.mark(&mut spec.unknown, span, "`unknown`"),
            Rule::made => return self.made(&mut spec.made, pair),
            Rule::current => return self.current(spec, kind, pair),
            Rule::construction => Slot::Construction,
            Rule::taper => Slot::Taper,
            Rule::speed => Slot::Speed,
            Rule::k_steady => Slot::Steady,
            Rule::k_two_core => Slot::TwoCore,
            Rule::side | Rule::in_phase | Rule::primary | Rule::taps => Slot::Windings,
            Rule::behind => Slot::Behind,
            Rule::unloaded => Slot::Unloaded,
            Rule::at => Slot::At,
            Rule::tap => Slot::Tap,
            Rule::ganged => Slot::Ganged,
            Rule::positions | Rule::now => Slot::Positions,
            Rule::normals => Slot::Normals,
            _ => Slot::On,
        };
        if self.taken(kind, slot, span) {
            match slot {
                Slot::Windings => self.winding_clause(spec, kind, pair),
                Slot::Behind | Slot::Unloaded | Slot::At | Slot::Tap => self.valued_clause(spec, pair),
                Slot::Construction | Slot::Taper | Slot::Speed | Slot::Steady | Slot::TwoCore => {
                    self.word_clause(spec, pair);
                }
                _ => self.named_clause(spec, pair),
            }
        }
    }

    fn word_clause(&mut self, spec: &mut Spec, pair: &Pair<Rule>) {
        let span = self.span(pair);
        match pair.as_rule() {
            Rule::construction => {
                let value = construction(pair.as_str());
                self.once(&mut spec.construction, Spanned { value, span }, "the construction");
            }
            Rule::taper => {
                let value = taper(pair.as_str());
                self.once(&mut spec.taper, Spanned { value, span }, "the taper");
            }
            Rule::k_steady => self.mark(&mut spec.steady, span, "`steady`"),
            Rule::k_two_core => self.mark(&mut spec.two_core, span, "`two-core`"),
            _ => self.once(&mut spec.speed, self.word(pair), "`slow` or `fast`"),
        }
    }

    fn valued_clause(&mut self, spec: &mut Spec, pair: &Pair<Rule>) {
        let mut inner = pair.clone().into_inner();
        let Some(quantity) = inner.find(|p| p.as_rule() == Rule::quantity) else { return };
        match pair.as_rule() {
            Rule::behind => {
                if let Some(value) = self.value(&quantity, Unit::Ohm, Sign::NotBelow) {
                    self.once(&mut spec.ohms, value, "the `behind` resistance");
                }
            }
            Rule::unloaded => {
                if let Some(value) = self.value(&quantity, Unit::Volt, Sign::Above) {
                    self.once(&mut spec.unloaded, value, "the `unloaded` voltage");
                }
            }
            Rule::at => {
                if let Some(value) = self.share(&quantity) {
                    self.once(&mut spec.at, value, "the shaft position");
                }
            }
            _ => {
                let to = self.words(inner, Rule::place).into_iter().next();
                if let Some(value) = self.share(&quantity) {
                    spec.taps.push((value, to));
                }
            }
        }
    }

    /// A share from 0 to 100 %.
    pub(super) fn share(&mut self, pair: &Pair<Rule>) -> Option<Value> {
        let value = self.value(pair, Unit::Ratio, Sign::NotBelow)?;
        if value.value.value > 1.0 {
            let problem = Problem::error(
                ProblemCode::ValueOutOfRange,
                value.span,
                format!("`{}` can't be: a position goes from 0% to 100%", pair.as_str()),
            )
            .here("more than 100%")
            .help("write a position like 60%");
            self.push(problem);
            return None;
        }
        Some(value)
    }

    fn winding_clause(&mut self, spec: &mut Spec, kind: Option<Kind>, pair: &Pair<Rule>) {
        let span = self.span(pair);
        match pair.as_rule() {
            Rule::side => self.mark(&mut spec.a_side, span, "`a side`"),
            Rule::in_phase => self.mark(&mut spec.in_phase, span, "`in phase`"),
            Rule::primary => {
                for quantity in pair.clone().into_inner().filter(|p| p.as_rule() == Rule::quantity) {
                    if let Some(mut value) = self.value(&quantity, Unit::Ohm, Sign::Above) {
                        if kind.is_none() {
                            value.value = plain(value.value);
                        }
                        self.once(&mut spec.value, value, "the primary's impedance");
                    }
                }
            }
            _ => {
                for quantity in pair.clone().into_inner().filter(|p| p.as_rule() == Rule::quantity) {
                    let Some(value) = self.value(&quantity, Unit::Ohm, Sign::Above) else { continue };
                    match spec.output_taps.iter().find(|old| old.value.value == value.value.value) {
                        Some(old) => self.twice(old.span, value.span, "this tap"),
                        None => spec.output_taps.push(value),
                    }
                }
            }
        }
    }

    fn named_clause(&mut self, spec: &mut Spec, pair: &Pair<Rule>) {
        let inner = pair.clone().into_inner();
        match pair.as_rule() {
            Rule::positions => {
                for word in self.words(inner, Rule::position) {
                    match spec.positions.iter().find(|old| old.value == word.value) {
                        Some(old) => self.twice(old.span, word.span, "this position"),
                        None => spec.positions.push(word),
                    }
                }
            }
            Rule::now => {
                for word in self.words(inner, Rule::any_word) {
                    self.once(&mut spec.now, word, "the position it stands in");
                }
            }
            Rule::ganged => {
                for word in self.words(inner, Rule::name) {
                    self.once(&mut spec.ganged, word, "`ganged with`");
                }
            }
            Rule::normals => {
                let contact = self.words(inner.clone(), Rule::leg_word).into_iter().next();
                let place = self.words(inner, Rule::place).into_iter().next();
                if let Some((contact, place)) = contact.zip(place) {
                    self.normal(spec, contact, place);
                }
            }
            _ => {
                for word in self.words(inner, Rule::name) {
                    self.once(&mut spec.on, word, "`on`");
                }
            }
        }
    }

    /// A jack's switch contact, which opens as a plug goes in; the leg it touches is no contact.
    fn normal(&mut self, spec: &mut Spec, contact: Word, place: Word) {
        if let Some((old, _)) = spec.normals.iter().find(|(old, _)| old.value == contact.value) {
            return self.twice(old.span, contact.span, "this contact");
        }
        if !contact.value.ends_with("-contact") {
            let problem = Problem::error(
                ProblemCode::UnknownLeg,
                contact.span,
                format!("not a switch contact: `{}`", contact.value),
            )
            .here("no contact that a plug opens")
            .help("write `normals tip-contact to PLACE`; legs are joined by their own words, as `tip PLACE`");
            return self.push(problem);
        }
        spec.normals.push((contact, place));
    }

    fn current(&mut self, spec: &mut Spec, kind: Option<Kind>, pair: &Pair<Rule>) {
        for quantity in pair.clone().into_inner().filter(|p| p.as_rule() == Rule::quantity) {
            if let Some(value) = self.value(&quantity, Unit::Amp, Sign::Above) {
                self.rated(spec, kind, quantity.as_str(), value);
            }
        }
    }

    fn made(&mut self, slot: &mut Option<Spanned<u32>>, pair: &Pair<Rule>) {
        let Some(quantity) = pair.clone().into_inner().find(|p| p.as_rule() == Rule::quantity) else {
            return;
        };
        if let Some(year) = self.year(&quantity) {
            self.once(slot, year, "the year of make");
        }
    }

    fn quantity(&mut self, spec: &mut Spec, kind: Option<Kind>, pair: &Pair<Rule>) {
        let span = self.span(pair);
        let text = pair.as_str();
        let quantity = parse_quantity(text);
        let takes_type = kind.is_none_or(|k| KindWord::of(k).takes.contains(&Slot::TypeName));
        // A type's name may begin with a digit, and even be a number: 5Y3GT, 6550. A replacement's `6550A` may be a valve
        // or a value: it stays as written until the part that it replaces tells.
        let named = takes_type && spec.type_name.is_none() && text.starts_with(|c: char| c.is_ascii_digit());
        let first = spec.value.is_none() && spec.volts.is_none() && spec.amps.is_none();
        let type_alone = kind == Some(Kind::Tube) || (kind.is_none() && first && type_or_value(text));
        if named && (type_alone || (quantity.is_err() && looks_like_type(text))) {
            spec.type_name = Some(Spanned { value: text.to_owned(), span });
            return;
        }
        match tolerance(text) {
            Some(value) => {
                if self.taken(kind, Slot::Tolerance, span) {
                    self.once(&mut spec.tolerance, Spanned { value, span }, "the tolerance");
                }
            }
            None if text.ends_with('%') => {
                let problem =
                    Problem::error(ProblemCode::WrongValue, span, format!("not a tolerance: `{text}`"))
                        .here("not a share from 0% to 100%")
                        .help("write a tolerance like 5% or -20%/+50%");
                self.push(problem);
            }
            None => match quantity {
                Ok(value) => self.rated(spec, kind, text, Spanned { value, span }),
                Err(why) => self.bad_rating(spec, kind, text, span, &why),
            },
        }
    }

    /// Puts a value to its place among value and ratings by its unit.
    pub(super) fn rated(&mut self, spec: &mut Spec, kind: Option<Kind>, text: &str, value: Value) {
        let slot = slot_of(spec, kind, value.value);
        if !self.taken(kind, slot, value.span) {
            return;
        }
        let unit = match slot {
            Slot::Value => match kind {
                Some(kind) => kind.unit(),
                None => None,
            },
            Slot::Power => Some(Unit::Watt),
            Slot::Volts => Some(Unit::Volt),
            Slot::Amps => Some(Unit::Amp),
            Slot::Ohms => Some(Unit::Ohm),
            _ => Some(Unit::Henry),
        };
        let value = match unit {
            Some(unit) => self.settled(text, value, unit, Sign::Above),
            None => self.loose(text, value),
        };
        let Some(value) = value else { return };
        let place = match slot {
            Slot::Value => &mut spec.value,
            Slot::Power => &mut spec.power,
            Slot::Volts => &mut spec.volts,
            Slot::Amps => &mut spec.amps,
            Slot::Ohms => &mut spec.ohms,
            _ => &mut spec.henries,
        };
        self.once(place, value, &format!("the {}", slot.words()));
    }

    /// A replacement's value, of which only the sign can be judged.
    fn loose(&mut self, text: &str, value: Value) -> Option<Value> {
        let unit = value.value.unit.unwrap_or(Unit::Ratio);
        self.settled(
            text,
            Spanned { value: Quantity { unit: Some(unit), ..value.value }, ..value },
            unit,
            Sign::Above,
        )?;
        Some(Spanned { value: plain(value.value), span: value.span })
    }

    fn bad_rating(&mut self, spec: &Spec, kind: Option<Kind>, text: &str, span: Span, why: &str) {
        let unit = kind.and_then(Kind::unit).filter(|_| spec.value.is_none());
        let (wanted, help) = match unit {
            Some(unit) => (unit.quantity(), examples(unit)),
            None => ("a value or rating", "write a value like 4k7 or 22n, a rating like 0.5W, 400V or 120mA"),
        };
        let problem = Problem::error(ProblemCode::WrongValue, span, format!("not {wanted}: `{text}`"))
            .here(why)
            .help(help);
        self.push(problem);
    }

    /// A word that is no keyword: a type's name, a value code such as `R47`, or a slip of the pen.
    pub(super) fn bare(&mut self, spec: &mut Spec, kind: Option<Kind>, text: &str, span: Span) {
        if let (Ok(value), true) = (parse_quantity(text), kind != Some(Kind::Tube)) {
            return self.rated(spec, kind, text, Spanned { value, span });
        }
        if let Some(help) = electrode_help(text).filter(|_| kind == Some(Kind::Tube)) {
            self.stray_end = span.end;
            let problem =
                Problem::error(ProblemCode::UnknownLeg, span, format!("not a leg of a tube: `{text}`"));
            return self.push(problem.here("no such leg").help(help));
        }
        // One slip makes two strays: the mistyped word and what follows it.
        if self.is_full() || (span.start == self.stray_end + 1 && self.stray_end > 0) {
            return;
        }
        let near = || nearest(text, body_words().chain(kind.map_or(&[][..], leg_names).iter().copied()));
        let takes_type = kind.is_none_or(|k| KindWord::of(k).takes.contains(&Slot::TypeName));
        let small = text.starts_with(|c: char| c.is_ascii_lowercase());
        if takes_type && spec.type_name.is_none() && !(small && near().is_some()) {
            spec.type_name = Some(Spanned { value: text.to_owned(), span });
            return;
        }
        self.stray_end = span.end;
        let what = kind.map_or("part", Kind::word);
        let problem =
            Problem::error(ProblemCode::UnknownWord, span, format!("not said of {}: `{text}`", an(what)))
                .here("unknown here")
                .help(match (near(), kind) {
                    (Some(near), _) => format!("did you mean `{near}`?"),
                    (None, Some(kind)) => format!("write: {}", KindWord::of(kind).slots),
                    (None, None) => "remarks go in quotes".to_owned(),
                });
        self.push(problem);
    }

    /// Whether a kind takes such a clause; a problem where it doesn't.
    pub(super) fn taken(&mut self, kind: Option<Kind>, slot: Slot, span: Span) -> bool {
        let Some(kind) = kind else { return true };
        let row = KindWord::of(kind);
        if row.takes.contains(&slot) {
            return true;
        }
        let problem = Problem::error(
            ProblemCode::NotOfThisPart,
            span,
            format!("not said of {}: a {}", an(kind.word()), slot.words()),
        )
        .here(format!("{} has no {}", an(kind.word()), slot.words()))
        .help(format!("write: {}", row.slots));
        self.push(problem);
        false
    }
}

fn slot_of(spec: &Spec, kind: Option<Kind>, quantity: Quantity) -> Slot {
    let main = kind.and_then(Kind::unit);
    let unit = quantity.unit;
    // `1k2` of a choke is its wire: no inductance is in kilohenries.
    let large = quantity.prefixed && quantity.value.abs() >= 1e3;
    let wound = matches!(kind, Some(Kind::OutputTransformer | Kind::ReverbTransformer));
    match unit {
        Some(Unit::Watt) => Slot::Power,
        None | Some(Unit::Ohm) if wound => Slot::Ohms,
        Some(Unit::Henry) if wound => Slot::Henries,
        Some(Unit::Ohm) if main == Some(Unit::Henry) => Slot::Ohms,
        None if main == Some(Unit::Henry) && large => Slot::Ohms,
        // A second resistance of a part whose kind is not known: a choke's or transformer's wire.
        None | Some(Unit::Ohm) if kind.is_none() && spec.value.is_some() => Slot::Ohms,
        Some(Unit::Henry) if kind.is_none() && spec.value.is_some() => Slot::Henries,
        Some(unit) if main == Some(unit) => Slot::Value,
        Some(Unit::Volt) => Slot::Volts,
        Some(Unit::Amp) => Slot::Amps,
        _ => Slot::Value,
    }
}

fn construction(text: &str) -> Construction {
    let words: Vec<&str> = text.split_whitespace().collect();
    let text = match &words[..] {
        // Most ceramic parts of the period are of the lossy class (common practice, no source).
        ["ceramic"] => return Construction::Ceramic2,
        _ => words.join(" "),
    };
    Construction::ALL.into_iter().find(|c| c.word() == text).expect("the grammar lists the constructions")
}

fn taper(text: &str) -> Taper {
    Taper::ALL.into_iter().find(|t| t.word() == text).expect("the grammar lists the tapers")
}
