//! A review as JSON.

use serde::Serialize;

use super::audit::{StepJson, step};
use super::findings::{FindingJson, RuleChangeJson, finding, rule_change};
use super::{DocumentJson, Figure, Head, OpenJson, Report};
use crate::analysis::Mark;
use crate::analysis::{Review, WindowRow};
use crate::source::Sources;

/// The whole report of `review`.
#[derive(Debug, Serialize)]
pub struct ReviewJson<'a> {
    base: Vec<DocumentJson<'a>>,
    #[serde(flatten)]
    step: StepJson<'a>,
    brought: Vec<FindingJson<'a>>,
    cleared: Vec<FindingJson<'a>>,
    still: Vec<FindingJson<'a>>,
    rules_changed: Vec<RuleChangeJson<'a>>,
    windows: Vec<WindowJson<'a>>,
    open: Vec<OpenJson<'a>>,
}

#[derive(Debug, Serialize)]
struct WindowJson<'a> {
    place: &'a str,
    unit: &'static str,
    low: Figure,
    high: Figure,
    before: Option<SideJson>,
    after: Option<SideJson>,
}

#[derive(Debug, Serialize)]
struct SideJson {
    value: Figure,
    mark: &'static str,
}

/// The review with the documents it is of.
pub fn review<'a>(
    head: Head<'a>,
    base: Vec<DocumentJson<'a>>,
    review: &'a Review,
    sources: &Sources,
) -> Report<'a, ReviewJson<'a>> {
    let findings = |list: &'a [crate::rules::Finding]| list.iter().map(|f| finding(f, sources)).collect();
    let told = ReviewJson {
        base,
        step: step(&review.step, sources),
        brought: findings(&review.brought),
        cleared: findings(&review.cleared),
        still: findings(&review.still),
        rules_changed: review.changed.iter().map(rule_change).collect(),
        windows: review.windows.iter().map(window).collect(),
        open: super::open(&review.open, sources),
    };
    Report::new("asfound/review/1", head, told)
}

fn window(row: &WindowRow) -> WindowJson<'_> {
    let side =
        |side: Option<(f64, Mark)>| side.map(|(v, mark)| SideJson { value: Figure(v), mark: mark.word() });
    WindowJson {
        place: &row.place,
        unit: row.unit.sign(),
        low: Figure(row.window.0),
        high: Figure(row.window.1),
        before: side(row.before),
        after: side(row.after),
    }
}
