//! Legs of a part: which words join which leg, by kind.

use pest::iterators::Pair;

use super::grammar::Rule;
use super::{Walk, an};
use crate::model::{Construction, Kind};
use crate::source::{Problem, ProblemCode, Spanned, nearest};
use crate::syntax::tree::{LegSaid, PartSaid, Spec, Word};
use crate::units::{Unit, exact, parse_quantity};

/// Electrodes in the order they are written.
pub(crate) const ELECTRODES: [&str; 8] =
    ["plate", "grid", "cathode", "screen", "suppressor", "heater1", "heater2", "heater-centre"];

/// Other words for electrodes, and the word of this language.
const OTHER_WORDS: [(&str, &str); 6] = [
    ("anode", "plate"),
    ("g1", "grid"),
    ("g2", "screen"),
    ("g3", "suppressor"),
    ("k", "cathode"),
    ("kathode", "cathode"),
];

/// The word of this language for an electrode that was called otherwise, alone or after its section's letter.
pub(crate) fn electrode_meant(word: &str) -> Option<&'static str> {
    let name = word.rsplit('.').next().unwrap_or(word);
    OTHER_WORDS.iter().find(|(other, _)| *other == name).map(|(_, meant)| *meant)
}

/// What to write instead of such a word: "the anode is written `plate`".
pub(crate) fn electrode_help(word: &str) -> Option<String> {
    let name = word.rsplit('.').next().unwrap_or(word);
    electrode_meant(word).map(|meant| format!("the {name} is written `{meant}`"))
}

impl Walk {
    /// Joins the legs that a part's clauses name, in the order of the canonical text.
    pub(super) fn legs(&mut self, part: &mut PartSaid, clauses: &[Pair<Rule>]) {
        let kind = part.kind.value;
        let mut legs = Vec::new();
        for clause in clauses {
            for (word, place) in self.joins(clause) {
                // One complaint a clause.
                let Some(leg) = self.leg_of(kind, &part.spec, clause.as_rule(), &word) else { break };
                self.leg(&mut legs, Spanned { value: leg, span: word.span }, place);
            }
        }
        legs.sort_by_key(|leg: &LegSaid| leg_rank(kind, &leg.leg.value));
        part.legs = legs;
    }

    /// Takes one more leg in, which must not have been said before.
    pub(super) fn leg(&mut self, legs: &mut Vec<LegSaid>, leg: Word, place: Word) {
        match legs.iter().find(|old| old.leg.value == leg.value) {
            Some(old) => {
                self.twice(old.place.span, place.span, &format!("where leg `{}` is joined", leg.value));
            }
            None => legs.push(LegSaid { leg, place }),
        }
    }

    /// The word of each leg in a clause, with its place.
    pub(super) fn joins(&self, clause: &Pair<Rule>) -> Vec<(Word, Word)> {
        let inner = clause.clone().into_inner();
        let places = self.words(inner.clone(), Rule::place);
        let words: Vec<Word> = match clause.as_rule() {
            Rule::from_to => inner
                .filter(|p| matches!(p.as_rule(), Rule::k_from | Rule::k_to))
                .map(|p| self.word(&p))
                .collect(),
            Rule::ac_pair | Rule::plates => {
                let span = self.span(clause);
                let names =
                    if clause.as_rule() == Rule::plates { ["a.plate", "b.plate"] } else { ["ac1", "ac2"] };
                names.into_iter().map(|name| Spanned { value: name.to_owned(), span }).collect()
            }
            _ => inner.filter(|p| p.as_rule() != Rule::place).map(|p| self.word(&p)).collect(),
        };
        words.into_iter().zip(places).collect()
    }

    /// The canonical name of the leg that a word means on a part of a kind.
    fn leg_of(&mut self, kind: Kind, spec: &Spec, rule: Rule, word: &Word) -> Option<String> {
        let text = word.value.as_str();
        let found = match rule {
            Rule::from_to => {
                if is_electrolytic(spec) {
                    self.polarised(word);
                    return None;
                }
                two_legs(kind).map(|(one, two)| if text == "from" { one } else { two }.to_owned())
            }
            Rule::tap_leg => return self.tap(spec, word),
            _ => leg_named(kind, text),
        };
        if found.is_none() {
            self.no_such_leg(kind, word);
        }
        found
    }

    fn polarised(&mut self, word: &Word) {
        let problem = Problem::error(
            ProblemCode::PolarityNotSaid,
            word.span,
            "not told which leg is plus: an electrolytic",
        )
        .here("an electrolytic has `plus` and `minus`")
        .help("write `plus PLACE minus PLACE`");
        self.push(problem);
    }

    fn tap(&mut self, spec: &Spec, word: &Word) -> Option<String> {
        let name = tap_name(&word.value);
        let known: Vec<String> =
            spec.output_taps.iter().map(|tap| exact(tap.value.value, Unit::Ohm)).collect();
        if let Some(name) = name.filter(|name| known.contains(name)) {
            return Some(name);
        }
        let problem = Problem::error(
            ProblemCode::UnknownLeg,
            word.span,
            format!("not one of its taps: `{}`", word.value),
        )
        .here("no such tap")
        .help(if known.is_empty() {
            "say its taps first: `taps 4R 8R 16R`".to_owned()
        } else {
            format!("its taps are {}", known.join(" "))
        });
        self.push(problem);
        None
    }

    fn no_such_leg(&mut self, kind: Kind, word: &Word) {
        let names = leg_names(kind);
        let electrode = electrode_help(&word.value).filter(|_| kind == Kind::Tube);
        let help = match (kind, nearest(&word.value, names.iter().copied())) {
            _ if electrode.is_some() => electrode.unwrap_or_default(),
            (Kind::MainsTransformer, _) => "its legs are those of its `winding` lines".to_owned(),
            (Kind::Switch | Kind::Relay, _) => "its legs are those of its `contact` lines".to_owned(),
            (Kind::Fitting, _) => "a fitting has no legs".to_owned(),
            (_, Some(near)) if names.len() > 2 => format!("did you mean `{near}`?"),
            _ => format!("its legs are written {}", names.join(", ")),
        };
        let problem = Problem::error(
            ProblemCode::UnknownLeg,
            word.span,
            format!("not a leg of {}: `{}`", an(kind.word()), word.value),
        )
        .here("no such leg")
        .help(help);
        self.push(problem);
    }
}

/// Whether a body is said to be electrolytic.
pub(crate) fn is_electrolytic(spec: &Spec) -> bool {
    spec.construction.is_some_and(|c| c.value == Construction::Electrolytic)
}

/// The legs of `from … to …`.
fn two_legs(kind: Kind) -> Option<(&'static str, &'static str)> {
    match kind {
        Kind::Capacitor => Some(("plus", "minus")),
        _ if kind.legs() == ["1", "2"] => Some(("1", "2")),
        _ => None,
    }
}

fn leg_named(kind: Kind, word: &str) -> Option<String> {
    let leg = match (kind, word) {
        (Kind::OutputTransformer | Kind::ReverbTransformer, "plate" | "a.plate") => "plate-a",
        (Kind::OutputTransformer | Kind::ReverbTransformer, "b.plate") => "plate-b",
        (Kind::Bridge, "ac1" | "ac2") => word,
        (Kind::Tube, _) if ELECTRODES.contains(&word) => word,
        (Kind::Tube, _) => {
            let (_, electrode) = word.split_once('.')?;
            ELECTRODES.contains(&electrode).then_some(word)?
        }
        _ => leg_names(kind).iter().find(|name| **name == word)?,
    };
    Some(leg.to_owned())
}

/// The words that name legs of a kind.
pub(super) fn leg_names(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::OutputTransformer | Kind::ReverbTransformer => &["plate-a", "plate-b", "supply", "common"],
        Kind::Can => &["common"],
        Kind::Tube => &ELECTRODES,
        Kind::Jack => &["tip", "sleeve", "ring", "tip-contact", "sleeve-contact", "ring-contact"],
        Kind::Bridge => &["ac", "plus", "minus"],
        _ if kind.legs() == ["1", "2"] => &["from", "to"],
        _ => kind.legs(),
    }
}

/// Where a leg stands in the canonical text.
fn leg_rank(kind: Kind, leg: &str) -> (usize, String) {
    let (section, name) =
        if kind == Kind::Tube { leg.split_once('.').unwrap_or(("", leg)) } else { ("", leg) };
    let rank = match kind {
        Kind::Bridge => kind.legs().iter().position(|l| *l == name),
        _ if kind.legs() == ["1", "2"] => kind.legs().iter().position(|l| *l == name),
        _ => leg_names(kind).iter().position(|l| *l == name),
    };
    (rank.unwrap_or(usize::MAX), section.to_owned())
}

/// Where a valve's leg stands in the canonical text.
pub(super) fn electrode_rank(leg: &str) -> (usize, String) {
    leg_rank(Kind::Tube, leg)
}

/// The word of an output transformer's tap leg, `8R`, whatever way it was written.
fn tap_name(word: &str) -> Option<String> {
    let quantity = parse_quantity(word).ok()?;
    matches!(quantity.unit, None | Some(Unit::Ohm)).then(|| exact(quantity.value, Unit::Ohm))
}
