//! Proof that what endangers people is told: faults of mains, earth, fuses and high tension on all five examples, as
//! a record's change and as lines of a bare stock document, at places and with values that a seed draws.
//!
//! What is right follows from what was done, without any rule. A fault counts as told where a finding of that severity is
//! there that the sound amplifier does not have, and as told at the right part where it names the part that makes it.

#![allow(clippy::print_stdout, reason = "the table is shown with --nocapture")]

mod faults;
mod more_faults;
mod places;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rayon::prelude::*;

use crate::rules_proofs::on_disk;
use crate::support;
use asfound::analysis::{Worked, circuits};
use asfound::circuit::Circuit;
use asfound::model::Condition;
use asfound::recognise::recognise;
use asfound::rules::{Level, RuleSet};
use asfound::solve::{Setup, SolvedSet};
use faults::{Fault, Shape, Want, faults, text};

const AMPLIFIERS: [&str; 5] = ["fallow-18", "hollin-100", "rook-12", "sedge-45", "wren-8"];

/// One fault in so many is judged, all of them with `ASFOUND_PEOPLE=all`; a prime, so that every sort of fault comes by.
const STRIDE: usize = 23;

/// What places and values are drawn from.
const SEED: u64 = 20_261_128;

/// Rule, whether to people, level, what it is about.
type Told = (String, bool, Level, Vec<String>);

/// Of a fault in one form: told at all, told at the right part; none where the form has no words for it.
type Verdict = Option<[bool; 2]>;

#[test]
fn what_endangers_people_is_told() {
    let rules = on_disk();
    let seed = std::env::var("ASFOUND_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(SEED);
    println!("seed {seed}");
    let all = faults(&AMPLIFIERS, seed);
    assert!(all.len() >= 200, "{}", all.len());
    let stride = if std::env::var_os("ASFOUND_PEOPLE").is_some() { 1 } else { STRIDE };
    let chosen: Vec<&Fault> = all.iter().step_by(stride).collect();
    let sound: BTreeSet<(&str, Shape)> = chosen.iter().map(|fault| (fault.amplifier, fault.shape)).collect();
    let stocks: BTreeMap<(&str, Shape), Stock> =
        sound.into_par_iter().map(|(name, shape)| ((name, shape), Stock::new(name, shape, &rules))).collect();
    let judged: Vec<(&Fault, [Verdict; 2])> = chosen
        .into_par_iter()
        .map(|fault| (fault, stocks[&(fault.amplifier, fault.shape)].judge(fault, &rules)))
        .collect();
    print(&judged);
    let missed: Vec<String> = judged.iter().flat_map(|(fault, verdicts)| misses(fault, *verdicts)).collect();
    for line in &missed {
        println!("missed: {line}");
    }
    assert!(missed.is_empty(), "{missed:#?}");
}

struct Stock {
    text: String,
    worked: Arc<Worked>,
    clean: BTreeSet<Told>,
}

impl Stock {
    fn new(name: &str, shape: Shape, rules: &RuleSet) -> Stock {
        let text = text(name, shape);
        let worked = work_out(support::stock(&text));
        let clean = told(&worked, None, rules);
        let alarms: Vec<&Told> = clean.iter().filter(|told| told.1 || told.2 >= Level::Warning).collect();
        assert!(alarms.is_empty(), "{name} {shape:?} is sound: {alarms:?}");
        Stock { text, worked, clean }
    }

    fn judge(&self, fault: &Fault, rules: &RuleSet) -> [Verdict; 2] {
        let record = fault.record.as_ref().map(|lines| {
            let layer = format!("as-found \"job\" of \"stock.amp\"\n{lines}");
            let found = built(&[("stock.amp", &self.text), ("found.amp", &layer)], fault);
            found.map_or([false; 2], |found| {
                self.verdict(fault, fault.want[0], &told(&found, Some(&self.worked), rules))
            })
        });
        let bare = fault.bare.as_ref().map(|text| {
            let found = built(&[("stock.amp", text)], fault);
            found.map_or([false; 2], |found| self.verdict(fault, fault.want[1], &told(&found, None, rules)))
        });
        [record, bare]
    }

    fn verdict(&self, fault: &Fault, want: Want, told: &BTreeSet<Told>) -> [bool; 2] {
        let bad = |told: &&Told| match want {
            Want::People => told.1,
            Want::Warning => told.2 >= Level::Warning,
        };
        let hits: Vec<&Told> = told.difference(&self.clean).filter(bad).collect();
        let named = |told: &&&Told| told.3.iter().any(|subject| fault.right.contains(&subject.as_str()));
        [!hits.is_empty(), hits.iter().any(|hit| named(&hit))]
    }
}

/// One that the tool refuses is told as refused, and counts as missed.
fn built(documents: &[(&str, &str)], fault: &Fault) -> Option<Arc<Worked>> {
    match circuits(&support::loaded(documents)) {
        Ok((mut all, _)) => all.pop().map(work_out),
        Err(problems) => {
            let said: Vec<&String> = problems.iter().map(|p| &p.message).collect();
            println!("refused: {} {} {:?}: {said:?}", fault.amplifier, fault.kind, fault.record);
            None
        }
    }
}

/// At rest alone: no fault here shows in another condition only.
fn work_out(circuit: Circuit) -> Arc<Worked> {
    let recognised = recognise(&circuit);
    let mut solved = SolvedSet::default();
    if let Ok(cases) = Setup::cases(Condition::Idle, &circuit, &recognised) {
        for setup in cases {
            // One without an operating point is judged by what needs none.
            let _ = solved.solve(&circuit, &setup);
        }
    }
    Arc::new(Worked::new(circuit, recognised, solved))
}

fn told(now: &Arc<Worked>, stock: Option<&Arc<Worked>>, rules: &RuleSet) -> BTreeSet<Told> {
    let findings = support::findings(now, stock, rules).into_iter();
    findings.map(|f| (f.rule, f.to_people, f.level, f.subjects)).collect()
}

/// What was said too little of, a line each.
fn misses(fault: &Fault, verdicts: [Verdict; 2]) -> Vec<String> {
    let line = |form: &str| {
        let lines = fault.record.as_deref().unwrap_or_default().replace('\n', "; ");
        format!("{}: {} {:?} {form}: {lines}", fault.kind, fault.amplifier, fault.shape)
    };
    ["as found", "bare"]
        .into_iter()
        .zip(verdicts)
        .filter(|(_, verdict)| verdict.is_some_and(|v| v != [true, true]))
        .map(|(form, _)| line(form))
        .collect()
}

/// A row for each kind: told, and at the right part, of how many, in both forms.
fn print(judged: &[(&Fault, [Verdict; 2])]) {
    let mut rows: BTreeMap<(Want, &str), [[usize; 3]; 2]> = BTreeMap::new();
    for (fault, verdicts) in judged {
        let row = rows.entry((fault.want[0], fault.kind)).or_default();
        for (cell, verdict) in row.iter_mut().zip(verdicts) {
            if let Some([told, right]) = verdict {
                cell[0] += 1;
                cell[1] += usize::from(*told);
                cell[2] += usize::from(*right);
            }
        }
    }
    println!("| kind | as found | told | right part | bare | told | right part |");
    for ((want, kind), [[a, b, c], [d, e, f]]) in rows {
        println!("| {want:?}: {kind} | {a} | {b} | {c} | {d} | {e} | {f} |");
    }
}
