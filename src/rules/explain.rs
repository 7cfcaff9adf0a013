//! What the tool says of its rules and their language.

use super::functions;
use super::level::Severity;
use super::nouns::GROUPS;
use super::page::Example;
use super::rule::{Rule, RuleChange, before_measuring};
use super::set::RuleSet;

/// One rule for the reader.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Explained {
    /// Its name.
    pub name: String,
    /// Its page, in order.
    pub headings: Vec<Heading>,
    /// Selection, conditions, limits and levels as written.
    pub lines: Vec<String>,
    /// Documents that it flags and passes.
    pub examples: Vec<Example>,
    /// What packs changed, a line each.
    pub changed: Vec<String>,
}

/// One heading of a rule's page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// `sign`, `measure dead`.
    pub heading: &'static str,
    /// What is done before, where it is about measuring.
    pub before: Option<&'static str>,
    /// Its text.
    pub text: String,
}

/// One rule in one line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// The levels of its findings, worst first.
    pub levels: Vec<Severity>,
    /// What it sees.
    pub sees: String,
}

/// One entry of the language's reference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LanguageEntry {
    /// Word or signature.
    pub name: String,
    /// What it means.
    pub docs: String,
    /// How it is written.
    pub example: String,
}

/// Explains one rule.
pub fn explain(rule: &Rule) -> Explained {
    Explained {
        name: rule.name.clone(),
        headings: rule
            .headings()
            .into_iter()
            .filter(told)
            .map(|(heading, text)| shown(heading, text))
            .collect(),
        lines: rule.lines(),
        examples: rule.examples(),
        changed: rule.changed().iter().map(RuleChange::told).collect(),
    }
}

/// Without a danger there is nothing to say of it.
fn told((heading, text): &(&'static str, String)) -> bool {
    !(*heading == "danger" && text == "None.")
}

fn shown(heading: &'static str, text: String) -> Heading {
    Heading { heading, before: before_measuring(heading), text }
}

/// Every rule in one line.
pub fn list(set: &RuleSet) -> Vec<Line> {
    let line = |rule: &Rule| Line { name: rule.name.clone(), levels: rule.levels(), sees: rule.line() };
    set.rules().map(line).collect()
}

/// Everything a rule may select and ask.
pub fn language() -> Vec<LanguageEntry> {
    let groups = GROUPS.iter().map(|g| LanguageEntry {
        name: g.name.to_owned(),
        docs: g.docs.to_owned(),
        example: format!("for each {} x", g.name),
    });
    let functions = functions::all().map(|f| LanguageEntry {
        name: f.signature(),
        docs: f.docs.to_owned(),
        example: f.example.to_owned(),
    });
    groups.chain(functions).collect()
}
