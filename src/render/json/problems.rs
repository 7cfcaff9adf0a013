//! Problems and failures as JSON.

use serde::Serialize;

use crate::source::{Problem, Severity, Sources, Span};

/// Most characters of a text's own words at a place.
const LONGEST_TEXT: usize = 200;

/// A place in a text.
#[derive(Debug, Clone, Serialize)]
pub struct PlaceJson {
    /// Path as named.
    pub path: String,
    /// From 1.
    pub line: usize,
    /// From 1, in characters.
    pub column: usize,
    /// The words there.
    pub text: String,
    /// What is said of it.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub label: String,
}

impl PlaceJson {
    /// The place of a span.
    pub fn of(span: Span, sources: &Sources) -> PlaceJson {
        let source = sources.source(span.file);
        let (line, column) = source.line_column(span.start);
        let text: String = sources.text(span).chars().take(LONGEST_TEXT).collect();
        PlaceJson { path: source.path.clone(), line, column, text, label: String::new() }
    }
}

/// One problem.
#[derive(Debug, Clone, Serialize)]
pub struct ProblemJson {
    code: &'static str,
    severity: &'static str,
    message: String,
    places: Vec<PlaceJson>,
    help: Option<String>,
}

/// What stopped a run.
#[derive(Debug, Serialize)]
pub struct FailureJson {
    schema: &'static str,
    /// One sentence, where the fault is not in a text.
    failure: Option<String>,
    problems: Vec<ProblemJson>,
}

impl FailureJson {
    /// A failure that is no problem of a text.
    pub fn of(failure: Option<String>, problems: Vec<ProblemJson>) -> FailureJson {
        FailureJson { schema: "asfound/trouble/1", failure, problems }
    }
}

/// Problems in the order given.
pub fn problems(problems: &[Problem], sources: &Sources) -> Vec<ProblemJson> {
    problems.iter().map(|problem| one(problem, sources)).collect()
}

fn one(problem: &Problem, sources: &Sources) -> ProblemJson {
    let place =
        |(span, words): &(Span, String)| PlaceJson { label: words.clone(), ..PlaceJson::of(*span, sources) };
    ProblemJson {
        code: problem.code.word(),
        severity: match problem.severity {
            Severity::Error => "error",
            Severity::Notice => "notice",
        },
        message: problem.message.clone(),
        places: problem.labels.iter().map(place).collect(),
        help: problem.help.clone(),
    }
}

/// Places of spans, each once.
pub(super) fn places(spans: &[crate::source::Span], sources: &Sources) -> Vec<PlaceJson> {
    spans.iter().map(|span| PlaceJson::of(*span, sources)).collect()
}
