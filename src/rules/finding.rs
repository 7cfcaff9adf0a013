//! A rule's verdict on one thing, and the verdicts of a whole run.

use std::cmp::Ordering;

use serde::Serialize;

use super::known::KnownFinding;
use super::level::{Level, Severity};
use super::rule::RuleChange;
use crate::circuit::{PartId, natural};
use crate::model::Condition;
use crate::source::Span;
use crate::units::Unit;

/// How a value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// A document or type data says it.
    Stated,
    /// Read with a meter.
    Measured,
    /// Computed from the circuit.
    Solved,
    /// Assumed, or computed from something assumed.
    Assumed,
}

/// One value that made a rule fire.
#[derive(Debug, Clone, PartialEq)]
pub struct FiredValue {
    /// As the rule names it: `power(d)`.
    pub name: String,
    /// In the unit, SI.
    pub value: f64,
    /// Lowest it may be.
    pub low: f64,
    /// Highest it may be.
    pub high: f64,
    /// Its unit; [`Unit::Ratio`] for pure numbers.
    pub unit: Unit,
    /// How it is known.
    pub basis: Basis,
}

/// A written reason that sets a finding aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accepted {
    /// Why.
    pub because: String,
    /// The statement.
    pub span: Span,
}

/// A rule fired.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The rule's name.
    pub rule: String,
    /// How bad.
    pub level: Level,
    /// Whether it endangers people, not only the amplifier.
    pub to_people: bool,
    /// One sentence with the measured value, the limit and the part.
    pub message: String,
    /// What to do.
    pub advice: Option<String>,
    /// Its rule lets it be accepted.
    pub or_accept: bool,
    /// What it is about, most telling name first: `V4`, or `V1a` and then `V1`.
    pub subjects: Vec<String>,
    /// Parts of the judged circuit that it is about.
    pub parts: Vec<PartId>,
    /// Statements about them, in every text.
    pub spans: Vec<Span>,
    /// What was compared.
    pub values: Vec<FiredValue>,
    /// In which condition; `None` where that doesn't matter.
    pub condition: Option<Condition>,
    /// Which case of it, where it has several.
    pub case: Option<String>,
    /// Set aside with a written reason.
    pub accepted: Option<Accepted>,
    /// Set aside as known; see [`Known`](super::Known). A danger to people may be known, and counts.
    pub known: bool,
    /// The reason written beside it where it is known.
    pub known_because: Option<String>,
}

impl Finding {
    /// Whether it counts: neither accepted nor known. A danger to people always does: no word takes it away.
    pub fn counts(&self) -> bool {
        self.to_people || self.accepted.is_none() && !self.known
    }

    /// How bad, and for whom.
    pub fn severity(&self) -> Severity {
        Severity { level: self.level, to_people: self.to_people }
    }

    /// The name of what it is about.
    pub fn subject(&self) -> &str {
        self.subjects.first().map_or("", String::as_str)
    }

    /// The one order of findings: worst first, then rule, then subject as people count.
    pub fn order(&self, other: &Finding) -> Ordering {
        other
            .severity()
            .cmp(&self.severity())
            .then_with(|| self.rule.cmp(&other.rule))
            .then_with(|| natural(self.subject(), other.subject()))
            .then_with(|| self.condition.cmp(&other.condition))
            .then_with(|| self.message.cmp(&other.message))
    }
}

/// A thing that a rule could not judge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CouldNotTell {
    /// The rule's name.
    pub rule: String,
    /// What it looked at.
    pub subject: String,
    /// What was missing.
    pub missing: String,
}

/// How often a rule ended each way.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Tally {
    /// Things flagged.
    pub flagged: usize,
    /// Things passed.
    pub passed: usize,
    /// Things it could not judge.
    pub could_not_tell: usize,
}

/// All verdicts on one document.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Verdicts {
    /// What was flagged, worst first.
    pub findings: Vec<Finding>,
    /// Counts by rule, every rule that is in use, in order of names.
    pub tallies: Vec<(String, Tally)>,
    /// What could not be judged, and why.
    pub could_not_tell: Vec<CouldNotTell>,
    /// Rules of packs that took more steps than a rule may, which is trouble.
    pub too_large: Vec<String>,
    /// Rules that were switched off, and the written reason.
    pub off: Vec<(String, String)>,
    /// What packs changed of the rules, a line each.
    pub changed: Vec<RuleChange>,
    /// Known findings that are there no more.
    pub cleared: Vec<KnownFinding>,
}

impl Verdicts {
    /// The counts of all rules together.
    pub fn total(&self) -> Tally {
        self.tallies.iter().fold(Tally::default(), |t, (_, r)| Tally {
            flagged: t.flagged + r.flagged,
            passed: t.passed + r.passed,
            could_not_tell: t.could_not_tell + r.could_not_tell,
        })
    }

    /// The worst level among findings that count.
    pub fn worst(&self) -> Option<Level> {
        self.findings.iter().filter(|f| f.counts()).map(|f| f.level).max()
    }

    /// The counts of one rule.
    pub fn tally(&self, rule: &str) -> Option<Tally> {
        self.tallies.iter().find(|(name, _)| name == rule).map(|(_, t)| *t)
    }
}
