//! Findings as SARIF 2.1.0 (OASIS Standard, 27 March 2020; from memory), for code review and for editors.
//!
//! A finding's fingerprint is the document's title, the rule, what it is about and the condition: it keeps its identity
//! over edits of the text, and wherever the file lies.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::analysis::{CAUTIONS, Heads};
use crate::rules::{Finding, Level, RuleChange, RuleSet, Verdicts};
use crate::source::{Problem, Severity, Sources, Span};

/// A log of one run.
#[derive(Debug, Serialize)]
pub struct SarifLog {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Run; 1],
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Run {
    tool: Tool,
    invocations: [Invocation; 1],
    column_kind: &'static str,
    results: Vec<ResultOf>,
    properties: RunProperties,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct RunProperties {
    /// What to mind before opening, measuring or powering.
    cautions: &'static [&'static str],
    /// What packs changed of the rules.
    rules_changed: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(Debug, Serialize)]
struct Driver {
    name: &'static str,
    version: &'static str,
    rules: Vec<RuleOf>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct RuleOf {
    id: String,
    short_description: Text,
    full_description: Text,
    help: Text,
}

#[derive(Debug, Serialize)]
struct Text {
    text: String,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Invocation {
    execution_successful: bool,
    tool_execution_notifications: Vec<Notification>,
}

#[derive(Debug, Serialize)]
struct Notification {
    level: &'static str,
    message: Text,
    locations: Vec<Location>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct ResultOf {
    rule_id: String,
    rule_index: usize,
    level: &'static str,
    message: Text,
    locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    partial_fingerprints: BTreeMap<&'static str, String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    suppressions: Vec<Suppression>,
    properties: Properties,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Properties {
    /// The level in the words of ANSI Z535.
    signal_word: &'static str,
    /// Whether it endangers people, not only the amplifier.
    to_people: bool,
    subjects: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    condition: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct Suppression {
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    justification: Option<String>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    physical_location: Physical,
    /// What is there.
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Text>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Physical {
    artifact_location: Artifact,
    region: Region,
}

#[derive(Debug, Serialize)]
struct Artifact {
    uri: String,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: usize,
    start_column: usize,
    end_line: usize,
    end_column: usize,
}

/// What a log has results of.
#[derive(Debug, Clone, Copy)]
pub enum Results<'a> {
    /// Heads: what each brings are related locations with their messages.
    Heads(&'a Heads),
    /// All findings: each points at the worst under its head.
    Findings(&'a Heads),
    /// Nothing: the document could not be judged.
    Nothing,
}

/// The log of a lint of a document of this title. `solved` is whether every circuit has its operating points.
pub fn sarif(
    title: &str,
    rules: &RuleSet,
    (verdicts, of): (&Verdicts, Results),
    problems: &[Problem],
    solved: bool,
    sources: &Sources,
) -> SarifLog {
    let described: Vec<RuleOf> = rules
        .rules()
        .map(|rule| RuleOf {
            id: rule.name.clone(),
            short_description: Text { text: rule.line() },
            full_description: Text { text: rule.heading("danger") },
            help: Text { text: format!("{}\n\n{}", rule.measures(), rule.heading("cure")) },
        })
        .collect();
    let index = |name: &str| {
        described.iter().position(|rule| rule.id == name).expect("a rule that flagged is described")
    };
    let result = |f: &Finding| result(f, title, index(&f.rule), sources);
    let results = match of {
        Results::Nothing => Vec::new(),
        Results::Findings(heads) => each(heads, &verdicts.findings, &result, sources),
        Results::Heads(heads) => by_head(heads, &verdicts.findings, &result, sources),
    };
    let notifications = problems.iter().map(|p| notification(p, sources)).collect();
    SarifLog {
        schema: "https://json.schemastore.org/sarif-2.1.0.json",
        version: "2.1.0",
        runs: [Run {
            invocations: [Invocation {
                execution_successful: solved,
                tool_execution_notifications: notifications,
            }],
            tool: Tool {
                driver: Driver { name: "asfound", version: env!("CARGO_PKG_VERSION"), rules: described },
            },
            column_kind: "unicodeCodePoints",
            results,
            properties: RunProperties {
                cautions: &CAUTIONS,
                rules_changed: verdicts.changed.iter().map(RuleChange::told).collect(),
            },
        }],
    }
}

/// A result for each head, of the worst that counts under it; what is set aside stays by itself.
fn by_head(
    heads: &Heads,
    findings: &[Finding],
    result: &dyn Fn(&Finding) -> ResultOf,
    sources: &Sources,
) -> Vec<ResultOf> {
    let mut results = Vec::new();
    for head in &heads.heads {
        let under = head.findings.iter().map(|under| &findings[under.finding]);
        let (counting, aside): (Vec<&Finding>, Vec<&Finding>) = under.partition(|finding| finding.counts());
        if let [worst, more @ ..] = &counting[..] {
            let mut first = result(worst);
            // A danger to people is never folded away.
            let (people, others): (Vec<&Finding>, Vec<&Finding>) = more.iter().partition(|f| f.to_people);
            first
                .related_locations
                .extend(others.into_iter().filter_map(|finding| told_at(finding, sources)));
            results.push(first);
            results.extend(people.into_iter().map(result));
        }
        results.extend(aside.into_iter().map(result));
    }
    results
}

/// A result for each finding; one that stands under a worse one has its place and message as a related location.
fn each(
    heads: &Heads,
    findings: &[Finding],
    result: &dyn Fn(&Finding) -> ResultOf,
    sources: &Sources,
) -> Vec<ResultOf> {
    let mut results = Vec::new();
    for head in &heads.heads {
        let under: Vec<&Finding> = head.findings.iter().map(|under| &findings[under.finding]).collect();
        let worst = under.iter().find(|finding| finding.counts());
        for finding in &under {
            let mut own = result(finding);
            let other = worst.filter(|worst| !std::ptr::eq(**worst, *finding));
            own.related_locations.extend(other.and_then(|worst| told_at(worst, sources)));
            results.push(own);
        }
    }
    results
}

/// Where a finding is told, and what it says.
fn told_at(finding: &Finding, sources: &Sources) -> Option<Location> {
    let at = location(*finding.spans.first()?, sources);
    Some(Location { message: Some(Text { text: finding.message.clone() }), ..at })
}

fn result(finding: &Finding, title: &str, rule_index: usize, sources: &Sources) -> ResultOf {
    let condition = finding.condition.map(crate::model::Condition::word);
    let (rule, subject) = (finding.rule.as_str(), finding.subject());
    let key = [Some(title), Some(rule), Some(subject), condition, finding.case.as_deref()];
    let key = key.into_iter().flatten().collect::<Vec<_>>().join("|");
    let accepted = finding
        .accepted
        .as_ref()
        .filter(|_| !finding.counts())
        .map(|accepted| Suppression { kind: "inSource", justification: Some(accepted.because.clone()) });
    // What is suppressed is not shown: a danger to people never is.
    let known =
        (finding.known && !finding.counts()).then_some(Suppression { kind: "external", justification: None });
    let mut locations: Vec<Location> = finding.spans.iter().map(|span| location(*span, sources)).collect();
    let related_locations = locations.split_off(locations.len().min(1));
    let advice = finding.advice.as_ref().map_or(String::new(), |advice| format!("\n→ {advice}"));
    ResultOf {
        rule_id: finding.rule.clone(),
        rule_index,
        level: match finding.level {
            Level::Danger => "error",
            Level::Warning => "warning",
            Level::Caution | Level::Notice => "note",
        },
        message: Text { text: format!("{}{advice}", finding.message) },
        locations,
        related_locations,
        partial_fingerprints: BTreeMap::from([("documentRuleSubjectCondition/v1", key)]),
        suppressions: accepted.into_iter().chain(known).collect(),
        properties: Properties {
            signal_word: finding.level.word(),
            to_people: finding.to_people,
            subjects: finding.subjects.clone(),
            condition,
        },
    }
}

fn notification(problem: &Problem, sources: &Sources) -> Notification {
    Notification {
        level: match problem.severity {
            Severity::Error => "error",
            Severity::Notice => "note",
        },
        message: Text { text: problem.message.clone() },
        locations: vec![location(problem.span(), sources)],
    }
}

fn location(span: Span, sources: &Sources) -> Location {
    let source = sources.source(span.file);
    let (start_line, start_column) = source.line_column(span.start);
    let (end_line, end_column) = source.line_column(span.end);
    let uri = uri(&source.path);
    let region = Region { start_line, start_column, end_line, end_column };
    Location { physical_location: Physical { artifact_location: Artifact { uri }, region }, message: None }
}

/// A path as a URI reference (RFC 3986): forward slashes, everything out of the common as `%20`.
fn uri(path: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte);
    let escaped = |byte: u8| match byte {
        b'\\' => "/".to_owned(),
        _ if plain(byte) => char::from(byte).to_string(),
        _ => format!("%{byte:02X}"),
    };
    path.bytes().map(escaped).collect()
}
