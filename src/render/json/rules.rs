//! Rules as JSON.

use serde::Serialize;

use crate::rules::{Broken, Explained, Line};

#[derive(Debug, Serialize)]
struct ListJson<'a> {
    schema: &'static str,
    rules: Vec<LineJson<'a>>,
}

#[derive(Debug, Serialize)]
struct LineJson<'a> {
    name: &'a str,
    levels: Vec<&'static str>,
    to_people: bool,
    sees: &'a str,
}

#[derive(Debug, Serialize)]
struct RuleJson<'a> {
    schema: &'static str,
    name: &'a str,
    headings: Vec<HeadingJson<'a>>,
    lines: &'a [String],
    changed: &'a [String],
    examples: Vec<ExampleJson<'a>>,
}

#[derive(Debug, Serialize)]
struct HeadingJson<'a> {
    heading: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    before: Option<&'static str>,
    text: &'a str,
}

#[derive(Debug, Serialize)]
struct ExampleJson<'a> {
    flags: bool,
    level: Option<&'static str>,
    to_people: bool,
    documents: Vec<TextJson<'a>>,
}

#[derive(Debug, Serialize)]
struct TextJson<'a> {
    name: &'a str,
    text: &'a str,
}

#[derive(Debug, Serialize)]
struct ProofJson<'a> {
    schema: &'static str,
    rules: usize,
    examples: usize,
    broken: Vec<BrokenJson<'a>>,
}

#[derive(Debug, Serialize)]
struct BrokenJson<'a> {
    rule: &'a str,
    example: usize,
    why: &'a str,
}

/// The list of rules.
pub fn rule_list(rules: &[Line]) -> impl Serialize + use<'_> {
    ListJson { schema: "asfound/rules/1", rules: rules.iter().map(rule_line).collect() }
}

fn rule_line(line: &Line) -> LineJson<'_> {
    let mut levels: Vec<&'static str> = line.levels.iter().map(|l| l.level.word()).collect();
    levels.dedup();
    let to_people = line.levels.iter().any(|l| l.to_people);
    LineJson { name: &line.name, levels, to_people, sees: &line.sees }
}

/// One rule.
pub fn rule(rule: &Explained) -> impl Serialize + use<'_> {
    let examples = rule.examples.iter().map(|example| ExampleJson {
        flags: example.flags,
        level: example.severity.map(|s| s.level.word()),
        to_people: example.severity.is_some_and(|s| s.to_people),
        documents: example.documents.iter().map(|(name, text)| TextJson { name, text }).collect(),
    });
    RuleJson {
        schema: "asfound/rule/2",
        name: &rule.name,
        headings: rule
            .headings
            .iter()
            .map(|h| HeadingJson { heading: h.heading, before: h.before, text: &h.text })
            .collect(),
        lines: &rule.lines,
        changed: &rule.changed,
        examples: examples.collect(),
    }
}

/// How rules agree with their examples.
pub fn proof<'a>(rules: usize, examples: usize, broken: &'a [Broken]) -> impl Serialize + use<'a> {
    let one = |b: &'a Broken| BrokenJson { rule: &b.rule, example: b.example, why: &b.why };
    ProofJson { schema: "asfound/proof/1", rules, examples, broken: broken.iter().map(one).collect() }
}
