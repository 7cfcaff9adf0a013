//! What a rule says before any name in it is looked up: all that a list of rules, its page and a change to it need.
//!
//! The build takes this out of the shipped rules, so that a start compiles none of them.

use serde::{Deserialize, Serialize};

use crate::units::Quantity;

use super::ast::{Clause, LevelSaid, RuleSaid, Word};
use super::level::Severity;
use super::page::Slices;

/// The head of one rule.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Head {
    pub(crate) name: Word,
    /// The word after `for each`; a rule without one can't be used.
    pub(crate) noun: Option<String>,
    /// Figures with a name, which packs may set.
    pub(crate) limits: Vec<(String, Quantity)>,
    /// Of its level lines, worst first.
    pub(crate) severities: Vec<Severity>,
    pub(crate) page: Slices,
}

impl Head {
    /// The head of a rule as written.
    pub(crate) fn of(said: &RuleSaid) -> Head {
        let mut nouns = said.clauses.iter().filter_map(|clause| match clause {
            Clause::Select { noun, .. } => Some(noun.value.clone()),
            _ => None,
        });
        let limits = said.clauses.iter().filter_map(|clause| match clause {
            Clause::Limit { name, value } => Some((name.value.clone(), value.value)),
            _ => None,
        });
        Head {
            name: said.name.clone(),
            noun: nouns.next(),
            limits: limits.collect(),
            severities: levels(said).into_iter().map(LevelSaid::severity).collect(),
            page: Slices::of(&said.clauses),
        }
    }
}

/// The level lines of a rule, worst first: in this order they are asked.
pub(crate) fn levels(said: &RuleSaid) -> Vec<&LevelSaid> {
    let lines = said.clauses.iter().filter_map(|clause| match clause {
        Clause::Level(line) => Some(line),
        _ => None,
    });
    let mut lines: Vec<&LevelSaid> = lines.collect();
    lines.sort_by_key(|line| std::cmp::Reverse(line.severity()));
    lines
}
