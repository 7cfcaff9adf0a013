//! What brings which finding, as JSON.

use serde::Serialize;

use crate::analysis::{Head, Heads, Under};
use crate::rules::{Finding, Level};

/// Every finding under its head, and what was solved to prove it.
#[derive(Debug, Serialize)]
pub struct HeadsJson<'a> {
    heads: Vec<HeadJson<'a>>,
    /// Operating points worked out for the proofs.
    solved_to_prove: usize,
}

#[derive(Debug, Serialize)]
struct HeadJson<'a> {
    /// `changes`, `readings`, `not-looked-at`, `in-stock-too`, `subject`.
    root: &'static str,
    changes: Vec<ChangedJson<'a>>,
    /// The worst that counts.
    level: Option<Level>,
    to_people: bool,
    findings: Vec<UnderJson<'a>>,
}

#[derive(Debug, Serialize)]
struct ChangedJson<'a> {
    subject: &'a str,
    change: &'static str,
}

#[derive(Debug, Serialize)]
struct UnderJson<'a> {
    /// Place in the list of findings.
    finding: usize,
    /// Other changes that clear it alone as well.
    cleared_also_by: Vec<&'a str>,
    /// Other changes that bring it too: all have to go before it clears.
    brought_too_by: Vec<&'a str>,
}

/// The heads of some findings.
pub fn heads<'a>(heads: &'a Heads, findings: &[Finding]) -> HeadsJson<'a> {
    HeadsJson {
        heads: heads.heads.iter().map(|head| one(heads, head, findings)).collect(),
        solved_to_prove: heads.solved,
    }
}

fn one<'a>(heads: &'a Heads, head: &'a Head, findings: &[Finding]) -> HeadJson<'a> {
    let worst = head.worst(findings);
    let subjects = |of: &[usize]| heads.changes(of).map(|change| change.subject.as_str()).collect();
    let under = |under: &Under| UnderJson {
        finding: under.finding,
        cleared_also_by: subjects(&under.also),
        brought_too_by: subjects(&under.either),
    };
    let changed = heads.changes(head.root.changes());
    HeadJson {
        root: head.root.word(),
        changes: changed
            .map(|change| ChangedJson { subject: &change.subject, change: change.kind.word() })
            .collect(),
        level: worst.map(|severity| severity.level),
        to_people: worst.is_some_and(|severity| severity.to_people),
        findings: head.findings.iter().map(under).collect(),
    }
}
