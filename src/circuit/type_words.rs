//! The words of type data, and what is wrong with a line that has others: a figure under a name that nobody asks for would do
//! nothing.

use super::types::{TubeConstruction, TubeType};
use crate::source::{Problem, ProblemCode, nearest};
use crate::syntax::tree::{TypeLine, TypeSaid, Word};
use crate::units::{Quantity, Unit};

/// Limits of valve types with their units.
pub const LIMITS: [(&str, Unit); 18] = [
    ("plate", Unit::Volt),
    ("plate-cold", Unit::Volt),
    ("plate-power", Unit::Watt),
    ("screen", Unit::Volt),
    ("screen-cold", Unit::Volt),
    ("screen-power", Unit::Watt),
    ("cathode-current", Unit::Amp),
    ("heater-cathode", Unit::Volt),
    ("heater-positive", Unit::Volt),
    ("heater-negative", Unit::Volt),
    ("grid-circuit-cathode-bias", Unit::Ohm),
    ("grid-circuit-fixed-bias", Unit::Ohm),
    ("inverse", Unit::Volt),
    ("peak-current", Unit::Amp),
    ("dc-current", Unit::Amp),
    ("surge-current", Unit::Amp),
    ("first-capacitor", Unit::Farad),
    ("plate-supply-resistance", Unit::Ohm),
];

/// Rating systems.
pub(super) const RATING_SYSTEMS: [&str; 3] = ["design-centre", "design-maximum", "absolute"];

/// Figures of a model that any construction may have beside those that it needs.
const BESIDE: [&str; 5] = ["spread", "screen-residual", "grid-gg", "grid-cg", "grid-xi"];
const CAPACITANCES: [&str; 3] = ["grid-plate", "input", "output"];
/// How a cathode is heated: by a heater inside it, or by itself.
pub(super) const INDIRECTLY: &str = "indirectly-heated";
pub(super) const DIRECTLY: &str = "directly-heated";
const HEATERS: [&str; 4] = ["heater1", "heater2", "heater-centre", "suppressor"];

/// What a model of a construction needs.
pub(super) fn needed(construction: TubeConstruction) -> &'static [&'static str] {
    match construction {
        TubeConstruction::Triode | TubeConstruction::DoubleTriode => &["mu", "ex", "kg1", "kp", "kvb"],
        TubeConstruction::Pentode | TubeConstruction::BeamTetrode => &["mu", "ex", "kg1", "kg2", "kp", "kvb"],
        TubeConstruction::Rectifier => &["perveance"],
    }
}

/// What is wrong with the words and units of a line about a valve type.
pub(super) fn misread(tube: &TubeType, said: &TypeSaid) -> Vec<Problem> {
    match said.line.value {
        TypeLine::Pins => pins(tube, said),
        TypeLine::HeaterData => heater(said),
        TypeLine::Model => {
            let known: Vec<&str> = needed(tube.construction).iter().copied().chain(BESIDE).collect();
            strangers(said, &known)
        }
        TypeLine::Limits => limits(said),
        TypeLine::Capacitances => {
            let mut problems = strangers(said, &CAPACITANCES);
            let other = |(_, value): &&(Word, Option<_>)| {
                value.is_some_and(|v: crate::syntax::tree::Value| !is_of(&v.value, Unit::Farad))
            };
            problems.extend(said.values.iter().filter(other).map(|(key, _)| wrong_unit(key, Unit::Farad)));
            problems
        }
        _ => Vec::new(),
    }
}

/// What is wrong with the words of a diode type.
pub(super) fn misread_diode(said: &TypeSaid) -> Vec<Problem> {
    let mut problems = strangers(said, &["saturation", "emission", "inverse", "current"]);
    for (key, value) in &said.values {
        if value.is_some_and(|value| value.value.value <= 0.0) {
            problems.push(below_zero(key));
        }
    }
    problems
}

/// Names that are none of these.
fn strangers(said: &TypeSaid, known: &[&str]) -> Vec<Problem> {
    let unknown = said.values.iter().filter(|(key, _)| !known.contains(&key.value.as_str()));
    unknown.map(|(key, _)| stranger(said, key, known)).collect()
}

fn stranger(said: &TypeSaid, key: &Word, known: &[&str]) -> Problem {
    let text = format!("`{}` is no figure of a `{}` line", key.value, said.line.value.word());
    let problem = Problem::error(ProblemCode::UnknownWord, key.span, text).here("unknown");
    problem.help(match nearest(&key.value, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("it has {}", known.join(", ")),
    })
}

fn limits(said: &TypeSaid) -> Vec<Problem> {
    let names: Vec<&str> = LIMITS.iter().map(|(name, _)| *name).collect();
    let mut problems = Vec::new();
    let mut system: Option<&Word> = None;
    for (key, value) in &said.values {
        let unit = LIMITS.iter().find(|(name, _)| *name == key.value).map(|(_, unit)| *unit);
        match (value, unit) {
            (Some(value), Some(unit)) if !is_of(&value.value, unit) => problems.push(wrong_unit(key, unit)),
            (Some(value), Some(_)) if value.value.value <= 0.0 => problems.push(below_zero(key)),
            (Some(_), Some(_)) => {}
            (Some(_), None) => problems.push(stranger(said, key, &names)),
            (None, _) if RATING_SYSTEMS.contains(&key.value.as_str()) => {
                if let Some(first) = system.replace(key) {
                    let problem =
                        Problem::error(ProblemCode::SaidTwice, key.span, "said twice: the rating system");
                    problems.push(problem.also(first.span, "said first here").help("keep one of the two"));
                }
            }
            (None, _) => problems.push(
                Problem::error(ProblemCode::UnknownWord, key.span, "not a limit with a value")
                    .help(format!("a rating system is one of {}", RATING_SYSTEMS.join(", "))),
            ),
        }
    }
    problems
}

/// A pin has one electrode; a heater may end at the cathode's.
fn pins(tube: &TubeType, said: &TypeSaid) -> Vec<Problem> {
    let known: Vec<&str> = tube.construction.legs().iter().copied().chain(HEATERS).collect();
    let mut problems = strangers(said, &known);
    let electrodes = said.values.iter().filter(|(key, _)| !key.value.starts_with("heater"));
    let electrodes: Vec<_> = electrodes.filter_map(|(key, value)| Some((key, value.as_ref()?))).collect();
    for (at, (key, pin)) in electrodes.iter().enumerate() {
        if let Some((first, _)) =
            electrodes[..at].iter().find(|(_, other)| other.value.value == pin.value.value)
        {
            let text = format!("pin {} has `{}` already", pin.value.value, first.value);
            problems.push(
                Problem::error(ProblemCode::SaidTwice, key.span, text).also(first.span, "said first here"),
            );
        }
    }
    problems
}

fn heater(said: &TypeSaid) -> Vec<Problem> {
    let mut problems = strangers(said, &["volts", "amps", INDIRECTLY, DIRECTLY]);
    let both = said.values.iter().filter(|(key, _)| [INDIRECTLY, DIRECTLY].contains(&key.value.as_str()));
    if let [first, second, ..] = both.collect::<Vec<_>>()[..] {
        let problem = Problem::error(ProblemCode::SaidTwice, second.0.span, "said twice: how it is heated");
        problems.push(problem.also(first.0.span, "said first here").help("keep one of the two"));
    }
    let has = |name: &str| said.values.iter().any(|(key, value)| key.value == name && value.is_some());
    if !(has("volts") && has("amps")) {
        let text = format!("the heater of {} has volts and amps", said.name.value);
        let problem = Problem::error(ProblemCode::TypeIncomplete, said.line.span, text);
        problems.push(problem.help("write `heater-data ECC83 6.3V 300mA`"));
    }
    problems
}

/// Whether a quantity is of a unit, or of none that a prefix or the size would contradict.
fn is_of(quantity: &Quantity, unit: Unit) -> bool {
    match quantity.unit {
        Some(written) => written == unit,
        None => match unit {
            Unit::Farad => quantity.prefixed && quantity.value < 1.0,
            Unit::Ohm => !quantity.prefixed || quantity.value >= 1.0,
            _ => false,
        },
    }
}

fn wrong_unit(key: &Word, unit: Unit) -> Problem {
    let text = format!("`{}` is {}", key.value, unit.quantity());
    Problem::error(ProblemCode::WrongValue, key.span, text)
        .here("another unit")
        .help("write its value with the unit that it has")
}

fn below_zero(key: &Word) -> Problem {
    let problem =
        Problem::error(ProblemCode::ValueOutOfRange, key.span, format!("`{}` is above zero", key.value));
    problem.help("write the figure of the data sheet, without a sign")
}
