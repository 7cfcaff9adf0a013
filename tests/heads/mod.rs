//! Every finding stands under what brings it, proved from outside: with a head's change taken out and all rules asked
//! anew, no finding that stands under it is left.

mod mutations;

use std::collections::BTreeSet;
use std::sync::Arc;

use asfound::analysis::{Audit, Head, Heads, Root, Worked, audit, circuits, judge};
use asfound::change::{Undo, compare, turned};
use asfound::circuit::Circuit;
use asfound::load::load;
use asfound::model::DocumentKind;
use asfound::numeric::statistics::draw::Stream;
use asfound::rules::{Finding, RuleSet};

/// A record over an example, as text, audited.
fn audited(rules: &RuleSet, record: &str) -> Option<Audit> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/sedge-45/sedge-45.amp");
    let text = format!("as-found \"job\" of \"{path}\"\n{record}");
    let mut read = |asked: &str| match asked {
        "job.amp" => Ok(text.clone()),
        other => std::fs::read_to_string(other).map_err(|why| why.to_string()),
    };
    let (stack, _) = circuits(&load("job.amp", &mut read).ok()?).ok()?;
    let audit = audit(&stack, rules);
    audit.idle().is_some().then_some(audit)
}

fn example(rules: &RuleSet, path: &str) -> Audit {
    let path = format!("{}/{path}", env!("CARGO_MANIFEST_DIR"));
    let mut read = |path: &str| std::fs::read_to_string(path).map_err(|why| why.to_string());
    let (stack, _) = circuits(&load(&path, &mut read).expect("read")).expect("sound");
    audit(&stack, rules)
}

/// The record's circuit without some changes, as a document of its own over the same stock spec, judged by every rule in
/// every state.
fn judged_without(rules: &RuleSet, audit: &Audit, changes: &[usize]) -> Audit {
    let all: Vec<Circuit> = audit.worked.iter().map(|worked| worked.circuit.clone()).collect();
    let stock = all.iter().rposition(|circuit| circuit.kind == DocumentKind::Stock).expect("a stock spec");
    let (earlier, later): (&Arc<Worked>, &Arc<Worked>) = (&audit.worked[stock], &audit.worked[all.len() - 1]);
    let comparison = compare(earlier.side(), later.side());
    let nets = turned(&comparison);
    let mut without = Undo::new(&comparison, &earlier.circuit, &later.circuit, &nets).without(changes);
    let mut stack = all[..all.len() - 1].to_vec();
    without.readings.clear();
    stack.push(without);
    judge(&stack, rules)
}

fn still(audit: &Audit, finding: &Finding) -> bool {
    let found = audit.verdicts.findings.iter();
    found
        .filter(|other| other.rule == finding.rule && other.subject() == finding.subject())
        .any(|other| other.severity() >= finding.severity())
}

/// Every finding under exactly one head; with a head's changes out, and those named beside it, it is gone.
fn holds(rules: &RuleSet, audit: &Audit, heads: &Heads) {
    let findings = &audit.verdicts.findings;
    let mut placed: Vec<usize> =
        heads.heads.iter().flat_map(|h| h.findings.iter().map(|u| u.finding)).collect();
    placed.sort_unstable();
    assert_eq!(placed, (0..findings.len()).collect::<Vec<_>>(), "each finding once");
    for head in &heads.heads {
        let Root::Changes(changes) = &head.root else { continue };
        let sets: BTreeSet<Vec<usize>> =
            head.findings.iter().map(|under| [changes.as_slice(), &under.either].concat()).collect();
        for set in sets {
            let without = judged_without(rules, audit, &set);
            for under in
                head.findings.iter().filter(|under| [changes.as_slice(), &under.either].concat() == set)
            {
                let finding = &findings[under.finding];
                let told =
                    format!("{} on {} without {:?}", finding.rule, finding.subject(), names(heads, &set));
                assert!(!still(&without, finding), "{told}");
            }
        }
    }
}

fn names(heads: &Heads, changes: &[usize]) -> Vec<String> {
    heads.changes(changes).map(|change| change.subject.clone()).collect()
}

#[test]
fn heads_of_the_examples_hold() {
    let rules = RuleSet::shipped();
    for path in
        ["examples/sedge-45/job-0412.amp", "examples/rook-12/job-7.amp", "examples/sedge-45/left-0412.amp"]
    {
        let audit = example(&rules, path);
        holds(&rules, &audit, &audit.heads(&rules));
    }
}

/// Worked out by hand on the example: what an expert puts first, and what belongs to it.
#[test]
fn the_heads_of_a_job_are_those_of_an_expert() {
    let rules = RuleSet::shipped();
    let audit = example(&rules, "examples/sedge-45/job-0412.amp");
    let heads = audit.heads(&rules);
    let under = |name: &str| -> Vec<String> {
        let of = |head: &&Head| names(&heads, head.root.changes()).iter().any(|own| own == name);
        let head = heads.heads.iter().find(of).unwrap_or_else(|| panic!("{name} is a head"));
        let findings = head.findings.iter().map(|under| &audit.verdicts.findings[under.finding]);
        findings.map(|finding| format!("{} {}", finding.rule, finding.subject())).collect()
    };
    for (head, finding) in [
        ("F1", "fuse-too-large F1"),
        ("C14", "capacitor-leaks C14"),
        ("C14", "output-valve-over-maximum V5"),
        ("R41", "capacitor-overvolted C41"),
        ("R41", "part-missing R41"),
        ("R42", "dropper-overloaded R42"),
        ("C44", "capacitor-overvolted C44"),
        ("V4", "heater-cathode-overvolted V4a"),
        ("VR8", "output-valve-idles-hot V6"),
        ("C91", "coupling-capacitor-overvolted C91"),
        ("C8", "stage-has-lost-gain third stage"),
    ] {
        assert!(under(head).iter().any(|own| own == finding), "{finding} under {head}: {:?}", under(head));
    }
}

/// The head that a finding stands under, by its first change, and what is named beside it.
fn head_of(audit: &Audit, heads: &Heads, rule: &str, subject: &str) -> (String, Vec<String>) {
    for head in &heads.heads {
        for under in &head.findings {
            let finding = &audit.verdicts.findings[under.finding];
            if finding.rule == rule && finding.subject() == subject {
                let named = names(heads, head.root.changes()).first().cloned();
                return (named.unwrap_or_else(|| head.root.word().to_owned()), names(heads, &under.either));
            }
        }
    }
    panic!("{rule} on {subject} is told")
}

/// Two ways past a fuse: taking out one of them clears nothing, so the other is named beside it.
#[test]
fn where_either_is_enough_both_are_named() {
    let rules = RuleSet::shipped();
    let audit = audited(&rules, "F1 shorted\nbridged F1.1 to F1.2 with wire W7\n").expect("it rests");
    let heads = audit.heads(&rules);
    holds(&rules, &audit, &heads);
    let (head, either) = head_of(&audit, &heads, "mains-fuse-missing", "P1");
    assert_eq!(BTreeSet::from([head, either.concat()]), BTreeSet::from(["F1".to_owned(), "W7".to_owned()]));
}

/// A rule that can't be told in the stock circuit, for nothing was read there, tells of the leak all the same.
#[test]
fn what_stock_cannot_tell_is_not_in_stock_too() {
    let rules = RuleSet::shipped();
    let audit = audited(&rules, "C14 leaks 60uA at 200V\nC15 leaks 60uA at 200V\n").expect("it rests");
    let heads = audit.heads(&rules);
    holds(&rules, &audit, &heads);
    assert_eq!(head_of(&audit, &heads, "output-valve-over-maximum", "V5").0, "C14");
    assert_eq!(head_of(&audit, &heads, "output-valve-over-maximum", "V6").0, "C15");
}

/// What a plan leaves stands with what brings it.
#[test]
fn what_a_plan_leaves_stands_under_the_change() {
    let rules = RuleSet::shipped();
    let stock = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/sedge-45/sedge-45.amp");
    let found =
        format!("as-found \"job\" of \"{stock}\"\nbridged P1.live to chassis with wire W50\nR41 missing\n");
    let mut read = |asked: &str| match asked {
        "plan.amp" => Ok("plan \"half\" for \"found.amp\"\nrestore R41\n".to_owned()),
        "found.amp" => Ok(found.clone()),
        other => std::fs::read_to_string(other).map_err(|why| why.to_string()),
    };
    let (stack, _) = circuits(&load("plan.amp", &mut read).expect("read")).expect("sound");
    let audit = audit(&stack, &rules);
    let heads = audit.heads(&rules);
    assert_eq!(head_of(&audit, &heads, "plan-leaves-hazard", "W50").0, "W50");
}

/// Faults that a bench meets, one a line, over that example.
const FAULTS: [&str; 16] = [
    "C14 leaks 60uA at 200V",
    "C15 leaks 60uA at 200V",
    "F1 shorted",
    "R41 missing",
    "C8 lifted at chassis",
    "R42 replaced 12k 0.5W carbon-film",
    "C44 replaced 22u 350V electrolytic",
    "F1 replaced 3.15A 250V fast",
    "V4 replaced ECC81",
    "R7 replaced 5k6 0.5W carbon-film",
    "R11 shorted",
    "C1 reversed",
    "R8 reads 131k",
    "C3 missing",
    "R40 missing",
    "R26 replaced 47k 1W 500V carbon-film",
];

/// Records with two to eight faults each: heads hold, and there are hardly ever more of them than faults.
#[test]
fn heads_of_records_with_several_faults_hold() {
    let rules = RuleSet::shipped();
    let rounds: u64 = std::env::var("ASFOUND_ROUNDS").ok().and_then(|n| n.parse().ok()).unwrap_or(12);
    let (mut records, mut within) = (0, 0);
    for round in 0..rounds {
        let (stream, mut at) = (Stream::new(412, &format!("record {round}")), 0);
        let mut draw = |below: usize| {
            at += 1;
            (stream.at(at) * below as f64) as usize
        };
        let count = 2 + draw(7);
        let mut chosen: BTreeSet<usize> = BTreeSet::new();
        while chosen.len() < count {
            chosen.insert(draw(FAULTS.len()));
        }
        let record = chosen.iter().map(|at| FAULTS[*at]).collect::<Vec<_>>().join("\n");
        let Some(audit) = audited(&rules, &record) else { continue };
        let heads = audit.heads(&rules);
        holds(&rules, &audit, &heads);
        let of_changes = heads.heads.iter().filter(|head| !head.root.changes().is_empty()).count();
        records += 1;
        within += usize::from(of_changes <= count + 1);
    }
    assert!(records > rounds as usize / 2, "{records} of {rounds} rest");
    assert!(within * 100 >= records * 98, "heads at most faults + 1 in {within} of {records}");
}

/// What a plan changes on purpose is a decision; what it leaves of the record is told as ever.
#[test]
fn what_a_plan_decides_is_no_fault() {
    let rules = RuleSet::shipped();
    let stock = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/sedge-45/sedge-45.amp");
    let found = format!("as-found \"job\" of \"{stock}\"\nR7 replaced 5k6 0.5W carbon-film\nSH1 missing\n");
    let plan = "plan \"quiet\" for \"found.amp\"\nchange R48 to 16k 0.5W 350V metal-film\nremove C3\n\
                fit resistor R60 220k 2W 500V from B2 to chassis\nfit link W60 from C8.1 to C8.2\n";
    let mut read = |asked: &str| match asked {
        "plan.amp" => Ok(plan.to_owned()),
        "found.amp" => Ok(found.clone()),
        other => std::fs::read_to_string(other).map_err(|why| why.to_string()),
    };
    let (stack, _) = circuits(&load("plan.amp", &mut read).expect("read")).expect("sound");
    let audit = audit(&stack, &rules);
    let differing = ["non-stock", "part-added", "part-missing", "wiring-not-stock"];
    let told: BTreeSet<&str> = audit
        .verdicts
        .findings
        .iter()
        .filter(|finding| differing.contains(&finding.rule.as_str()))
        .map(Finding::subject)
        .collect();
    assert_eq!(told, BTreeSet::from(["R7", "SH1"]));
    let now = audit.worked.last().expect("a plan");
    let gone = compare(audit.worked[1].side(), now.side()).changes;
    assert!(gone.iter().any(|change| change.subject == "C3" && change.kind.word() == "removed"));
}

/// A decision is still judged where people are at risk.
#[test]
fn a_plan_that_takes_a_fuse_out_is_a_danger() {
    let rules = RuleSet::shipped();
    let stock = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/sedge-45/sedge-45.amp");
    let mut read = |asked: &str| match asked {
        "plan.amp" => Ok(format!("plan \"no fuse\" for \"{stock}\"\nremove F1\n")),
        other => std::fs::read_to_string(other).map_err(|why| why.to_string()),
    };
    let (stack, _) = circuits(&load("plan.amp", &mut read).expect("read")).expect("sound");
    let audit = audit(&stack, &rules);
    let told = |finding: &&Finding| finding.rule == "part-missing" && finding.subject() == "F1";
    assert!(audit.verdicts.findings.iter().find(told).is_some_and(|finding| finding.to_people));
}
