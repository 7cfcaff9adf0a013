//! What a rule says of itself: slices of its file, read only when somebody asks. Nine tenths of a rule file are such.

use std::borrow::Cow;
use std::sync::Arc;

use crate::source::Span;

use super::level::Severity;
use super::parse::prose;

/// The text of a rule file; a shipped one is part of the tool and never copied.
pub(crate) type FileText = Arc<Cow<'static, str>>;

/// A rule's page as written.
#[derive(Debug, Clone)]
pub(crate) struct Page {
    pub(crate) text: FileText,
    /// In the order of [`super::HEADINGS`].
    pub(crate) headings: Vec<(&'static str, Span)>,
    pub(crate) examples: Vec<Slice>,
    /// Selection, conditions, limits and levels.
    pub(crate) lines: Vec<Span>,
}

/// An example as written.
#[derive(Debug, Clone)]
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

impl Page {
    /// The text under a heading; empty where it hasn't that one.
    pub(crate) fn heading(&self, name: &str) -> String {
        let slice = self.headings.iter().find(|(word, _)| *word == name);
        slice.map_or(String::new(), |(_, text)| prose(&self.text[text.range()]))
    }

    pub(crate) fn headings(&self) -> Vec<(&'static str, String)> {
        self.headings.iter().map(|(heading, text)| (*heading, prose(&self.text[text.range()]))).collect()
    }

    pub(crate) fn examples(&self) -> Vec<Example> {
        let read = |slice: &Slice| Example {
            flags: slice.flags,
            severity: slice.severity,
            documents: documents(&self.text[slice.text.range()]),
        };
        self.examples.iter().map(read).collect()
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
        self.lines.iter().map(line).collect()
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
