//! A rule as loaded: checked, and ready to be asked.

use crate::solve::Condition;
use crate::source::Span;

use super::compile::{Code, Limit};
use super::dimension::Ty;
use super::finding::Level;
use super::nouns::Noun;

/// The headings of a rule's page, in order.
pub const HEADINGS: [&str; 6] = ["sign", "danger", "measure", "cure", "not seen", "source"];

/// One rule.
#[derive(Debug, Clone)]
pub struct Rule {
    /// Name: the fault as a bench hand says it.
    pub name: String,
    /// Texts under the headings, in the order of [`HEADINGS`].
    pub headings: Vec<(&'static str, String)>,
    /// Small documents that it must flag or pass.
    pub examples: Vec<Example>,
    /// Its lines of selection, conditions, levels and limits as written.
    pub lines: Vec<String>,
    /// Set by a pack: every finding gets this level, with the written reason.
    pub level_set: Option<(Level, String)>,
    /// Switched off by a pack, with the written reason.
    pub off: Option<String>,
    pub(crate) noun: Noun,
    pub(crate) filters: Vec<Code>,
    /// `None` where nothing in it depends on the condition.
    pub(crate) conditions: Option<Vec<Condition>>,
    pub(crate) limits: Vec<Limit>,
    pub(crate) levels: Vec<LevelLine>,
    pub(crate) say: Template,
    pub(crate) advise: Option<Template>,
    /// Looks at other findings, so that it runs after all other rules.
    pub(crate) last: bool,
    /// Part of the tool.
    pub(crate) shipped: bool,
    pub(crate) declared: Span,
}

/// One line of a level.
#[derive(Debug, Clone)]
pub(crate) struct LevelLine {
    pub(crate) level: Level,
    /// The thing is flagged where this does not hold.
    pub(crate) required: bool,
    pub(crate) code: Code,
    pub(crate) say: Option<Template>,
}

/// A message with expressions in it.
pub(crate) type Template = Vec<Piece>;

/// A piece of a message.
#[derive(Debug, Clone)]
pub(crate) enum Piece {
    Text(String),
    Value(Code, Ty),
}

/// A small document that a rule must flag or pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example {
    /// Must be flagged; else must pass.
    pub flags: bool,
    /// At which level.
    pub level: Option<Level>,
    /// The documents, lowest first: name and text.
    pub documents: Vec<(String, String)>,
}

impl Rule {
    /// Whether it judges what only an as-found record can say.
    pub(crate) fn judges_records(&self) -> bool {
        self.noun.is_readings() || self.filters.iter().any(of_records)
    }

    /// The text under a heading.
    pub fn heading(&self, name: &str) -> &str {
        self.headings.iter().find(|(word, _)| *word == name).map_or("", |(_, text)| text)
    }

    /// The first sentence of its sign: what a list of rules says of it.
    pub fn line(&self) -> &str {
        let sign = self.heading("sign");
        sign.find(". ").map_or(sign, |end| &sign[..=end])
    }

    /// The conditions that it judges in; empty where that doesn't matter.
    pub fn conditions(&self) -> &[Condition] {
        self.conditions.as_deref().unwrap_or(&[])
    }

    /// The levels that its findings may have, worst first.
    pub fn levels(&self) -> Vec<Level> {
        let mut levels: Vec<Level> = match &self.level_set {
            Some((level, _)) => vec![*level],
            None => self.levels.iter().map(|l| l.level).collect(),
        };
        levels.sort_unstable_by(|a, b| b.cmp(a));
        levels.dedup();
        levels
    }
}

/// Whether a filter is, or holds, `document is as-found`.
fn of_records(filter: &Code) -> bool {
    match filter {
        Code::And(all) => all.iter().any(of_records),
        Code::Is { value, negated: false, words } => {
            let document = matches!(&**value, Code::Call(function, _) if function.name == "document");
            document && matches!(words.as_slice(), [word] if word == "as-found")
        }
        _ => false,
    }
}
