//! Changes as JSON.

use serde::Serialize;

use super::{DocumentJson, EffectJson, PlaceJson, ProblemJson};
use crate::change::Change;
use crate::change::alike::{Alike, Equal};
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

/// How two circuits were laid over each other.
#[derive(Debug, Serialize)]
pub struct MatchedJson<'a> {
    cost: u32,
    least: u32,
    parts: Vec<[&'a str; 2]>,
    same: Vec<SameJson<'a>>,
    interchangeable: &'a [Vec<String>],
}

#[derive(Debug, Serialize)]
struct SameJson<'a> {
    before: &'a [String],
    after: &'a [String],
    why: &'a str,
}

/// What matching found, beside the changes.
pub fn matched<'a>(alike: &'a Alike, changes: &[Change]) -> MatchedJson<'a> {
    let same = |equal: &'a Equal| SameJson { before: &equal.first, after: &equal.second, why: &equal.why };
    MatchedJson {
        cost: alike.cost(changes),
        least: alike.least,
        parts: alike.names.iter().map(|(a, b)| [a.as_str(), b.as_str()]).collect(),
        same: alike.equal.iter().map(same).collect(),
        interchangeable: &alike.interchangeable,
    }
}

#[derive(Debug, Serialize)]
struct DiffJson<'a> {
    schema: &'static str,
    before: DocumentJson<'a>,
    after: DocumentJson<'a>,
    problems: Vec<ProblemJson>,
    changes: Vec<ChangeJson<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    effects: Option<Vec<EffectJson<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    by_circuit: Option<MatchedJson<'a>>,
}

/// The report of `diff`.
pub fn diff<'a>(
    before: DocumentJson<'a>,
    after: DocumentJson<'a>,
    problems: Vec<ProblemJson>,
    changes: Vec<ChangeJson<'a>>,
    effects: Option<Vec<EffectJson<'a>>>,
    by_circuit: Option<MatchedJson<'a>>,
) -> impl Serialize + use<'a> {
    DiffJson { schema: "asfound/diff/1", before, after, problems, changes, effects, by_circuit }
}
