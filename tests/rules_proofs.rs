//! Shipped rules against their own examples, through the whole pipeline.

use std::collections::BTreeMap;
use std::path::Path;

use asfound::analysis::{Trouble, circuits, work_out};
use asfound::load::load;
use asfound::rules::{OwnedFacts, OwnedView, RuleSet, check, prove};
use asfound::solve::Condition;
use asfound::source::{FileId, Problem, Sources};

/// Documents, lowest first, to facts.
pub(crate) fn facts(set: &RuleSet, documents: &[(String, String)]) -> Result<OwnedFacts, String> {
    let files: BTreeMap<&str, &str> = documents.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    let top = &documents.last().ok_or("no document")?.0;
    let mut read = |path: &str| files.get(path).map(|t| (*t).to_owned()).ok_or_else(|| format!("no {path}"));
    let loaded = load(top, &mut read)?;
    let told = |problems: &[Problem], sources: &Sources| {
        let line = |p: &Problem| {
            format!("{} {} {}", sources.place(p.span()), p.message, p.help.as_deref().unwrap_or(""))
        };
        problems.iter().map(line).collect::<Vec<_>>().join("\n")
    };
    let (stack, _) = circuits(&loaded).map_err(|p| told(&p, &loaded.sources))?;
    let mut views = Vec::new();
    for (depth, circuit) in stack.into_iter().enumerate() {
        let worked = work_out(circuit, depth, &Condition::ALL).map_err(|t| match t {
            Trouble::Problems(problems) => told(&problems, &loaded.sources),
            Trouble::Unsolved { condition, unsolved, .. } => format!("{}: {unsolved:?}", condition.word()),
        })?;
        views.push(OwnedView {
            circuit: worked.circuit,
            recognised: worked.recognised,
            solved: worked.solved,
        });
    }
    OwnedFacts::of_stack(set, views).ok_or_else(|| "no document".to_owned())
}

/// The rules as they lie in `rules/`, so that a text can be tried without building again.
pub(crate) fn on_disk() -> RuleSet {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("rules");
    let mut texts = Vec::new();
    for group in std::fs::read_dir(&root).unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()) {
        for file in std::fs::read_dir(&group).unwrap().map(|e| e.unwrap().path()) {
            if file.extension().is_some_and(|e| e == "rule") {
                texts.push((file.display().to_string(), std::fs::read_to_string(&file).unwrap()));
            }
        }
    }
    texts.sort();
    let given: Vec<(FileId, &str)> =
        texts.iter().enumerate().map(|(i, (_, t))| (FileId(i as u32), t.as_str())).collect();
    let (set, problems) = RuleSet::load(&given);
    let told: Vec<String> = problems
        .iter()
        .map(|p| {
            let (path, text) = &texts[p.span().file.0 as usize];
            let at = p.span().start as usize..p.span().end as usize;
            format!("{path}: {} `{}` {:?}", p.message, text.get(at).unwrap_or(""), p.help)
        })
        .collect();
    assert!(told.is_empty(), "{told:#?}");
    set
}

#[test]
fn every_example_agrees_with_its_rule() {
    let set = on_disk();
    let broken = prove(&set, &|documents| facts(&set, documents));
    let told: Vec<String> =
        broken.iter().map(|b| format!("{} example {}: {}", b.rule, b.example, b.why)).collect();
    assert!(told.is_empty(), "{} of {}\n{}", told.len(), set.rules().count(), told.join("\n"));
}

/// judging.md: blanking any rating, limit or reading must never turn flagged into passed.
#[test]
fn a_blank_never_turns_flagged_into_passed() {
    let set = on_disk();
    for rule in set.rules() {
        for example in rule.examples.iter().filter(|e| e.flags) {
            let Ok(whole) = facts(&set, &example.documents) else { continue };
            let flagged = check(&set, &whole.facts());
            for blank in [blank_ratings, blank_limits, blank_readings] {
                let mut less = whole.clone();
                blank(&mut less);
                let after = check(&set, &less.facts());
                for finding in &flagged.findings {
                    let still = after
                        .findings
                        .iter()
                        .any(|f| f.rule == finding.rule && f.subject() == finding.subject());
                    let told = after
                        .could_not_tell
                        .iter()
                        .any(|c| c.rule == finding.rule && finding.subjects.contains(&c.subject));
                    let tally = after.tally(&finding.rule).unwrap();
                    let before = flagged.tally(&finding.rule).unwrap();
                    assert!(
                        still || told || tally.passed <= before.passed,
                        "{}: {} passes once something is blank",
                        finding.rule,
                        finding.subject()
                    );
                }
            }
        }
    }
}

fn blank_ratings(facts: &mut OwnedFacts) {
    for part in &mut facts.now.circuit.parts {
        (part.body.power, part.body.volts, part.body.construction) = (None, None, None);
    }
}

fn blank_limits(facts: &mut OwnedFacts) {
    for of in facts.now.circuit.types.tubes.values_mut() {
        of.limits.clear();
        of.spread = None;
        of.screen_residual = None;
    }
}

fn blank_readings(facts: &mut OwnedFacts) {
    facts.now.circuit.readings.clear();
    for part in &mut facts.now.circuit.parts {
        part.measured = None;
    }
}
