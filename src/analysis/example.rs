//! A rule's example documents to the facts that the rule is asked about.

use std::collections::BTreeMap;

use super::audit::each_worked;
use super::circuits;
use crate::load::load;
use crate::rules::{Facts, RuleSet};
use crate::source::{Problem, Sources};

/// Documents, lowest first, each a name and a text, to facts; or why they can't be, in one sentence a fault.
pub fn example_facts(rules: &RuleSet, documents: &[(String, String)]) -> Result<Facts, String> {
    let texts: BTreeMap<&str, &str> = documents.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    let (top, _) = documents.last().ok_or("the example has no document")?;
    let mut read = |path: &str| {
        texts.get(path).map(|t| (*t).to_owned()).ok_or_else(|| format!("the example has no document {path}"))
    };
    let loaded = load(top, &mut read)?;
    let (stack, _) = circuits(&loaded).map_err(|problems| told(&problems, &loaded.sources))?;
    let (worked, restless) = each_worked(&stack);
    let unsolved: Vec<Problem> = restless.iter().map(|one| one.problem(&worked)).collect();
    if !unsolved.is_empty() {
        return Err(told(&unsolved, &loaded.sources));
    }
    Facts::of_stack(rules, &worked).ok_or_else(|| "the example has no document".to_owned())
}

fn told(problems: &[Problem], sources: &Sources) -> String {
    let one = |p: &Problem| {
        let help = p.help.as_ref().map_or(String::new(), |help| format!(" ({help})"));
        format!("{}: {}{help}", sources.place(p.span()), p.message)
    };
    problems.iter().map(one).collect::<Vec<_>>().join("; ")
}
