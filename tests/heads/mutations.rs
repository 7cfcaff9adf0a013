//! One fault at a time, everywhere: how many heads it takes, and whether the first names it.

#![allow(clippy::print_stdout, reason = "the table is shown with --nocapture")]

use rayon::prelude::*;

use super::{holds, names};
use crate::mutations::mutate::{Mutation, mutations};
use asfound::analysis::{Audit, Heads, Root, audit, circuits};
use asfound::load::load;
use asfound::rules::RuleSet;

const AMPLIFIERS: [&str; 4] = ["sedge-45", "wren-8", "fallow-18", "hollin-100"];

/// One mutation in so many is judged, all of them where `ASFOUND_MUTATIONS` is set; a prime, so that every kind comes by.
const STRIDE: usize = 67;

/// What a mutation comes to on the page.
struct Paged {
    line: String,
    /// What is not the design's, and isn't merely not looked at: how many heads.
    heads: usize,
    /// Findings under them.
    findings: usize,
    /// Whether the first of all names the part, or there is none.
    first: bool,
}

#[test]
fn one_fault_is_one_head_and_the_first_names_it() {
    let rules = RuleSet::shipped();
    let stride = if std::env::var_os("ASFOUND_MUTATIONS").is_some() { 1 } else { STRIDE };
    let of = |name: &&str| -> Vec<Paged> {
        let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).expect("the example is there");
        let stock = audited(&rules, &text, None);
        let all = mutations(&stock.worked[0].circuit);
        all.par_iter().step_by(stride).filter_map(|mutation| paged(&rules, &text, mutation)).collect()
    };
    let paged: Vec<Paged> = AMPLIFIERS.iter().flat_map(of).collect();
    let told: Vec<&Paged> = paged.iter().filter(|one| one.heads > 0).collect();
    let share = |count: usize| count as f64 / told.len() as f64;
    let first = told.iter().filter(|one| one.first).count();
    let mut counts: Vec<usize> = told.iter().map(|one| one.heads).collect();
    counts.sort_unstable();
    let (median, mean) = (counts[counts.len() / 2], share(counts.iter().sum()));
    let findings = share(told.iter().map(|one| one.findings).sum());
    println!("{} of {} mutations told; the first head names {first}", told.len(), paged.len());
    println!(
        "heads a fault: median {median}, mean {mean:.3}, most {:?}; findings {findings:.2}",
        counts.last()
    );
    for one in told.iter().filter(|one| !one.first || one.heads > 1) {
        println!("{} heads, named first: {}: {}", one.heads, one.first, one.line);
    }
    assert!(share(first) >= 0.97, "the first head names {first} of {}", told.len());
    assert!(median == 1 && mean <= 1.3, "heads a fault: median {median}, mean {mean:.2}");
}

fn paged(rules: &RuleSet, stock: &str, mutation: &Mutation) -> Option<Paged> {
    let audit =
        audited(rules, stock, Some(&format!("as-found \"job\" of \"stock.amp\"\n{}\n", mutation.line)));
    audit.idle()?;
    let heads = audit.heads(rules);
    holds(rules, &audit, &heads);
    let own: Vec<_> =
        heads.heads.iter().filter(|head| !matches!(head.root, Root::Stock | Root::Unseen)).collect();
    Some(Paged {
        line: told_as(mutation, &audit, &heads),
        heads: own.len(),
        findings: own.iter().map(|head| head.findings.len()).sum(),
        first: heads
            .heads
            .first()
            .is_some_and(|head| names(&heads, head.root.changes()).contains(&mutation.part)),
    })
}

fn told_as(mutation: &Mutation, audit: &Audit, heads: &Heads) -> String {
    let one = |head: &asfound::analysis::Head| {
        let finding = &audit.verdicts.findings[head.findings[0].finding];
        let names = names(heads, head.root.changes()).join(" ");
        format!("{} {names}: {} on {}", head.root.word(), finding.rule, finding.subject())
    };
    let heads: Vec<String> = heads.heads.iter().map(one).collect();
    format!("{} [{}]", mutation.line, heads.join(" | "))
}

fn audited(rules: &RuleSet, stock: &str, found: Option<&str>) -> Audit {
    let top = if found.is_some() { "found.amp" } else { "stock.amp" };
    let mut read = |path: &str| match (path, found) {
        ("stock.amp", _) => Ok(stock.to_owned()),
        ("found.amp", Some(text)) => Ok(text.to_owned()),
        _ => Err(format!("no {path}")),
    };
    let (stack, _) = circuits(&load(top, &mut read).expect("it is there")).expect("a mutation builds");
    audit(&stack, rules)
}
