//! An audit as JSON.

use serde::Serialize;

use super::volts::{ReadingJson, reading};
use super::{ChangeJson, EffectJson, Figure, Head, OpenJson, Report, SolvingJson, changes, effects};
use crate::analysis::{Audit, Heads, Open, Step, Three};
use crate::analysis::{Compared, Coverage};
use crate::circuit::Circuit;
use crate::source::Sources;

/// The report of `audit`.
#[derive(Debug, Serialize)]
pub struct AuditJson<'a> {
    #[serde(flatten)]
    solving: Option<SolvingJson<'a>>,
    /// In which state effects are.
    state: Option<&'a str>,
    since_beneath: Option<StepJson<'a>>,
    against_stock: Option<StepJson<'a>>,
    three: Vec<ThreeJson<'a>>,
    #[serde(flatten)]
    verdicts: super::VerdictsJson<'a>,
    #[serde(flatten)]
    heads: super::HeadsJson<'a>,
    coverage: Option<CoverageJson<'a>>,
    readings: Vec<ReadingJson<'a>>,
    open: Vec<OpenJson<'a>>,
}

/// Changes and what they do.
#[derive(Debug, Serialize)]
pub(super) struct StepJson<'a> {
    changes: Vec<ChangeJson<'a>>,
    effects: Vec<EffectJson<'a>>,
}

#[derive(Debug, Serialize)]
struct ThreeJson<'a> {
    quantity: &'static str,
    subject: &'a str,
    unit: &'static str,
    stock: Option<Figure>,
    beneath: Option<Figure>,
    now: Option<Figure>,
}

#[derive(Debug, Serialize)]
struct CoverageJson<'a> {
    parts: usize,
    looked_at: usize,
    not_looked_at: Vec<UnseenJson<'a>>,
}

#[derive(Debug, Serialize)]
struct UnseenJson<'a> {
    stage: &'a str,
    role: &'a str,
    parts: Vec<&'a str>,
}

/// What an audit's report holds besides the audit.
#[derive(Debug)]
pub struct Beside<'a> {
    /// Its findings under what brings them.
    pub heads: &'a Heads,
    /// What was not looked at, of a record.
    pub coverage: Option<&'a Coverage>,
    /// Readings in every condition.
    pub readings: &'a [Compared<'a>],
    /// What records say and nothing has answered since.
    pub open: &'a [Open],
}

/// An audit with what is beside it.
pub fn audit<'a>(
    head: Head<'a>,
    audit: &'a Audit,
    beside: &Beside<'a>,
    sources: &Sources,
) -> Report<'a, AuditJson<'a>> {
    let circuit = audit.top().map(|top| &top.circuit);
    let solving =
        circuit.zip(audit.idle()).map(|(circuit, idle)| super::solving(circuit, idle, &audit.cut_off));
    let told = AuditJson {
        solving,
        state: audit.state.as_deref(),
        since_beneath: audit.since.as_ref().map(|step| self::step(step, sources)),
        against_stock: audit.against_stock.as_ref().map(|step| self::step(step, sources)),
        three: audit.three.iter().map(three).collect(),
        verdicts: super::verdicts(&audit.verdicts, sources),
        heads: super::heads(beside.heads, &audit.verdicts.findings),
        coverage: circuit.zip(beside.coverage).map(|(circuit, of)| coverage(circuit, of)),
        readings: beside.readings.iter().map(reading).collect(),
        open: super::open(beside.open, sources),
    };
    Report::new("asfound/audit/1", head, told)
}

pub(super) fn step<'a>(step: &'a Step, sources: &Sources) -> StepJson<'a> {
    let all = &step.comparison.changes;
    StepJson { changes: changes(all, sources), effects: effects(&step.effects, all) }
}

fn three(three: &Three) -> ThreeJson<'_> {
    ThreeJson {
        quantity: three.quantity.word(),
        subject: &three.subject,
        unit: three.unit.sign(),
        stock: three.stock.map(Figure),
        beneath: three.beneath.map(Figure),
        now: three.now.map(Figure),
    }
}

fn coverage<'a>(circuit: &'a Circuit, coverage: &'a Coverage) -> CoverageJson<'a> {
    let mut not_looked_at = Vec::new();
    for group in &coverage.groups {
        for (role, parts) in &group.by_role {
            let parts = parts.iter().map(|id| circuit.part(*id).name.as_str()).collect();
            not_looked_at.push(UnseenJson { stage: &group.stage, role, parts });
        }
    }
    CoverageJson { parts: coverage.parts, looked_at: coverage.looked_at, not_looked_at }
}
