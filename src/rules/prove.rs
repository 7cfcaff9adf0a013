//! Rules against their own examples: what must be flagged, and what must pass.

use super::check::check;
use super::facts::Facts;
use super::finding::Verdicts;
use super::page::Example;
use super::rule::Rule;
use super::set::RuleSet;

/// Turns the documents of an example (lowest first, name and text) into facts, or says why it can't.
pub type Solve<'a> = &'a dyn Fn(&[(String, String)]) -> Result<Facts, String>;

/// An example that disagrees with its rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// The rule.
    pub rule: String,
    /// Which of its examples, from 1.
    pub example: usize,
    /// What is wrong.
    pub why: String,
}

/// Proves every rule.
pub fn prove(set: &RuleSet, solve: Solve<'_>) -> Vec<Broken> {
    set.rules().flat_map(|rule| prove_rule(set, rule, solve)).collect()
}

/// Proves one rule.
pub fn prove_rule(set: &RuleSet, rule: &Rule, solve: Solve<'_>) -> Vec<Broken> {
    let examples = rule.examples();
    let examples = examples.iter().enumerate();
    examples
        .filter_map(|(index, example)| {
            let why = match solve(&example.documents) {
                Ok(facts) => disagrees(rule, example, &check(set, &facts))?,
                Err(why) => why,
            };
            Some(Broken { rule: rule.name.clone(), example: index + 1, why })
        })
        .collect()
}

fn disagrees(rule: &Rule, example: &Example, verdicts: &Verdicts) -> Option<String> {
    let tally = verdicts.tally(&rule.name).unwrap_or_default();
    let reasons = || {
        let own = verdicts.could_not_tell.iter().filter(|c| c.rule == rule.name);
        own.map(|c| format!("{}: {}", c.subject, c.missing)).collect::<Vec<_>>().join("; ")
    };
    if !example.flags {
        return match (tally.flagged, tally.could_not_tell) {
            (0, 0) => None,
            (0, _) => Some(format!("could not tell: {}", reasons())),
            _ => {
                let own = verdicts.findings.iter().filter(|f| f.rule == rule.name);
                Some(format!("flagged: {}", own.map(|f| f.message.clone()).collect::<Vec<_>>().join("; ")))
            }
        };
    }
    let found = verdicts.findings.iter().find(|f| f.rule == rule.name);
    match (found, example.severity) {
        (None, _) if tally.could_not_tell > 0 => Some(format!("not flagged, could not tell: {}", reasons())),
        (None, _) => Some(format!("not flagged: {} passed", tally.passed)),
        (Some(f), Some(wanted)) if f.severity() != wanted => {
            Some(format!("flagged as {}, not {}: {}", f.severity().words(), wanted.words(), f.message))
        }
        (Some(f), _) if f.message.contains("unknown") => {
            Some(format!("its message has a gap: {}", f.message))
        }
        _ => None,
    }
}
