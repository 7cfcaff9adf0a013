//! The rule files that come with the tool: their texts, and what the build has read in them (`src/build.rs`).

use std::borrow::Cow;

use super::ast::RuleSaid;
use super::head::Head;
use super::load;
use super::page::FileText;
use super::rule::{Compiled, Rule};

include!(concat!(env!("OUT_DIR"), "/shipped_rules.rs"));

/// A rule as the build has written it down. Only its head is read at a start.
pub(crate) type Written = &'static [u8];

/// What the build has read in each file: heads, and the rules themselves.
fn table() -> Vec<Vec<(Head, Written)>> {
    let table = include_bytes!(concat!(env!("OUT_DIR"), "/shipped_rules.table"));
    postcard::from_bytes(table).expect("the build wrote the table with these very types")
}

/// The rules of every file.
pub(crate) fn rules() -> impl Iterator<Item = Rule> {
    SHIPPED.iter().zip(table()).flat_map(|((_, text), rules)| {
        let text = FileText::new(Cow::Borrowed(*text));
        rules.into_iter().map(move |(head, written)| Rule::shipped(head, &text, written))
    })
}

/// What a shipped rule asks.
pub(crate) fn compiled(written: &[u8], text: &str) -> Compiled {
    load::shipped(&said(written), text).expect("a test compiles every shipped rule")
}

fn said(written: &[u8]) -> RuleSaid {
    postcard::from_bytes(written).expect("the build wrote the rule with this very type")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::parse::parse;
    use crate::source::FileId;

    /// What the tool carries along is what its reader finds in the texts now.
    #[test]
    fn the_table_of_shipped_rules_is_not_stale() {
        let table = table();
        assert_eq!(table.len(), SHIPPED.len());
        for (at, ((path, text), rules)) in SHIPPED.iter().zip(&table).enumerate() {
            let (now, problems) = parse(FileId(at as u32), text);
            assert!(problems.is_empty(), "{path}: {problems:?}");
            assert!(now.overrides.is_empty(), "{path} changes other rules");
            let read: Vec<_> = rules.iter().map(|(head, written)| (head.clone(), said(written))).collect();
            let now: Vec<_> = now.rules.into_iter().map(|said| (Head::of(&said), said)).collect();
            assert_eq!(format!("{now:?}"), format!("{read:?}"), "{path}");
        }
    }

    /// A run compiles what it needs and expects no fault there: every rule is compiled here.
    #[test]
    fn every_shipped_rule_compiles() {
        let compiled = rules().map(|rule| rule.asks().levels.len());
        assert!(compiled.sum::<usize>() >= SHIPPED.len());
    }
}
