//! Part statements: `resistor R4 100k 1W from B4 to V1a.plate`, whether declared, added or fitted.

use pest::iterators::{Pair, Pairs};

use super::Walk;
use super::grammar::Rule;
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Spanned};
use crate::syntax::tree::{PartSaid, Spec};
use crate::syntax::words::{KindWord, Slot};

impl Walk {
    /// A part: its kind, its name, and what is said of it.
    pub(super) fn part(&mut self, inner: Pairs<Rule>) -> Option<PartSaid> {
        let service = inner.clone().find(|p| p.as_rule() == Rule::service);
        let mut inner = inner;
        let kind_pair = inner.next()?;
        let name = self.word(&inner.next()?);
        let kind = Spanned {
            value: self.kind(&kind_pair, service.as_ref()),
            span: service.as_ref().map_or(self.span(&kind_pair), |s| self.span(&kind_pair).to(self.span(s))),
        };
        let mut part = PartSaid { kind, name, spec: Spec::default(), legs: Vec::new(), note: None };
        let mut legs = Vec::new();
        for clause in inner {
            match clause.as_rule() {
                Rule::string => {
                    let note = self.word(&clause);
                    self.once(&mut part.note, note, "the quoted note");
                }
                Rule::service => {}
                Rule::tap_leg if !kind_has_taps(kind.value) => {
                    for piece in clause.into_inner() {
                        self.value_or_word(&mut part.spec, kind.value, &piece);
                    }
                }
                Rule::from_to | Rule::ac_pair | Rule::plates | Rule::leg | Rule::tap_leg => legs.push(clause),
                _ => self.clause(&mut part.spec, Some(kind.value), &clause),
            }
        }
        self.legs(&mut part, &legs);
        self.unknown_or_value(&part.spec);
        self.position_known(&part.spec);
        self.more_unloaded(&part.spec);
        self.taps_inside(&part.spec);
        if kind_has_taps(kind.value) {
            self.primary_said(&part.spec);
        }
        Some(part)
    }

    /// The kind that a keyword means, with the word after the name of a transformer.
    fn kind(&mut self, pair: &Pair<Rule>, service: Option<&Pair<Rule>>) -> Kind {
        let word = pair.as_str();
        let kind = match service.map(Pair::as_str) {
            Some("reverb") if word == "transformer" => return Kind::ReverbTransformer,
            Some("mains") if word == "transformer" => return Kind::MainsTransformer,
            _ => KindWord::named(word).expect("the grammar lists the kinds"),
        };
        match service {
            Some(service) if word != "reverb-transformer" => {
                let problem = Problem::error(
                    ProblemCode::NotOfThisPart,
                    self.span(service),
                    format!("not said of a part of this kind: `{}`", service.as_str()),
                )
                .help("`mains` and `reverb` are kinds of `transformer`");
                self.push(problem);
            }
            None if word == "transformer" => {
                let problem = Problem::error(ProblemCode::KindNotSaid, self.span(pair), "not told what kind of transformer")
                    .here("mains or reverb?")
                    .help("write `transformer NAME mains` or `transformer NAME reverb`, or `output-transformer NAME`");
                self.push(problem);
            }
            _ => {}
        }
        kind
    }

    /// A value and a word side by side on a part that has no taps.
    fn value_or_word(&mut self, spec: &mut Spec, kind: Kind, piece: &Pair<Rule>) {
        if piece.as_rule() == Rule::quantity {
            self.clause(spec, Some(kind), piece);
        } else {
            let span = self.span(piece);
            self.bare(spec, Some(kind), piece.as_str(), span);
        }
    }

    /// `unknown` and a value exclude each other.
    pub(super) fn unknown_or_value(&mut self, spec: &Spec) {
        let Some(unknown) = spec.unknown else { return };
        let value = spec.value.map(|v| v.span).or(spec.type_name.as_ref().map(|w| w.span));
        if let Some(value) = value {
            let problem =
                Problem::error(ProblemCode::SaidTwice, unknown, "not unknown: its value is said too")
                    .here("unknown?")
                    .also(value, "said here")
                    .help(format!("keep one of the two, `unknown` or the {}", Slot::Value.words()));
            self.push(problem);
        }
    }

    /// A supply holds more with nothing drawn than with its load.
    fn more_unloaded(&mut self, spec: &Spec) {
        let (Some(volts), Some(unloaded)) = (&spec.value, &spec.unloaded) else { return };
        if unloaded.value.value < volts.value.value {
            let problem = Problem::error(
                ProblemCode::WrongValue,
                unloaded.span,
                "not unloaded: below the volts under load",
            )
            .here("less than with a load")
            .also(volts.span, "the volts under load")
            .help("write the volts under load first: `source HT 462V behind 85R unloaded 505V`");
            self.push(problem);
        }
    }

    /// A pot's tap lies between its ends, each at a place of its own.
    fn taps_inside(&mut self, spec: &Spec) {
        for (at, (share, _)) in spec.taps.iter().enumerate() {
            if !(share.value.value > 0.0 && share.value.value < 1.0) {
                let problem = Problem::error(
                    ProblemCode::WrongValue,
                    share.span,
                    "not a tap: it is an end of the track",
                )
                .here("top or bottom itself")
                .help("a tap lies between them: `tap 50% to PLACE`");
                self.push(problem);
            }
            if let Some((old, _)) =
                spec.taps[..at].iter().find(|(old, _)| old.value.value == share.value.value)
            {
                self.twice(old.span, share.span, "this tap");
            }
        }
    }

    /// A bare resistance of a wound part is that of the wire; the impedance has its word.
    fn primary_said(&mut self, spec: &Spec) {
        if let (None, None, Some(ohms)) = (spec.value, spec.unknown, spec.ohms) {
            let problem =
                Problem::error(ProblemCode::PrimaryNotSaid, ohms.span, "not told: the primary's impedance")
                    .here("taken as the winding's resistance")
                    .help("write `primary 6k6 90R a side`, the impedance first");
            self.push(problem);
        }
    }

    /// The position that a switch stands in is one of its positions.
    fn position_known(&mut self, spec: &Spec) {
        let Some(now) = &spec.now else { return };
        if spec.positions.iter().any(|p| p.value == now.value) {
            return;
        }
        let names: Vec<&str> = spec.positions.iter().map(|p| p.value.as_str()).collect();
        let problem = Problem::error(
            ProblemCode::UnknownPosition,
            now.span,
            format!("not one of its positions: `{}`", now.value),
        )
        .here("no such position")
        .help(if names.is_empty() {
            "say them first: `positions on off now on`".to_owned()
        } else {
            format!("its positions are {}", names.join(", "))
        });
        self.push(problem);
    }
}

/// Whether a part of the kind has tap legs such as `8R`.
fn kind_has_taps(kind: Kind) -> bool {
    matches!(kind, Kind::OutputTransformer | Kind::ReverbTransformer)
}
