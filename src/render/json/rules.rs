//! Rules as JSON.

use serde::Serialize;

use crate::rules::{Broken, Explained};

#[derive(Debug, Serialize)]
struct ListJson {
    schema: &'static str,
    rules: Vec<LineJson>,
}

#[derive(Debug, Serialize)]
struct LineJson {
    name: String,
    levels: Vec<String>,
    sees: String,
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
    text: &'a str,
}

#[derive(Debug, Serialize)]
struct ExampleJson<'a> {
    flags: bool,
    level: Option<&'static str>,
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
pub fn rule_list(rules: &[(String, String, String)]) -> impl Serialize {
    let line = |(name, levels, sees): &'_ (String, String, String)| LineJson {
        name: name.clone(),
        levels: levels.split(", ").map(str::to_owned).collect(),
        sees: sees.clone(),
    };
    ListJson { schema: "asfound/rules/1", rules: rules.iter().map(line).collect() }
}

/// One rule.
pub fn rule(rule: &Explained) -> impl Serialize + use<'_> {
    let examples = rule.examples.iter().map(|example| ExampleJson {
        flags: example.flags,
        level: example.level.map(crate::rules::Level::word),
        documents: example.documents.iter().map(|(name, text)| TextJson { name, text }).collect(),
    });
    RuleJson {
        schema: "asfound/rule/1",
        name: &rule.name,
        headings: rule.headings.iter().map(|(heading, text)| HeadingJson { heading, text }).collect(),
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
