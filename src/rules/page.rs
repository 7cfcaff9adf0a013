//! What a rule says of itself: slices of its file, read only when somebody asks. Nine tenths of a rule file are such.

use std::borrow::Cow;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::source::Span;

use super::ast::{Clause, LevelSaid};
use super::level::Severity;
use super::parse::prose;

/// The headings of a rule's page, in order. One of [`MEASURES`] is enough.
pub const HEADINGS: [&str; 7] = ["sign", "danger", MEASURES[0], MEASURES[1], "cure", "not seen", "source"];

/// The two ways to measure: the amplifier unplugged and discharged, or powered.
pub const MEASURES: [&str; 2] = ["measure dead", "measure live"];

/// The text of a rule file; a shipped one is part of the tool and never copied.
pub(crate) type FileText = Arc<Cow<'static, str>>;

/// A rule's page as written.
#[derive(Debug, Clone)]
pub(crate) struct Page {
    pub(crate) text: FileText,
    pub(crate) slices: Slices,
}

/// Where in its file what stands.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Slices {
    /// In the order of [`HEADINGS`].
    pub(crate) headings: [Option<Span>; HEADINGS.len()],
    pub(crate) examples: Vec<Slice>,
    /// Selection, conditions, limits and levels.
    pub(crate) lines: Vec<Span>,
}

/// An example as written.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Slice {
    pub(crate) flags: bool,
    pub(crate) severity: Option<Severity>,
    pub(crate) text: Span,
}

/// A small document that a rule must flag or pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example {
    /// Must be flagged; else must pass.
    pub flags: bool,
    /// At which level, and whom it must endanger.
    pub severity: Option<Severity>,
    /// The documents, lowest first: name and text.
    pub documents: Vec<(String, String)>,
}

impl Slices {
    /// The slices of a rule with these clauses.
    pub(crate) fn of(clauses: &[Clause]) -> Slices {
        let examples = clauses.iter().filter_map(|clause| match clause {
            Clause::Example { flags, severity, text } => {
                Some(Slice { flags: *flags, severity: *severity, text: *text })
            }
            _ => None,
        });
        Slices {
            headings: HEADINGS.map(|heading| text_under(heading, clauses)),
            examples: examples.collect(),
            lines: clauses.iter().filter_map(line).collect(),
        }
    }
}

fn text_under(heading: &str, clauses: &[Clause]) -> Option<Span> {
    clauses.iter().find_map(|clause| match clause {
        Clause::Heading { word, text } if word.value == heading => Some(*text),
        _ => None,
    })
}

/// The place of a selection, a condition, a limit or a level.
fn line(clause: &Clause) -> Option<Span> {
    match clause {
        Clause::Select { noun, filter, .. } => {
            Some(filter.as_ref().map_or(noun.span, |f| noun.span.to(f.span)))
        }
        Clause::Where(expr) | Clause::Level(LevelSaid { expr, .. }) => Some(expr.span),
        Clause::In(words) => words.first().map(|w| w.span),
        Clause::Limit { name, .. } => Some(name.span),
        _ => None,
    }
}

impl Page {
    /// The text under a heading; empty where it hasn't that one.
    pub(crate) fn heading(&self, name: &str) -> String {
        self.texts().find(|(word, _)| *word == name).map_or(String::new(), |(_, text)| prose(text))
    }

    pub(crate) fn headings(&self) -> Vec<(&'static str, String)> {
        self.texts().map(|(heading, text)| (heading, prose(text))).collect()
    }

    /// The headings that it has, and what stands under them.
    fn texts(&self) -> impl Iterator<Item = (&'static str, &str)> {
        let slices = HEADINGS.into_iter().zip(&self.slices.headings);
        slices.filter_map(|(heading, slice)| Some((heading, &self.text[slice.as_ref()?.range()])))
    }

    pub(crate) fn examples(&self) -> Vec<Example> {
        let read = |slice: &Slice| Example {
            flags: slice.flags,
            severity: slice.severity,
            documents: documents(&self.text[slice.text.range()]),
        };
        self.slices.examples.iter().map(read).collect()
    }

    /// Its lines of selection, conditions, limits and levels, without what `say` adds.
    pub(crate) fn lines(&self) -> Vec<String> {
        let line = |span: &Span| {
            let start = self.text[..span.start as usize].rfind('\n').map_or(0, |i| i + 1);
            let mut end = span.end as usize;
            end += self.text[end..].find('\n').unwrap_or(self.text.len() - end);
            let whole = self.text[start..end].split_whitespace().collect::<Vec<_>>().join(" ");
            let without = whole.split(" say \"").next().unwrap_or_default();
            without.split(" advise \"").next().unwrap_or_default().to_owned()
        };
        self.slices.lines.iter().map(line).collect()
    }
}

/// The documents of an example: a line `--- NAME` starts the next. The first is `stock.amp`.
fn documents(text: &str) -> Vec<(String, String)> {
    let mut found = vec![("stock.amp".to_owned(), String::new())];
    for line in text.lines() {
        if let Some(name) = line.trim().strip_prefix("--- ") {
            if found.len() == 1 && found[0].1.trim().is_empty() {
                found.clear();
            }
            found.push((name.trim().to_owned(), String::new()));
        } else if let Some((_, body)) = found.last_mut() {
            body.push_str(line.strip_prefix("    ").unwrap_or(line));
            body.push('\n');
        }
    }
    for (_, body) in &mut found {
        *body = format!("{}\n", body.trim_matches('\n').trim_end());
    }
    found
}
