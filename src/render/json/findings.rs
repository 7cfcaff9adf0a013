//! Verdicts as JSON.

use serde::Serialize;

use super::{Figure, Head, HeadsJson, PlaceJson, Report};
use crate::model::Condition;
use crate::render::json::problems::places;
use crate::rules::{Basis, CouldNotTell, Finding, Level, RuleChange, Tally, Verdicts};
use crate::source::Sources;

/// All verdicts on one document.
#[derive(Debug, Serialize)]
pub struct VerdictsJson<'a> {
    findings: Vec<FindingJson<'a>>,
    total: Tally,
    tallies: Vec<TallyJson<'a>>,
    could_not_tell: Vec<UnknownJson<'a>>,
    switched_off: Vec<OffJson<'a>>,
    rules_changed: Vec<RuleChangeJson<'a>>,
    cleared: Vec<ClearedJson<'a>>,
}

/// One finding.
#[derive(Debug, Serialize)]
pub(super) struct FindingJson<'a> {
    rule: &'a str,
    level: Level,
    to_people: bool,
    message: &'a str,
    advice: Option<&'a str>,
    subjects: &'a [String],
    condition: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    case: Option<&'a str>,
    values: Vec<ValueJson<'a>>,
    accepted: Option<AcceptedJson<'a>>,
    known: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    known_because: Option<&'a str>,
    counts: bool,
    places: Vec<PlaceJson>,
}

#[derive(Debug, Serialize)]
struct ValueJson<'a> {
    name: &'a str,
    value: Figure,
    low: Figure,
    high: Figure,
    unit: &'static str,
    basis: Basis,
}

#[derive(Debug, Serialize)]
struct AcceptedJson<'a> {
    because: &'a str,
    place: PlaceJson,
}

#[derive(Debug, Serialize)]
struct TallyJson<'a> {
    rule: &'a str,
    #[serde(flatten)]
    tally: Tally,
}

#[derive(Debug, Serialize)]
struct UnknownJson<'a> {
    rule: &'a str,
    subject: &'a str,
    missing: &'a str,
}

/// A known finding that is there no more.
#[derive(Debug, Serialize)]
struct ClearedJson<'a> {
    rule: &'a str,
    subject: &'a str,
}

#[derive(Debug, Serialize)]
struct OffJson<'a> {
    rule: &'a str,
    because: &'a str,
}

/// A change that a pack makes to a rule.
#[derive(Debug, Serialize)]
pub(super) struct RuleChangeJson<'a> {
    rule: &'a str,
    change: &'a str,
    because: Option<&'a str>,
}

pub(super) fn rule_change(change: &RuleChange) -> RuleChangeJson<'_> {
    RuleChangeJson { rule: &change.rule, change: &change.change, because: change.because.as_deref() }
}

/// Verdicts with their places.
pub fn verdicts<'a>(verdicts: &'a Verdicts, sources: &Sources) -> VerdictsJson<'a> {
    let unknown =
        |c: &'a CouldNotTell| UnknownJson { rule: &c.rule, subject: &c.subject, missing: &c.missing };
    VerdictsJson {
        findings: verdicts.findings.iter().map(|f| finding(f, sources)).collect(),
        total: verdicts.total(),
        tallies: verdicts.tallies.iter().map(|(rule, tally)| TallyJson { rule, tally: *tally }).collect(),
        could_not_tell: verdicts.could_not_tell.iter().map(unknown).collect(),
        cleared: verdicts
            .cleared
            .iter()
            .map(|k| ClearedJson { rule: &k.rule, subject: &k.subject })
            .collect(),
        switched_off: verdicts.off.iter().map(|(rule, because)| OffJson { rule, because }).collect(),
        rules_changed: verdicts.changed.iter().map(rule_change).collect(),
    }
}

pub(super) fn finding<'a>(finding: &'a Finding, sources: &Sources) -> FindingJson<'a> {
    let value = |v: &'a crate::rules::FiredValue| ValueJson {
        name: &v.name,
        value: Figure(v.value),
        low: Figure(v.low),
        high: Figure(v.high),
        unit: v.unit.sign(),
        basis: v.basis,
    };
    FindingJson {
        rule: &finding.rule,
        level: finding.level,
        to_people: finding.to_people,
        message: &finding.message,
        advice: finding.advice.as_deref(),
        subjects: &finding.subjects,
        condition: finding.condition.map(Condition::word),
        case: finding.case.as_deref(),
        values: finding.values.iter().map(value).collect(),
        accepted: finding
            .accepted
            .as_ref()
            .map(|a| AcceptedJson { because: &a.because, place: PlaceJson::of(a.span, sources) }),
        known: finding.known,
        known_because: finding.known_because.as_deref(),
        counts: finding.counts(),
        places: places(&finding.spans, sources),
    }
}

#[derive(Debug, Serialize)]
struct LintJson<'a> {
    partly_solved: bool,
    #[serde(flatten)]
    verdicts: VerdictsJson<'a>,
    #[serde(flatten)]
    heads: HeadsJson<'a>,
}

/// The report of `lint`.
pub fn lint<'a>(
    head: Head<'a>,
    partly_solved: bool,
    verdicts: VerdictsJson<'a>,
    heads: HeadsJson<'a>,
) -> impl Serialize + use<'a> {
    Report::new("asfound/lint/1", head, LintJson { partly_solved, verdicts, heads })
}
