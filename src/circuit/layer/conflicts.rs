//! Statements of one layer that contradict or repeat each other.

use std::collections::BTreeMap;

use crate::source::{Problem, Sources, Span};
use crate::syntax::tree::{Said, Statement};

/// Two statements that write the same thing: an error with both places; identical repeats are a notice.
pub(super) fn conflicts(statements: &[&Statement], sources: &Sources) -> Vec<Problem> {
    let mut written: BTreeMap<(String, &'static str), Span> = BTreeMap::new();
    let mut problems = Vec::new();
    let squeezed = |span: Span| sources.text(span).split_whitespace().collect::<Vec<_>>().join(" ");
    for statement in statements {
        for key in writes(&statement.said) {
            let (subject, aspect) = key.clone();
            match written.get(&key) {
                Some(first) if aspect == "checked" || squeezed(*first) == squeezed(statement.span) => {
                    let text = format!("said twice of {subject}");
                    problems
                        .push(Problem::notice("said-twice", statement.span, text).also(*first, "first here"));
                }
                Some(first) => {
                    let text = format!("two statements about {subject} disagree on {aspect}");
                    problems.push(
                        Problem::error("statements-conflict", statement.span, text)
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
    problems
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
        Said::Leaks { part, .. } => vec![(part.value.clone(), "its leakage")],
        Said::Shorted { part, .. } => vec![(part.value.clone(), "a short")],
        Said::Reversed { part, .. } => vec![(part.value.clone(), "its direction")],
        Said::Lifted { what, .. } => vec![(what.value.clone(), "where the leg is")],
        Said::Moved { leg, .. } => vec![(leg.value.clone(), "where the leg is")],
        Said::Set { control, .. } => vec![(control.value.clone(), "its setting")],
        Said::Mains { .. } => vec![("mains".into(), "the mains")],
        Said::Checked(names) => names.iter().map(|n| (n.value.clone(), "checked")).collect(),
        _ => Vec::new(),
    }
}

/// `checked` says "as stock": a differing statement on the same part contradicts it.
fn checked_but_different(written: &BTreeMap<(String, &'static str), Span>) -> Vec<Problem> {
    let mut differs: BTreeMap<&str, Span> = BTreeMap::new();
    for ((subject, aspect), span) in written {
        if !matches!(*aspect, "checked" | "its setting") {
            differs.entry(subject.split('.').next().unwrap_or(subject)).or_insert(*span);
        }
    }
    let checked = written.iter().filter(|((_, aspect), _)| *aspect == "checked");
    checked
        .filter_map(|((name, _), span)| {
            let other = differs.get(name.as_str())?;
            Some(
                Problem::error(
                    "checked-but-different",
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
