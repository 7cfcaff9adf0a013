//! Changes as JSON.

use serde::Serialize;

use super::{DocumentJson, PlaceJson, ProblemJson};
use crate::change::Change;
use crate::source::Sources;

/// One change.
#[derive(Debug, Serialize)]
pub struct ChangeJson<'a> {
    kind: &'static str,
    subject: &'a str,
    before: &'a str,
    after: &'a str,
    role: &'a str,
    note: Option<&'a str>,
    places: Vec<PlaceJson>,
}

/// Changes in the order given.
pub fn changes<'a>(changes: &'a [Change], sources: &Sources) -> Vec<ChangeJson<'a>> {
    changes
        .iter()
        .map(|change| ChangeJson {
            kind: change.kind.word(),
            subject: &change.subject,
            before: &change.before,
            after: &change.after,
            role: &change.role,
            note: change.note.as_deref(),
            places: change.spans.iter().map(|span| PlaceJson::of(*span, sources)).collect(),
        })
        .collect()
}

#[derive(Debug, Serialize)]
struct DiffJson<'a> {
    schema: &'static str,
    before: DocumentJson<'a>,
    after: DocumentJson<'a>,
    problems: Vec<ProblemJson>,
    changes: Vec<ChangeJson<'a>>,
}

/// The report of `diff`.
pub fn diff<'a>(
    before: DocumentJson<'a>,
    after: DocumentJson<'a>,
    problems: Vec<ProblemJson>,
    changes: Vec<ChangeJson<'a>>,
) -> impl Serialize + use<'a> {
    DiffJson { schema: "asfound/diff/1", before, after, problems, changes }
}
