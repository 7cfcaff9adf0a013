//! Messages: text with `{…}` in it, each read as an expression in its exact place.

use pest::iterators::Pair;

use crate::source::{Problem, ProblemCode};

use super::ast::{AdviceSaid, Message, PieceSaid};
use super::parse::{At, Rule, part};
use super::parse_expr::parse_one;

/// The words of an advice, and whether acceptance may be offered.
pub(super) fn advice(at: At, parts: &[Pair<'_, Rule>]) -> Option<AdviceSaid> {
    let or_accept = part(parts, Rule::or_accept).is_some();
    Some(AdviceSaid { text: message(at, parts)?, or_accept })
}

/// The string among a clause's parts as a message.
pub(super) fn message(at: At, parts: &[Pair<'_, Rule>]) -> Option<Message> {
    let text = part(parts, Rule::string)?.into_inner().next()?;
    let inside = At { offset: at.offset + text.as_span().start(), ..at };
    Some(Message { span: at.span(&text), pieces: pieces(inside, text.as_str()) })
}

fn pieces(at: At, text: &str) -> Vec<PieceSaid> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        pieces.push(PieceSaid::Text(spaced(&rest[..open])));
        let from = text.len() - rest.len() + open;
        let Some(close) = rest[open..].find('}') else {
            let problem = Problem::error(
                ProblemCode::UnclosedBrace,
                at.range(from, from + 1),
                "this `{` is never closed",
            );
            pieces.push(PieceSaid::Wrong(problem.help("add `}`")));
            return pieces;
        };
        let inside = At { offset: at.offset + from + 1, ..at };
        pieces.push(match parse_one(inside, &rest[open + 1..open + close]) {
            Ok(expr) => PieceSaid::Value(expr),
            Err(problem) => PieceSaid::Wrong(problem),
        });
        rest = &rest[open + close + 1..];
    }
    pieces.push(PieceSaid::Text(spaced(rest)));
    pieces
}

/// Runs of spaces and line ends as one space; one at either end stays.
fn spaced(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        let c = if c.is_whitespace() { ' ' } else { c };
        if c != ' ' || !out.ends_with(' ') {
            out.push(c);
        }
    }
    out
}
