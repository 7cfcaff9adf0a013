//! The rule files that come with the tool: their texts, and what the build has read in them (`src/build.rs`).

use std::borrow::Cow;

use super::ast::RuleSaid;
use super::head::Head;
use super::load;
use super::page::FileText;
use super::parse::parse;
use super::rule::{Compiled, Rule};
use crate::source::{FileId, Problem};

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

/// What the build has read in each shipped file, written out; [`read_anew`] has to give the same.
pub fn as_built() -> Vec<String> {
    let read = |rules: Vec<(Head, Written)>| -> Vec<_> {
        rules.into_iter().map(|(head, written)| (head, said(written))).collect()
    };
    table().into_iter().map(|rules| format!("{:?}", read(rules))).collect()
}

/// What stands in each shipped file, read from its text; or the problems of all.
pub fn read_anew() -> Result<Vec<String>, Vec<Problem>> {
    let (mut files, mut all) = (Vec::new(), Vec::new());
    for (at, (_, text)) in SHIPPED.iter().enumerate() {
        let (read, problems) = parse(FileId(at as u32), text);
        all.extend(problems);
        let rules: Vec<_> = read.rules.into_iter().map(|said| (Head::of(&said), said)).collect();
        files.push(format!("{rules:?}"));
    }
    if all.is_empty() { Ok(files) } else { Err(all) }
}
