//! The table of words and the grammar hold each other.

use std::collections::BTreeSet;

use asfound::model::Kind;
use asfound::source::FileId;
use asfound::syntax::document::parse;
use asfound::syntax::tree::Said;
use asfound::syntax::words::{A_PART, KINDS, KindWord, STATEMENTS, StatementWord, entry, reference};

use super::told;

const GRAMMAR: &str = include_str!("../../grammar/document.pest");

/// A document of the first kind that takes a statement, with the statement in it.
fn document(row: &StatementWord) -> String {
    let header = match row.documents[0].word() {
        word if word == row.word => return row.example.to_owned(),
        "as-found" => "as-found \"job\" of \"a.amp\"",
        "plan" => "plan \"job\" for \"a.amp\"",
        "as-left" => "as-left \"job\" after \"a.amp\"",
        _ => "stock \"a\"",
    };
    format!("{header}\n{}\n", row.example)
}

#[test]
fn every_example_of_a_statement_is_read_as_that_statement() {
    for row in STATEMENTS {
        let text = document(row);
        assert_eq!(told(&text), "", "{text}");
        let (read, _) = parse(FileId(0), &text);
        let said = &read.statements().last().unwrap().said;
        assert_eq!(StatementWord::of(said).word, row.word, "{text}");
    }
}

#[test]
fn every_example_of_a_kind_is_read_as_that_kind() {
    assert_eq!(KINDS.map(|row| row.kind), Kind::ALL);
    for kind in Kind::ALL {
        let row = KindWord::of(kind);
        let text = format!("stock \"a\"\n{}\n", row.example);
        assert_eq!(told(&text), "", "{text}");
        let (read, _) = parse(FileId(0), &text);
        let Some(Said::Part(part)) = read.statements().last().map(|s| &s.said) else { panic!("{text}") };
        assert_eq!(part.kind.value, kind, "{text}");
    }
}

/// The words between quotes in the grammar's rules whose name begins so.
fn keyword_rules() -> BTreeSet<&'static str> {
    GRAMMAR.lines().filter(|line| line.starts_with("k_")).filter_map(|line| line.split('"').nth(1)).collect()
}

/// Every word that the table shows, in its keywords, slots and examples.
fn shown() -> BTreeSet<&'static str> {
    let texts = STATEMENTS.iter().flat_map(|row| [row.word, row.slots, row.example]);
    let kinds = KINDS.iter().flat_map(|row| {
        [row.kind.word(), row.slots, row.example].into_iter().chain(row.also.iter().copied())
    });
    texts.chain(kinds).flat_map(|text| text.split([' ', '[', ']', '|', '…', ';'])).collect()
}

#[test]
fn every_keyword_of_the_grammar_is_in_the_table() {
    let missing: Vec<&str> = keyword_rules().difference(&shown()).copied().collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn every_word_of_the_table_is_a_keyword_of_the_grammar() {
    let start = GRAMMAR.find("reserved = _{").unwrap();
    let reserved: BTreeSet<&str> = GRAMMAR[start..].split('"').skip(1).step_by(2).collect();
    let words = STATEMENTS.iter().map(|row| row.word).filter(|word| *word != A_PART);
    let kinds = Kind::ALL.map(Kind::word);
    for word in words.chain(kinds).chain(keyword_rules()) {
        assert!(reserved.contains(word), "{word} is not reserved");
    }
    // A word before a longer one that begins with it would hide it.
    let order: Vec<&str> = GRAMMAR[start..].split('"').skip(1).step_by(2).collect();
    for (at, word) in order.iter().enumerate() {
        let hidden = order[at..].iter().find(|later| later.len() > word.len() && later.starts_with(word));
        assert_eq!(hidden, None, "{word} stands before it");
    }
}

#[test]
fn the_reference_shows_every_row() {
    let text = reference();
    for example in STATEMENTS.iter().map(|row| row.example).chain(KINDS.iter().map(|row| row.example)) {
        assert!(text.contains(example), "{example}");
    }
    insta::assert_snapshot!(entry(StatementWord::named("lifted").unwrap()), @r"
    NAME lifted at PLACE | LEG lifted
      one leg is out of its joint
      in           as-found, as-left
      for example  R40 lifted at B2
    ");
}
