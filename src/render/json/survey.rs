//! A survey as JSON, one document a line.

use serde::Serialize;

use super::Cautioned;
use super::findings::{RuleChangeJson, rule_change};
use crate::analysis::Surveyed;
use crate::rules::Level;

#[derive(Debug, Serialize)]
struct Line<'a> {
    schema: &'static str,
    path: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    kind: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    title: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stock: Option<&'a str>,
    findings: Vec<FindingLine<'a>>,
    changes: Vec<ChangeLine<'a>>,
    rules_changed: Vec<RuleChangeJson<'a>>,
    trouble: Vec<&'a str>,
}

#[derive(Debug, Serialize)]
struct FindingLine<'a> {
    level: Level,
    to_people: bool,
    rule: &'a str,
    subject: &'a str,
    message: &'a str,
}

#[derive(Debug, Serialize)]
struct ChangeLine<'a> {
    kind: &'static str,
    subject: &'a str,
    role: &'a str,
}

/// One document's line, with its line break.
pub fn survey_line(surveyed: &Surveyed) -> String {
    let mut line = Line {
        schema: "asfound/survey/1",
        path: &surveyed.path,
        kind: None,
        title: None,
        stock: None,
        findings: Vec::new(),
        changes: Vec::new(),
        rules_changed: Vec::new(),
        trouble: Vec::new(),
    };
    match &surveyed.told {
        Err(problems) => line.trouble = problems.iter().map(String::as_str).collect(),
        Ok(told) => {
            line.kind = Some(told.kind);
            line.title = Some(&told.title);
            line.stock = Some(&told.stock);
            line.trouble = told.unsolved.iter().map(|problem| problem.message.as_str()).collect();
            line.rules_changed = told.verdicts.changed.iter().map(rule_change).collect();
            let open = told.verdicts.findings.iter().filter(|f| f.counts());
            line.findings = open
                .map(|f| FindingLine {
                    level: f.level,
                    to_people: f.to_people,
                    rule: &f.rule,
                    subject: f.subject(),
                    message: &f.message,
                })
                .collect();
            line.changes = told
                .changes
                .iter()
                .map(|(kind, subject, role)| ChangeLine { kind: kind.word(), subject, role })
                .collect();
        }
    }
    // Texts and words only, so that this can't fail.
    serde_json::to_string(&Cautioned::new(line, &[])).unwrap_or_default() + "\n"
}
