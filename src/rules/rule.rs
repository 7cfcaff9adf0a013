//! A rule as loaded: checked, and ready to be asked.

use crate::model::Condition;
use crate::source::Span;

use super::compile::{Code, Limit};
use super::dimension::Ty;
use super::level::{Level, Severity};
use super::nouns::Noun;
use super::page::{Example, Page};

/// The headings of a rule's page, in order. One of [`MEASURES`] is enough.
pub const HEADINGS: [&str; 7] = ["sign", "danger", MEASURES[0], MEASURES[1], "cure", "not seen", "source"];

/// The two ways to measure: the amplifier unplugged and discharged, or powered.
pub const MEASURES: [&str; 2] = ["measure dead", "measure live"];

/// What is done before anything is measured so; `None` for a heading that is no measure.
pub(super) fn before_measuring(heading: &str) -> Option<&'static str> {
    match heading {
        "measure dead" => Some("dead: power off, unplugged, discharged, verified"),
        "measure live" => Some("live: one hand, leads clipped on before power"),
        _ => None,
    }
}

/// One rule.
#[derive(Debug, Clone)]
pub struct Rule {
    /// Name: the fault as a bench hand says it.
    pub name: String,
    /// Set by a pack: every finding gets this level, with the written reason.
    pub level_set: Option<(Level, String)>,
    /// Switched off by a pack, with the written reason.
    pub off: Option<String>,
    pub(crate) page: Page,
    pub(crate) noun: Noun,
    pub(crate) filters: Vec<Filter>,
    /// `None` where nothing in it depends on the condition.
    pub(crate) conditions: Option<Vec<Condition>>,
    pub(crate) limits: Vec<Limit>,
    pub(crate) levels: Vec<LevelLine>,
    pub(crate) say: Template,
    pub(crate) advise: Option<Advice>,
    /// Looks at other findings, so that it runs after all other rules.
    pub(crate) last: bool,
    /// Part of the tool.
    pub(crate) shipped: bool,
    pub(crate) declared: Span,
}

/// What must hold for the rule to judge a thing.
#[derive(Debug, Clone)]
pub(crate) struct Filter {
    pub(crate) code: Code,
    /// Whether it depends on the thing; what doesn't is asked once in each state.
    pub(crate) own: bool,
}

/// One line of a level.
#[derive(Debug, Clone)]
pub(crate) struct LevelLine {
    pub(crate) severity: Severity,
    /// The thing is flagged where this does not hold.
    pub(crate) required: bool,
    pub(crate) code: Code,
    pub(crate) say: Option<Template>,
    pub(crate) advise: Option<Advice>,
}

/// What to do.
#[derive(Debug, Clone)]
pub(crate) struct Advice {
    pub(crate) text: Template,
    /// Or to accept it with a reason, where nothing endangers people.
    pub(crate) or_accept: bool,
}

/// A change that a pack makes to a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleChange {
    /// The rule's name.
    pub rule: String,
    /// `switched off`, `level set to caution`, `share set to 70 %, was 60 %`.
    pub change: String,
    /// The written reason.
    pub because: Option<String>,
}

impl RuleChange {
    /// In one line.
    pub fn told(&self) -> String {
        let because = self.because.as_ref().map_or(String::new(), |why| format!(": {why}"));
        format!("a pack changes {}: {}{because}", self.rule, self.change)
    }
}

/// A message with expressions in it.
pub(crate) type Template = Vec<Piece>;

/// A piece of a message.
#[derive(Debug, Clone)]
pub(crate) enum Piece {
    Text(String),
    Value(Code, Ty),
}

impl Rule {
    /// Whether it judges what only an as-found record can say.
    pub(crate) fn judges_records(&self) -> bool {
        self.noun.is_readings() || self.filters.iter().any(|filter| of_records(&filter.code))
    }

    /// Texts under the headings, in the order of [`HEADINGS`].
    pub fn headings(&self) -> Vec<(&'static str, String)> {
        self.page.headings()
    }

    /// Small documents that it must flag or pass.
    pub fn examples(&self) -> Vec<Example> {
        self.page.examples()
    }

    /// Its lines of selection, conditions, levels and limits as written.
    pub fn lines(&self) -> Vec<String> {
        self.page.lines()
    }

    /// The text under a heading.
    pub fn heading(&self, name: &str) -> String {
        self.page.heading(name)
    }

    /// How it is measured, each way with what is done before.
    pub fn measures(&self) -> String {
        let headings = self.headings().into_iter();
        let said = headings.filter_map(|(word, text)| Some((before_measuring(word)?, text)));
        said.map(|(before, text)| format!("({before}) {text}")).collect::<Vec<_>>().join("\n\n")
    }

    /// The first sentence of its sign: what a list of rules says of it.
    pub fn line(&self) -> String {
        let mut sign = self.heading("sign");
        sign.truncate(sign.find(". ").map_or(sign.len(), |end| end + 1));
        sign
    }

    /// The conditions that it judges in; empty where that doesn't matter.
    pub fn conditions(&self) -> &[Condition] {
        self.conditions.as_deref().unwrap_or(&[])
    }

    /// What packs changed of it, a line each.
    pub fn changed(&self) -> Vec<RuleChange> {
        let change = |change: String, because: &Option<String>| RuleChange {
            rule: self.name.clone(),
            change,
            because: because.clone(),
        };
        let off = self.off.iter().map(|why| change("switched off".into(), &Some(why.clone())));
        let level = self.level_set.iter();
        let level =
            level.map(|(level, why)| change(format!("level set to {}", level.word()), &Some(why.clone())));
        let limits = self.limits.iter().filter_map(|limit| {
            let (set, why) = limit.set.as_ref()?;
            Some(change(format!("{} set to {set}", limit.name), why))
        });
        off.chain(level).chain(limits).collect()
    }

    /// Whether any of its lines is a danger to people.
    pub fn endangers_people(&self) -> bool {
        self.levels.iter().any(|line| line.severity.to_people)
    }

    /// A line's level, or the one that a pack has set.
    pub(crate) fn set(&self, said: Severity) -> Severity {
        match &self.level_set {
            Some((level, _)) => Severity { level: *level, ..said },
            None => said,
        }
    }

    /// The levels that its findings may have, worst first.
    pub fn levels(&self) -> Vec<Severity> {
        let mut levels: Vec<Severity> = self.levels.iter().map(|line| self.set(line.severity)).collect();
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
