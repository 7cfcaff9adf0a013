//! What the tool says of its rules and their language.

use super::functions;
use super::nouns::GROUPS;
use super::rule::{Example, Rule};
use super::set::RuleSet;

/// One rule for the reader.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Explained {
    /// Its name.
    pub name: String,
    /// Heading and text, in order.
    pub headings: Vec<(String, String)>,
    /// Selection, conditions, limits and levels as written.
    pub lines: Vec<String>,
    /// Documents that it flags and passes.
    pub examples: Vec<Example>,
    /// What packs changed: "level set to caution: …".
    pub changed: Vec<String>,
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
    let mut changed = Vec::new();
    if let Some((level, because)) = &rule.level_set {
        changed.push(format!("level set to {}: {because}", level.word()));
    }
    if let Some(because) = &rule.off {
        changed.push(format!("switched off: {because}"));
    }
    Explained {
        name: rule.name.clone(),
        headings: rule.headings.iter().map(|(h, t)| ((*h).to_owned(), t.clone())).collect(),
        lines: rule.lines.clone(),
        examples: rule.examples.clone(),
        changed,
    }
}

/// Every rule in one line: name, levels, what it sees.
pub fn list(set: &RuleSet) -> Vec<(String, String, String)> {
    set.rules()
        .map(|rule| {
            let levels = rule.levels().iter().map(|l| l.word()).collect::<Vec<_>>().join(", ");
            (rule.name.clone(), levels, rule.line().to_owned())
        })
        .collect()
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
