//! A rule as loaded: what it says of itself, and what it asks.

use std::sync::OnceLock;

use crate::model::Condition;
use crate::source::Span;
use crate::units::Quantity;

use super::compile::{Code, Limit, figure};
use super::dimension::Ty;
use super::head::Head;
use super::level::{Level, Severity};
use super::nouns::Noun;
use super::page::{Example, FileText, Page};
use super::shipped::{self, Written};

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
    pub(crate) limits: Vec<Limit>,
    pub(crate) declared: Span,
    /// As written, worst first.
    severities: Vec<Severity>,
    asks: Asks,
}

/// What a rule asks. A rule of a pack is compiled when it is loaded, for whoever wrote it; one that comes with the tool
/// when it is first needed, which in most runs is never.
#[derive(Debug, Clone)]
enum Asks {
    Loaded(Compiled),
    Shipped(Written, OnceLock<Compiled>),
}

/// What a rule asks, ready to be evaluated.
#[derive(Debug, Clone)]
pub(crate) struct Compiled {
    pub(crate) filters: Vec<Filter>,
    /// `None` where nothing in it depends on the condition.
    pub(crate) conditions: Option<Vec<Condition>>,
    pub(crate) levels: Vec<LevelLine>,
    pub(crate) say: Template,
    pub(crate) advise: Option<Advice>,
    /// Looks at other findings, so that it runs after all other rules.
    pub(crate) last: bool,
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
    /// A rule of a pack.
    pub(crate) fn loaded(head: Head, text: &FileText, noun: Noun, compiled: Compiled) -> Rule {
        Rule::with(head, text, noun, Asks::Loaded(compiled))
    }

    /// A rule that comes with the tool.
    pub(crate) fn shipped(head: Head, text: &FileText, written: Written) -> Rule {
        let noun = head.noun.as_deref().and_then(Noun::of).expect("a test compiles every shipped rule");
        Rule::with(head, text, noun, Asks::Shipped(written, OnceLock::new()))
    }

    fn with(head: Head, text: &FileText, noun: Noun, asks: Asks) -> Rule {
        Rule {
            name: head.name.value,
            level_set: None,
            off: None,
            page: Page { text: text.clone(), slices: head.page },
            noun,
            limits: head.limits.into_iter().map(|(name, said)| limit(name, &said)).collect(),
            declared: head.name.span,
            severities: head.severities,
            asks,
        }
    }

    /// What it asks.
    pub(crate) fn asks(&self) -> &Compiled {
        match &self.asks {
            Asks::Loaded(compiled) => compiled,
            Asks::Shipped(written, once) => once.get_or_init(|| shipped::compiled(written, &self.page.text)),
        }
    }

    /// The same to change it.
    pub(crate) fn asks_mut(&mut self) -> &mut Compiled {
        self.asks();
        match &mut self.asks {
            Asks::Loaded(compiled) => compiled,
            Asks::Shipped(_, once) => once.get_mut().expect("compiled above"),
        }
    }

    /// Part of the tool.
    pub(crate) fn is_shipped(&self) -> bool {
        matches!(self.asks, Asks::Shipped(..))
    }

    /// Whether it judges findings of others.
    pub fn judges_findings(&self) -> bool {
        self.noun.is_findings()
    }

    /// Whether it judges readings.
    pub fn judges_readings(&self) -> bool {
        self.noun.is_readings()
    }

    /// Whether it judges what only an as-found record can say.
    pub(crate) fn judges_records(&self) -> bool {
        self.noun.is_readings() || self.asks().filters.iter().any(|filter| of_records(&filter.code))
    }

    /// Texts under the headings, in the order of `HEADINGS`.
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
        self.severities.iter().any(|severity| severity.to_people)
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
        let mut levels: Vec<Severity> = self.severities.iter().map(|said| self.set(*said)).collect();
        levels.sort_unstable_by(|a, b| b.cmp(a));
        levels.dedup();
        levels
    }
}

/// A limit as the rule says it.
pub(super) fn limit(name: String, said: &Quantity) -> Limit {
    let (value, dim) = figure(said);
    Limit { name, value, dim, written: value.value, set: None }
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
