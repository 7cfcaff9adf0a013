//! Text to tree and back.

use asfound::source::{FileId, Problem, Source};
use asfound::syntax::document::parse;

mod extracts;

/// The problems of a text, one a line: `line:column code message | label | help`.
fn told(text: &str) -> String {
    let (_, problems) = parse(FileId(0), text);
    let source = Source::new("x.amp", text);
    let one = |p: &Problem| {
        let (line, column) = source.line_column(p.span().start);
        format!(
            "{line}:{column} {} {} | {} | {}\n",
            p.code,
            p.message,
            p.labels[0].1,
            p.help.as_deref().unwrap_or("")
        )
    };
    problems.iter().map(one).collect()
}
mod tmp;
