//! Many documents at once: what each has, and what several share.

use std::collections::BTreeMap;

use crate::change::ChangeKind;
use crate::circuit::natural;
use crate::rules::{Level, Verdicts};
use crate::source::Problem;

/// What was found of one document.
#[derive(Debug)]
pub struct Surveyed {
    /// As found on the way through the folders.
    pub path: String,
    /// What it has, or why it could not be worked out, as one sentence a problem.
    pub told: Result<Told, Vec<String>>,
}

/// One document's findings and changes.
#[derive(Debug)]
pub struct Told {
    /// `as-found`.
    pub kind: &'static str,
    /// Its title.
    pub title: String,
    /// The title of the nearest stock spec beneath it, or its own.
    pub stock: String,
    /// The rules' verdicts.
    pub verdicts: Verdicts,
    /// Differences from the stock spec: kind, subject and the part's role.
    pub changes: Vec<(ChangeKind, String, String)>,
    /// Conditions without an operating point; notices where a change is known that prevents it.
    pub unsolved: Vec<Problem>,
}

/// Something that several documents share, with their places in the survey.
#[derive(Debug, PartialEq, Eq)]
pub struct Shared {
    /// The stock spec's title.
    pub stock: String,
    /// `dropper-overloaded R42`, `missing C3 (bright capacitor)`.
    pub what: String,
    /// Of a finding its worst level among them.
    pub level: Option<Level>,
    /// Which documents, in the survey's order.
    pub documents: Vec<usize>,
}

impl Told {
    /// How many findings that count have a level.
    pub fn count(&self, level: Level) -> usize {
        self.verdicts.findings.iter().filter(|f| f.counts() && f.level == level).count()
    }
}

/// Findings that two documents of one stock spec or more have, the worst first, then most shared.
pub fn shared_findings(all: &[Surveyed]) -> Vec<Shared> {
    shared(all, |told| {
        let open = told.verdicts.findings.iter().filter(|f| f.counts());
        open.map(|f| (format!("{} {}", f.rule, f.subject()), Some(f.level))).collect()
    })
}

/// Changes that two documents of one stock spec or more have, most shared first.
pub fn shared_changes(all: &[Surveyed]) -> Vec<Shared> {
    shared(all, |told| {
        let words = |(kind, subject, role): &(ChangeKind, String, String)| {
            (format!("{} {subject} ({role})", kind.word()), None)
        };
        told.changes.iter().map(words).collect()
    })
}

fn shared(all: &[Surveyed], of: impl Fn(&Told) -> Vec<(String, Option<Level>)>) -> Vec<Shared> {
    let mut places: BTreeMap<(String, String), (Option<Level>, Vec<usize>)> = BTreeMap::new();
    for (index, surveyed) in all.iter().enumerate() {
        let Ok(told) = &surveyed.told else { continue };
        for (what, level) in of(told) {
            let (worst, documents) = places.entry((told.stock.clone(), what)).or_default();
            *worst = level.max(*worst);
            if documents.last() != Some(&index) {
                documents.push(index);
            }
        }
    }
    let several = places.into_iter().filter(|(_, (_, documents))| documents.len() > 1);
    let mut shared: Vec<Shared> =
        several.map(|((stock, what), (level, documents))| Shared { stock, what, level, documents }).collect();
    shared.sort_by(|a, b| {
        b.level
            .cmp(&a.level)
            .then_with(|| b.documents.len().cmp(&a.documents.len()))
            .then_with(|| a.stock.cmp(&b.stock))
            .then_with(|| natural(&a.what, &b.what))
    });
    shared
}
