//! Shipped rules against their own examples, through the whole pipeline.

#![allow(clippy::unwrap_used, reason = "a rule file that can't be read is a failed test")]

use std::path::Path;
use std::sync::Arc;

use asfound::analysis::example_facts as facts;
use asfound::circuit::Circuit;
use asfound::model::Condition;
use asfound::rules::{CouldNotTell, Facts, Finding, RuleSet, Verdicts, Worked, check, prove};
use asfound::source::FileId;

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

/// Blanking any rating, limit or reading must never turn flagged into passed.
#[test]
fn a_blank_never_turns_flagged_into_passed() {
    let set = on_disk();
    let mut stacks: Vec<Vec<(String, String)>> = set
        .rules()
        .flat_map(|rule| rule.examples().into_iter().filter(|e| e.flags).map(|e| e.documents))
        .collect();
    let example = |name: &str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/sedge-45").join(name);
        (name.to_owned(), std::fs::read_to_string(path).unwrap())
    };
    stacks.push(vec![example("sedge-45.amp"), example("job-0412.amp")]);
    for documents in stacks {
        let whole = facts(&set, &documents).unwrap();
        let flagged = check(&set, &whole);
        for blank in [blank_ratings, blank_limits, blank_readings] {
            let mut circuit = whole.now.circuit.clone();
            blank(&mut circuit);
            let (recognised, solved) = (whole.now.recognised.clone(), whole.now.solved.clone());
            let less = Facts { now: Arc::new(Worked::new(circuit, recognised, solved)), ..whole.clone() };
            let after = check(&set, &less);
            for finding in &flagged.findings {
                let same = |f: &&Finding| f.rule == finding.rule && f.subject() == finding.subject();
                let still = after.findings.iter().any(|f| same(&f));
                let own = |c: &CouldNotTell| c.rule == finding.rule && finding.subjects.contains(&c.subject);
                let told = after.could_not_tell.iter().any(own);
                let passed = |v: &Verdicts| v.tally(&finding.rule).unwrap().passed;
                assert!(
                    still || told || passed(&after) <= passed(&flagged),
                    "{documents:#?} {}: {} passes once something is blank",
                    finding.rule,
                    finding.subject()
                );
            }
        }
    }
}

fn blank_ratings(circuit: &mut Circuit) {
    for part in circuit.parts_mut() {
        (part.component.body.power, part.component.body.volts, part.component.body.construction) =
            (None, None, None);
    }
}

fn blank_limits(circuit: &mut Circuit) {
    for of in Arc::make_mut(&mut circuit.types).tubes_mut() {
        of.limits.clear();
        of.spread = None;
        of.screen_residual = None;
    }
}

fn blank_readings(circuit: &mut Circuit) {
    circuit.readings.clear();
    for part in circuit.parts_mut() {
        part.component.measured = None;
    }
}

/// One text to documents, as in a rule's example.
fn one(text: &str) -> Vec<(String, String)> {
    let mut documents = vec![("stock.amp".to_owned(), String::new())];
    for line in text.lines().map(str::trim) {
        if let Some(name) = line.strip_prefix("--- ") {
            documents.push((name.to_owned(), String::new()));
        } else if let Some((_, text)) = documents.last_mut() {
            text.push_str(line);
            text.push('\n');
        }
    }
    documents
}

const BLEEDER: &str = r#"stock "Sedge 20"
    rail B1 "plates"
    source HT 400V behind 100R unloaded 440V plus B1 minus chassis
    capacitor C1 47u 500V electrolytic plus B1 minus chassis
    resistor R1 47k 1W from B1 to chassis"#;

#[test]
fn an_accepted_finding_is_marked_and_not_dropped() {
    let set = on_disk();
    let text = format!(
        "{BLEEDER}\n--- plan.amp\nplan \"p\" for \"stock.amp\"\naccept resistor-overloaded on R1 because \"bench lamp\"\n\
         accept resistor-overloaded on C1 because \"wrong\""
    );
    let found = check(&set, &facts(&set, &one(&text)).unwrap());
    let finding = found.findings.iter().find(|f| f.rule == "resistor-overloaded").unwrap();
    assert_eq!(finding.accepted.as_ref().unwrap().because, "bench lamp");
    assert!(!finding.spans.is_empty() && finding.values.iter().any(|v| v.name == "power(r)"));
    let stale: Vec<&str> = found
        .findings
        .iter()
        .filter(|f| f.rule == "acceptance-stale")
        .map(asfound::rules::Finding::subject)
        .collect();
    assert_eq!(stale, ["resistor-overloaded on C1"]);
}

#[test]
fn a_window_with_a_reason_excuses_a_limit() {
    let set = on_disk();
    let text = format!("{BLEEDER}\nwindow R1 3W to 4W because \"period practice\"");
    let found = check(&set, &facts(&set, &one(&text)).unwrap());
    let finding = found.findings.iter().find(|f| f.rule == "resistor-overloaded").unwrap();
    assert!(finding.accepted.is_some() || finding.condition != Some(Condition::Idle), "{finding:?}");
}

#[test]
fn findings_have_one_order_and_do_not_change_from_run_to_run() {
    let set = on_disk();
    for rule in set.rules() {
        for example in &rule.examples() {
            let facts = facts(&set, &example.documents).unwrap();
            let (a, b) = (check(&set, &facts), check(&set, &facts));
            assert_eq!(a, b);
            assert!(a.findings.is_sorted_by(|x, y| x.order(y) != std::cmp::Ordering::Greater));
            let names: Vec<&String> = a.tallies.iter().map(|(n, _)| n).collect();
            assert!(names.is_sorted() && names.len() == set.rules().count());
        }
    }
}

/// What the shipped examples are told; with `RULES_SHOW` set it fails and shows all of it.
#[test]
fn examples_are_judged() {
    let set = on_disk();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut shown = Vec::new();
    for folder in std::fs::read_dir(root).unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()) {
        let mut files: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|e| e.unwrap().path()).collect();
        files.retain(|f| f.extension().is_some_and(|e| e == "amp"));
        files.sort();
        let name = |f: &std::path::PathBuf| f.file_name().unwrap().to_str().unwrap().to_owned();
        let texts: Vec<(String, String)> =
            files.iter().map(|f| (name(f), std::fs::read_to_string(f).unwrap())).collect();
        for top in &texts {
            let mut stack = texts.clone();
            stack.retain(|t| t != top);
            stack.push(top.clone());
            let verdicts = check(&set, &facts(&set, &stack).unwrap());
            shown.push(format!("== {} {:?}", top.0, verdicts.total()));
            shown.extend(verdicts.findings.iter().map(|f| {
                format!("{} {} {:?} {} {:?}", f.level.word(), f.rule, f.subjects, f.message, f.accepted)
            }));
            let doubts = verdicts.could_not_tell.iter();
            shown.extend(doubts.map(|c| format!("?  {} {}: {}", c.rule, c.subject, c.missing)));
            assert!(verdicts.total().passed > 0, "{}", top.0);
        }
    }
    assert!(std::env::var_os("RULES_SHOW").is_none(), "{}", shown.join("\n"));
}
