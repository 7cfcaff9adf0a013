//! All rules in use: the shipped ones, and packs on top that add rules and change or switch off others.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::solve::Condition;
use crate::source::{FileId, Problem, nearest};

use super::ast::{Override, Word};
use super::compile::figure;
use super::load::load;
use super::parse::parse;
use super::rule::Rule;
use super::shipped::SHIPPED;

/// Rules by name.
#[derive(Debug, Clone, Default)]
pub struct RuleSet {
    rules: BTreeMap<String, Rule>,
}

impl RuleSet {
    /// The rules that come with the tool.
    pub fn shipped() -> RuleSet {
        let texts: Vec<(FileId, &str)> =
            SHIPPED.iter().enumerate().map(|(i, (_, text))| (FileId(i as u32), *text)).collect();
        let (mut set, _) = RuleSet::load(&texts);
        set.rules.values_mut().for_each(|rule| rule.shipped = true);
        set
    }

    /// Rules from texts alone, with everything that is wrong with them.
    pub fn load(texts: &[(FileId, &str)]) -> (RuleSet, Vec<Problem>) {
        RuleSet::default().extended(texts)
    }

    /// These rules with packs on top. A rule with a problem is left out, a change to one as well.
    #[must_use]
    pub fn extended(mut self, texts: &[(FileId, &str)]) -> (RuleSet, Vec<Problem>) {
        let mut problems = Vec::new();
        let mut overrides = Vec::new();
        for mut text in texts.par_iter().map(read).collect::<Vec<_>>() {
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
    /// all findings.
    #[must_use]
    pub fn only_in(mut self, condition: Condition) -> RuleSet {
        self.rules.retain(|_, rule| {
            !rule.last && rule.conditions.as_ref().is_none_or(|among| among.contains(&condition))
        });
        for rule in self.rules.values_mut().filter(|rule| rule.conditions.is_some()) {
            rule.conditions = Some(vec![condition]);
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
            let problem = Problem::error("rule-twice", name.span, words);
            problems.push(if first.shipped {
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

    fn change(&mut self, change: Override, problems: &mut Vec<Problem>) {
        let (Override::Off { rule: name, .. }
        | Override::Level { rule: name, .. }
        | Override::Limit { rule: name, .. }) = &change;
        let Some(rule) = self.rules.get_mut(&name.value) else {
            let problem =
                Problem::error("unknown-rule", name.span, format!("there is no rule `{}`", name.value));
            problems.push(match nearest(&name.value, self.rules.keys().map(String::as_str)) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem.help("`asfound rules` lists them"),
            });
            return;
        };
        match change {
            Override::Off { rule: name, because } | Override::Level { rule: name, because, .. }
                if because.trim().is_empty() =>
            {
                problems.push(Problem::error("no-reason", name.span, "the reason says nothing"));
            }
            Override::Off { because, .. } => rule.off = Some(because),
            Override::Level { level, because, .. } => rule.level_set = Some((level, because)),
            Override::Limit { limit, value, .. } => {
                let (number, dim) = figure(&value.value);
                let Some(known) = rule.limits.iter_mut().find(|l| l.name == limit.value) else {
                    let words = format!("`{}` has no limit `{}`", name_of(rule), limit.value);
                    let names = rule.limits.iter().map(|l| l.name.as_str()).collect::<Vec<_>>().join(", ");
                    problems.push(
                        Problem::error("unknown-limit", limit.span, words).help(format!("it has: {names}")),
                    );
                    return;
                };
                if known.dim == dim {
                    known.value = number;
                } else {
                    let words =
                        format!("`{}` is in {}, this is {}", known.name, known.dim.words(), dim.words());
                    problems.push(Problem::error("units-differ", value.span, words));
                }
            }
        }
    }
}

/// What one text says.
struct Read {
    /// Rules with their names; `None` for one with a problem.
    rules: Vec<(Option<Rule>, Word)>,
    /// Changes to other rules.
    changes: Vec<Override>,
    problems: Vec<Problem>,
}

fn read((file, text): &(FileId, &str)) -> Read {
    let (said, mut problems) = parse(*file, text);
    let rules = said.rules.iter().map(|rule| (load(*file, text, rule, &mut problems), rule.name.clone()));
    Read { rules: rules.collect(), changes: said.overrides, problems }
}

fn name_of(rule: &Rule) -> &str {
    &rule.name
}
