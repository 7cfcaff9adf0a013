//! What a document as a whole must be: one header, and only statements that its kind takes.

use super::tree::{Document, Header, Said, Statement};
use super::words::{A_PART, StatementWord};
use crate::model::DocumentKind;
use crate::source::{Problem, ProblemCode, Span};

/// The problems of a document as a whole.
pub fn check(document: &Document) -> Vec<Problem> {
    let mut problems = Vec::new();
    let headers: Vec<(&Statement, &Header)> = document
        .statements()
        .filter_map(|s| match &s.said {
            Said::Header(header) => Some((s, header)),
            _ => None,
        })
        .collect();
    let Some((first, header)) = headers.first() else {
        problems.push(headless(document));
        return problems;
    };
    for (second, _) in &headers[1..] {
        problems.push(
            Problem::error(ProblemCode::TwoHeaders, second.word, "not one document: a second header")
                .here("second header")
                .also(first.word, "first header")
                .help("keep one, or make two files"),
        );
    }
    problems.extend(base(header));
    let kind = header.kind.value;
    for statement in document.statements() {
        let row = StatementWord::of(&statement.said);
        if !matches!(statement.said, Said::Header(_)) && !row.stands_in(kind) {
            problems.push(misplaced(statement, row, kind, header.kind.span));
        }
        if matches!(kind, DocumentKind::AsFound | DocumentKind::AsLeft) {
            problems.extend(read_at_the_wall(&statement.said));
        }
        if matches!(statement.said, Said::Insulation(_)) && kind == DocumentKind::Stock {
            problems.extend(header.base.as_ref().map(|base| varied_insulation(statement, base.span)));
        }
    }
    problems
}

/// In a record `mains` is what the meter showed; what it ought to be is the stock spec's to say.
fn read_at_the_wall(said: &Said) -> Option<Problem> {
    let Said::Mains { hertz, limits, .. } = said else { return None };
    let beyond =
        hertz.map(|hertz| hertz.span).or(limits.as_ref().map(|(low, high)| low.span.to(high.span)))?;
    let problem = Problem::error(
        ProblemCode::WrongDocument,
        beyond,
        "not for a record: more than the volts that were read",
    );
    Some(
        problem
            .here("the stock spec says this")
            .help("write the volts at the time of the readings: `mains 231V`"),
    )
}

/// No header: placed at the first statement, or at the start of an empty text.
fn headless(document: &Document) -> Problem {
    let start = Span { file: document.file, start: 0, end: 0 };
    match document.statements().next() {
        Some(first) => Problem::error(
            ProblemCode::NoHeader,
            first.span,
            "not told what kind of document this is",
        )
        .here("a document opens with its header")
        .help(
            "begin with `stock \"MODEL\"`, `as-found \"JOB\" of \"FILE\"`, `plan \"TITLE\" for \"FILE\"` \
                 or `as-left \"JOB\" after \"FILE\"`",
        ),
        None => Problem::error(ProblemCode::EmptyDocument, start, "not a document: it says nothing")
            .here("no statement in it")
            .help("begin with a header such as `stock \"MODEL\"`"),
    }
}

/// A layer rests on a document; type data rests on none.
fn base(header: &Header) -> Option<Problem> {
    let kind = header.kind.value;
    match (&header.base, kind) {
        (None, DocumentKind::AsFound | DocumentKind::Plan | DocumentKind::AsLeft) => Some(
            Problem::error(
                ProblemCode::NoBase,
                header.title.span,
                format!("not told what this {} rests on", name(kind)),
            )
            .here("on which document?")
            .help(format!(
                "write `{} \"{}\" {} \"FILE.amp\"`",
                kind.word(),
                header.title.value,
                kind.preposition()
            )),
        ),
        (Some(base), DocumentKind::TypeData) => Some(
            Problem::error(
                ProblemCode::BaseNotWanted,
                base.span,
                "not for type data: it rests on no document",
            )
            .here("rests on nothing")
            .help("to take in another file write `types from \"FILE\"`"),
        ),
        _ => match (&header.base, &header.pin) {
            (None, Some(pin)) => Some(
                Problem::error(
                    ProblemCode::BaseNotWanted,
                    pin.span,
                    "not to be pinned: it rests on no document",
                )
                .here("pins nothing")
                .help("leave the pin out"),
            ),
            _ => None,
        },
    }
}

/// The name of a kind of document in running text.
fn name(kind: DocumentKind) -> &'static str {
    match kind {
        DocumentKind::Stock => "stock spec",
        DocumentKind::AsFound => "as-found record",
        DocumentKind::Plan => "plan",
        DocumentKind::AsLeft => "as-left record",
        DocumentKind::TypeData => "type-data file",
    }
}

fn article(kind: DocumentKind) -> String {
    let article = if matches!(kind, DocumentKind::AsFound | DocumentKind::AsLeft) { "an" } else { "a" };
    format!("{article} {}", name(kind))
}

/// How a model is insulated is no matter of production: a variant that is built otherwise is another model.
fn varied_insulation(statement: &Statement, base: Span) -> Problem {
    Problem::error(ProblemCode::InsulationOfALayer, statement.word, "not for a variant: `insulation`")
        .here("the protection class is the model's")
        .also(base, "this document rests on another")
        .help("state it in the stock spec beneath, or write a whole stock spec of this model")
}

/// A statement that stands in a document of the wrong kind.
fn misplaced(statement: &Statement, row: &StatementWord, kind: DocumentKind, header: Span) -> Problem {
    let word = match &statement.said {
        Said::Part(part) => part.kind.value.word(),
        _ => row.word,
    };
    let takers: Vec<String> = row.documents.iter().map(|k| article(*k)).collect();
    let mut help = format!("`{word}` is for {}", takers.join(" or "));
    let here: Vec<&StatementWord> = row
        .instead
        .iter()
        .filter_map(|word| StatementWord::named(word))
        .filter(|other| other.stands_in(kind))
        .collect();
    let instead: Vec<String> = here
        .iter()
        .map(|other| match (row.word, other.word) {
            (A_PART, other) => format!("`{other} {word} …`"),
            (_, A_PART) => "the part alone, as `resistor R4 100k …`".to_owned(),
            _ => format!("`{}`", other.slots),
        })
        .collect();
    if !instead.is_empty() {
        help = format!("{help}; in {} write {}", article(kind), instead.join(" or "));
    }
    Problem::error(ProblemCode::WrongDocument, statement.word, format!("not for {}: `{word}`", article(kind)))
        .here(format!("{} takes no `{word}`", article(kind)))
        .also(header, format!("this is {}", article(kind)))
        .help(help)
}
