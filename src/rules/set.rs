//! All rules in use: the shipped ones, and packs on top that add rules and change or switch off others.

use std::borrow::Cow;
use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::model::Condition;
use crate::source::{FileId, Problem, ProblemCode, has_words, nearest};

use super::ast::{FileSaid, Override, Overriding, Word};
use super::compile::figure;
use super::laxer::{Refused, laxer};
use super::level::Level;
use super::load::load;
use super::page::FileText;
use super::parse::parse;
use super::rule::{Compiled, Rule};
use super::shipped;
use super::value::printed;

/// Rules by name.
#[derive(Debug, Clone, Default)]
pub struct RuleSet {
    rules: BTreeMap<String, Rule>,
}

impl RuleSet {
    /// The rules that come with the tool.
    pub fn shipped() -> RuleSet {
        RuleSet { rules: shipped::rules().map(|rule| (rule.name.clone(), rule)).collect() }
    }

    /// Rules from texts alone, with everything that is wrong with them.
    pub fn load(texts: &[(FileId, &str)]) -> (RuleSet, Vec<Problem>) {
        RuleSet::default().extended(texts)
    }

    /// These rules with packs on top. A rule with a problem is left out, a change to one as well.
    #[must_use]
    pub fn extended(self, texts: &[(FileId, &str)]) -> (RuleSet, Vec<Problem>) {
        let of = |(file, text): &(FileId, &str)| {
            let (said, problems) = parse(*file, text);
            read(&FileText::new(Cow::Owned((*text).to_owned())), said, problems)
        };
        self.with(texts.par_iter().map(of).collect())
    }

    fn with(mut self, texts: Vec<Read>) -> (RuleSet, Vec<Problem>) {
        let mut problems = Vec::new();
        let mut overrides = Vec::new();
        for mut text in texts {
            problems.append(&mut text.problems);
            for (rule, name) in text.rules {
                self.insert(rule, &name, &mut problems);
            }
            overrides.extend(text.changes);
        }
        for change in overrides {
            self.change(change, &mut problems);
        }
        (self, problems)
    }

    /// These rules where only one condition is judged: rules that don't judge in it are left out, and those that look at
    /// all findings. A danger to people is judged wherever it is there.
    #[must_use]
    pub fn only_in(mut self, condition: Condition) -> RuleSet {
        let judges =
            |asks: &Compiled| asks.conditions.as_ref().is_none_or(|among| among.contains(&condition));
        self.rules.retain(|_, rule| !rule.asks().last && (rule.endangers_people() || judges(rule.asks())));
        for rule in self.rules.values_mut().filter(|rule| !rule.endangers_people()) {
            if let Some(among) = &mut rule.asks_mut().conditions {
                *among = vec![condition];
            }
        }
        self
    }

    /// Every rule in order of names.
    pub fn rules(&self) -> impl Iterator<Item = &Rule> {
        self.rules.values()
    }

    /// Whether a rule judges findings of others.
    pub fn judges_findings(&self, name: &str) -> bool {
        self.rule(name).is_some_and(|rule| rule.noun.is_findings())
    }

    /// Whether a rule judges what only an as-found record can say: its readings, what was looked at.
    pub fn judges_records(&self, name: &str) -> bool {
        self.rule(name).is_some_and(Rule::judges_records)
    }

    /// A rule by name.
    pub fn rule(&self, name: &str) -> Option<&Rule> {
        self.rules.get(name)
    }

    fn insert(&mut self, rule: Option<Rule>, name: &Word, problems: &mut Vec<Problem>) {
        if let Some(first) = self.rules.get(&name.value) {
            let words = format!("there is a rule `{}` already", name.value);
            let problem = Problem::error(ProblemCode::RuleTwice, name.span, words);
            problems.push(if first.is_shipped() {
                problem.help("it comes with the tool; `set` and `off` change it, or take another name")
            } else {
                problem.also(first.declared, "first here")
            });
            return;
        }
        if let Some(rule) = rule {
            self.rules.insert(rule.name.clone(), rule);
        }
    }

    fn change(&mut self, said: Override, problems: &mut Vec<Problem>) {
        let Some(rule) = self.rules.get_mut(&said.rule.value) else {
            let words = format!("there is no rule `{}`", said.rule.value);
            let problem = Problem::error(ProblemCode::UnknownRule, said.rule.span, words);
            problems.push(match nearest(&said.rule.value, self.rules.keys().map(String::as_str)) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem.help("`asfound rules` lists them"),
            });
            return;
        };
        if let Some(because) = said.because.as_ref().filter(|because| !has_words(&because.value)) {
            let problem = Problem::error(ProblemCode::NoReason, because.span, "the reason says nothing");
            problems.push(problem.help("write why, for whoever reads it after you"));
        } else if let Err(problem) = changed(rule, said) {
            problems.push(problem);
        }
    }
}

/// Changes a rule as a pack says, unless that took a danger to people away.
fn changed(rule: &mut Rule, said: Override) -> Result<(), Problem> {
    let because = said.because.map(|because| because.value);
    match said.change {
        Overriding::Off if rule.endangers_people() => {
            let words = format!("`{}` is a danger to people, which no pack switches off", rule.name);
            return Err(Problem::error(ProblemCode::DangerToPeople, said.rule.span, words).help(MEND));
        }
        Overriding::Level(level) if rule.endangers_people() && level.value < Level::Danger => {
            let words = format!("`{}` is a danger to people, which no pack lowers", rule.name);
            return Err(Problem::error(ProblemCode::DangerToPeople, level.span, words).help(MEND));
        }
        Overriding::Off => rule.off = because,
        Overriding::Level(level) => rule.level_set = Some((level.value, because.unwrap_or_default())),
        Overriding::Limit { limit, value } => {
            let (number, dim) = figure(&value.value);
            let index = limit_of(rule, &limit)?;
            let known = &rule.limits[index];
            if known.dim != dim {
                let words = format!("`{}` is in {}, this is {}", known.name, known.dim.words(), dim.words());
                return Err(Problem::error(ProblemCode::UnitsDiffer, value.span, words));
            }
            if let Some(refused) = laxer(rule, index, number.value) {
                let written = printed(known.written, dim, 3);
                let words = match refused {
                    Refused::Laxer => format!(
                        "`{}` at {} lets dangers to people pass that the rule's {written} flags",
                        known.name,
                        printed(number.value, dim, 3)
                    ),
                    Refused::CannotTell => format!(
                        "`{}` is a limit of a danger to people, and which way is the safer one can't be told",
                        known.name
                    ),
                };
                let help = format!("leave it at {written}, or set it the stricter way");
                return Err(Problem::error(ProblemCode::DangerToPeople, value.span, words).help(help));
            }
            let words =
                format!("{}, {} as written", printed(number.value, dim, 3), printed(known.written, dim, 3));
            let limit = &mut rule.limits[index];
            (limit.value, limit.set) = (number, Some((words, because)));
        }
    }
    Ok(())
}

/// What to do where a pack would take a danger to people away.
const MEND: &str = "take this line out; such a danger goes when the fault is mended";

fn limit_of(rule: &Rule, limit: &Word) -> Result<usize, Problem> {
    rule.limits.iter().position(|l| l.name == limit.value).ok_or_else(|| {
        let words = format!("`{}` has no limit `{}`", rule.name, limit.value);
        let names = rule.limits.iter().map(|l| l.name.as_str()).collect::<Vec<_>>().join(", ");
        let help = if names.is_empty() { "it has none".to_owned() } else { format!("it has: {names}") };
        Problem::error(ProblemCode::UnknownLimit, limit.span, words).help(help)
    })
}

/// What one text says.
struct Read {
    /// Rules with their names; `None` for one with a problem.
    rules: Vec<(Option<Rule>, Word)>,
    /// Changes to other rules.
    changes: Vec<Override>,
    problems: Vec<Problem>,
}

fn read(text: &FileText, said: FileSaid, mut problems: Vec<Problem>) -> Read {
    let rules = said.rules.iter().map(|rule| (load(text, rule, &mut problems), rule.name.clone()));
    Read { rules: rules.collect(), changes: said.overrides, problems }
}
