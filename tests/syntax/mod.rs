//! Text to tree and back.

mod extracts;
mod hints;
mod mistakes;
mod roundtrip;
mod table;

use asfound::source::{FileId, Problem, Source};
use asfound::syntax::document::parse;
use asfound::syntax::tree::Document;

/// The problems of a text, one a line: `line:column code message | label | help`.
fn told(text: &str) -> String {
    let (_, problems) = parse(FileId(0), text);
    let source = Source::new("x.amp", text);
    let one = |p: &Problem| {
        let (line, column) = source.line_column(p.span().start);
        format!(
            "{line}:{column} {} {} | {} | {}\n",
            p.code.word(),
            p.message,
            p.labels[0].1,
            p.help.as_deref().unwrap_or("")
        )
    };
    problems.iter().map(one).collect()
}

/// A tree in words, its places left out.
fn shape(document: &Document) -> String {
    let text = format!("{:#?}", document.lines);
    let spans = |line: &&str| {
        let value =
            line.trim().trim_start_matches("span: ").trim_start_matches("word: ").trim_end_matches(',');
        !value.split([':', '.']).all(|piece| piece.bytes().all(|b| b.is_ascii_digit()))
            || !value.contains("..")
    };
    text.lines().filter(spans).collect::<Vec<_>>().join("\n")
}

mod types;
mod whole;
