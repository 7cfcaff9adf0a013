//! What records say and nothing has answered since, as JSON.

use serde::Serialize;

use super::{Figure, PlaceJson};
use crate::analysis::{Matter, Open};
use crate::source::Sources;

/// One thing that waits for an answer.
#[derive(Debug, Serialize)]
pub struct OpenJson<'a> {
    document: &'a str,
    about: Option<&'a str>,
    #[serde(flatten)]
    said: SaidJson<'a>,
    place: PlaceJson,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "lowercase")]
enum SaidJson<'a> {
    Words(&'a str),
    Reading { read: Figure, predicted: Option<Figure>, unit: &'static str, condition: &'a str },
}

/// All of them.
pub fn open<'a>(matters: &'a [Open], sources: &Sources) -> Vec<OpenJson<'a>> {
    let one = |open: &'a Open| OpenJson {
        document: &open.document,
        about: open.about.as_deref(),
        said: match &open.said {
            Matter::Words(words) => SaidJson::Words(words),
            Matter::Reading { read, predicted, unit, condition } => SaidJson::Reading {
                read: Figure(*read),
                predicted: predicted.map(Figure),
                unit: unit.sign(),
                condition,
            },
        },
        place: PlaceJson::of(open.span, sources),
    };
    matters.iter().map(one).collect()
}
