//! Statements of one layer that contradict or repeat each other.

use std::collections::BTreeMap;

use crate::source::{Problem, ProblemCode, Sources, Span};
use crate::syntax::tree::{Place, Said, Statement, WindowSaid, Word};

/// Aspects in which a part differs from stock by what is said of them.
const DIFFERING: [&str; 7] = [
    "the part itself",
    "its reading",
    "its leakage",
    "a short",
    "its direction",
    "where the leg is",
    "its place",
];

/// Two statements that write the same thing: an error with both places; identical repeats are a notice.
pub(in crate::circuit) fn conflicts(statements: &[&Statement], sources: &Sources) -> Vec<Problem> {
    let mut written: BTreeMap<(String, &'static str), Span> = BTreeMap::new();
    let mut problems = Vec::new();
    let squeezed = |span: Span| sources.text(span).split_whitespace().collect::<Vec<_>>().join(" ");
    for statement in statements {
        for key in writes(&statement.said) {
            let (subject, aspect) = key.clone();
            match written.get(&key) {
                // A name twice in `checked` says nothing false; the same words twice are a slip, but no
                // contradiction.
                Some(first) if aspect == "checked" || squeezed(*first) == squeezed(statement.span) => {
                    let text = format!("said twice of {subject}");
                    problems.push(
                        Problem::notice(ProblemCode::SaidTwice, statement.span, text)
                            .also(*first, "first here"),
                    );
                }
                Some(first) => {
                    let text = format!("two statements about {subject} disagree on {aspect}");
                    problems.push(
                        Problem::error(ProblemCode::StatementsConflict, statement.span, text)
                            .here("this one")
                            .also(*first, "and this one")
                            .help("keep the one that is true; statements count in any order"),
                    );
                }
                None => {
                    written.insert(key, statement.span);
                }
            }
        }
    }
    problems.extend(checked_but_different(&written));
    problems.extend(gone_but_said(statements, &written));
    problems
}

/// A part that is not there has no reading, no short and no leg to be moved.
fn gone_but_said(
    statements: &[&Statement],
    written: &BTreeMap<(String, &'static str), Span>,
) -> Vec<Problem> {
    let gone: BTreeMap<&str, Span> = statements
        .iter()
        .filter_map(|statement| match &statement.said {
            Said::Missing { part, .. } => Some((part.value.as_str(), statement.span)),
            _ => None,
        })
        .collect();
    let of_a_part = |aspect: &str| {
        // "The part itself" is what `missing` writes: it would contradict itself.
        (DIFFERING.contains(&aspect) && aspect != "the part itself") || aspect == "its setting"
    };
    let others = written.iter().filter(|((_, aspect), _)| of_a_part(aspect));
    others
        .filter_map(|((subject, aspect), span)| {
            let name = subject.split('.').next().unwrap_or(subject);
            let text = format!("{name} is said to be missing, and {aspect} is told too");
            let problem =
                Problem::error(ProblemCode::MissingButSaid, *span, text).here("of a part that is not there");
            let problem = problem.also(*gone.get(name)?, "missing here");
            Some(problem.help("keep the one that is true; what lies loose beside its place goes into a note"))
        })
        .collect()
}

/// What a statement writes: the part or leg, and which of its aspects.
fn writes(said: &Said) -> Vec<(String, &'static str)> {
    match said {
        Said::Missing { part, .. } | Said::Replaced { part, .. } => {
            vec![(part.value.clone(), "the part itself")]
        }
        Said::Remove { name, .. } => vec![(name.value.clone(), "the part itself")],
        Said::Restore { names, .. } => names.iter().map(|n| (n.value.clone(), "the part itself")).collect(),
        Said::Reads { part, .. } => vec![(part.value.clone(), "its reading")],
        Said::Leaks { part, to, .. } => vec![(fault_at(part, to.as_ref()), "its leakage")],
        Said::Shorted { part, to, .. } => vec![(fault_at(part, to.as_ref()), "a short")],
        Said::Reversed { part, .. } => vec![(part.value.clone(), "its direction")],
        Said::Lifted { what, .. } => vec![(what.value.clone(), "where the leg is")],
        Said::Moved { leg, .. } => vec![(leg.value.clone(), "where the leg is")],
        Said::Set { control, .. } => vec![(control.value.clone(), "its setting")],
        Said::Mains { .. } => vec![("mains".into(), "the mains")],
        Said::Insulation(_) => vec![("insulation".into(), "the protection class")],
        Said::Made(_) => vec![("made".into(), "the year of make")],
        Said::Drive { .. } => vec![("drive".into(), "the jack that is driven")],
        Said::Role { part, .. } => vec![(part.value.clone(), "its role")],
        Said::Unused { section, .. } => vec![(section.value.clone(), "its being idle")],
        Said::Open(places) => places.iter().map(|p| (p.value.clone(), "its being open")).collect(),
        Said::Contact { switch, position, a, b } => {
            // A contact and a bridge have no direction: both ways round are one.
            let (one, other) = if a.value <= b.value { (a, b) } else { (b, a) };
            vec![(format!("{} {} {} {}", switch.value, position.value, one.value, other.value), "a contact")]
        }
        Said::Heater { feeds, .. } => feeds.iter().map(|v| (v.value.clone(), "what heats it")).collect(),
        Said::Window { place, window } => vec![(window_of(place, window), "its window")],
        Said::Net { name, window: Some(window), .. } => vec![(window_of(name, window), "its window")],
        Said::Bridged { a, b, wire: None, .. } => {
            let (one, other) = if a.value <= b.value { (a, b) } else { (b, a) };
            vec![(format!("{} and {}", one.value, other.value), "a bridge")]
        }
        Said::Swapped { part, leg: Some(leg), with, .. } => {
            let joint = |leg: &Word| (format!("{}.{}", part.value, leg.value), "where the leg is");
            vec![joint(leg), joint(with)]
        }
        Said::Swapped { part, leg: None, with, .. } => {
            [part, with].map(|name| (name.value.clone(), "its place")).to_vec()
        }
        Said::Done { names, .. } => names.iter().map(|n| (n.value.clone(), "its being done")).collect(),
        Said::Cut { legs, .. } => legs.iter().map(|l| (l.value.clone(), "the cut that took it")).collect(),
        Said::Rejoin { new, .. } => vec![(new.value.clone(), "the cut")],
        Said::Checked(names) => names.iter().map(|n| (n.value.clone(), "checked")).collect(),
        _ => Vec::new(),
    }
}

/// The place, unit and condition that a window is of.
fn window_of(place: &Word, window: &WindowSaid) -> String {
    let condition = window.condition.as_ref().map_or("idle", |word| word.value.as_str());
    let unit = window.low.value.unit.map_or("V", crate::units::Unit::sign);
    format!("{} in {condition}, {unit}", place.value)
}

/// A part, or the two ends of a fault in it.
fn fault_at(part: &Word, to: Option<&Place>) -> String {
    to.map_or_else(|| part.value.clone(), |to| format!("{} to {}", part.value, to.value))
}

/// `checked` says "as stock": a differing statement on the same part contradicts it.
fn checked_but_different(written: &BTreeMap<(String, &'static str), Span>) -> Vec<Problem> {
    let mut differs: BTreeMap<&str, Span> = BTreeMap::new();
    for ((subject, aspect), span) in written {
        if DIFFERING.contains(aspect) {
            // By part: a lifted leg makes the part one that was not found as in stock.
            differs.entry(subject.split('.').next().unwrap_or(subject)).or_insert(*span);
        }
    }
    let checked = written.iter().filter(|((_, aspect), _)| *aspect == "checked");
    checked
        .filter_map(|((name, _), span)| {
            let other = differs.get(name.as_str())?;
            Some(
                Problem::error(
                    ProblemCode::CheckedButDifferent,
                    *span,
                    format!("{name} is said to be checked, and to differ"),
                )
                .here("checked means: looked at, and as stock")
                .also(*other, "says something else of it")
                .help("a differing statement counts as looked at; take the name off the `checked` line"),
            )
        })
        .collect()
}
