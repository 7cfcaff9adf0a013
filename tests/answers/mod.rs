//! It always answers: every valve at every load, and amplifiers with one thing open, shorted or bridged.

#![allow(clippy::print_stdout, reason = "the table is shown with --nocapture")]

mod faults;
mod figures;
mod pentodes;

use std::fs;

use rayon::prelude::*;

use crate::rules_proofs::on_disk;
use crate::support::{built, problems};
use asfound::analysis::judge;
use asfound::rules::{Level, RuleSet};
use asfound::source::Severity;
use faults::{Fault, KINDS, faults};

const AMPLIFIERS: [&str; 5] = ["rook-12", "wren-8", "fallow-18", "hollin-100", "sedge-45"];

/// One fault in so many is tried, all of them where `ASFOUND_FAULTS` is set; a prime, so that every kind comes by.
const STRIDE: usize = 29;

/// How a fault ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    /// An operating point in every condition that the amplifier has.
    Solved,
    /// One is missing, and the change that prevents it is named; the rest is judged.
    Named,
    /// Neither.
    Failed,
}

/// A fault that was tried.
#[derive(Debug)]
struct Tried {
    amplifier: &'static str,
    fault: Fault,
    end: End,
    why: String,
}

/// A table of amplifiers by kinds of fault: solved, named, failed. At least 99.5 % have an operating point in every
/// condition, and none fails without naming what prevents it.
#[test]
fn every_single_fault_has_an_answer() {
    let stride = if std::env::var_os("ASFOUND_FAULTS").is_some() { 1 } else { STRIDE };
    let rules = on_disk();
    let all: Vec<Tried> = AMPLIFIERS.iter().flat_map(|name| tried(name, stride, &rules)).collect();
    print(&all);
    let of = |end: End| all.iter().filter(|one| one.end == end).collect::<Vec<_>>();
    assert!(all.len() > 1000 / stride, "{}", all.len());
    assert!(of(End::Failed).is_empty(), "{:?}", of(End::Failed));
    assert!(of(End::Named).len() * 200 <= all.len(), "{:?}", of(End::Named));
}

fn tried(amplifier: &'static str, stride: usize, rules: &RuleSet) -> Vec<Tried> {
    let text = example(amplifier);
    let stock = built(&[("stock.amp", &text)]).remove(0);
    let one = |fault: Fault| {
        let (end, why) = end(&text, &fault, rules);
        Tried { amplifier, fault, end, why }
    };
    faults(&stock).into_par_iter().step_by(stride).map(one).collect()
}

pub(crate) fn example(name: &str) -> String {
    let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
    fs::read_to_string(path).expect("an example")
}

fn end(text: &str, fault: &Fault, rules: &RuleSet) -> (End, String) {
    let audit = judge(&built(&[("stock.amp", text), ("found.amp", &fault.record())]), rules);
    let Some(problem) = audit.unsolved.first() else { return (End::Solved, String::new()) };
    let judged = !audit.verdicts.findings.is_empty();
    let named = audit.unsolved.iter().all(|problem| problem.severity == Severity::Notice);
    (if judged && named { End::Named } else { End::Failed }, problem.message.clone())
}

fn print(all: &[Tried]) {
    println!("| amplifier | {} |", KINDS.join(" | "));
    println!("| --- | {} |", KINDS.map(|_| "---").join(" | "));
    for name in AMPLIFIERS {
        let cell = |kind: &str| {
            let here = |one: &&Tried| one.amplifier == name && one.fault.kind == kind;
            let of = |end: End| all.iter().filter(here).filter(|one| one.end == end).count();
            format!("{} / {} / {}", of(End::Solved), of(End::Named), of(End::Failed))
        };
        println!("| {name} | {} |", KINDS.map(cell).join(" | "));
    }
    for one in all.iter().filter(|one| one.end != End::Solved) {
        println!("{:?} {} {}: {}", one.end, one.amplifier, one.fault.line, one.why);
    }
}

/// A capacitance that no part can have kept the walk of a discharge busy for minutes.
#[test]
fn sizes_that_no_part_has_are_refused() {
    let said = |value: &str, part: &str| {
        let text =
            format!("stock \"Rook 12\" \"practice head\"\n{part} X1 {value} from chassis to chassis\n");
        problems(&[("stock.amp", &text)])
    };
    for (part, value) in [
        ("capacitor", "0.000001p"),
        ("capacitor", "100F"),
        ("resistor", "1e20R"),
        ("inductor", "0.0000000000001H"),
    ] {
        let said = said(value, part);
        assert!(said.contains("value-out-of-range") || said.contains("wrong-value"), "{value}: {said}");
    }
    assert!(said("0.000001p", "capacitor").contains("can't be: a capacitance here is 1 fF to 10 F"));
    assert!(!said("1p", "capacitor").contains("value-out-of-range"));
}

/// A supply under a short rests too: it is told what winding and primary carry, and the rest is judged.
#[test]
fn a_shorted_rectifier_is_told() {
    let text = example("hollin-100");
    let record = "as-found \"hums\" of \"stock.amp\"\nD1 shorted\n";
    let audit = judge(&built(&[("stock.amp", &text), ("found.amp", record)]), &on_disk());
    assert!(audit.unsolved.is_empty(), "{:?}", audit.unsolved);
    let short = audit.verdicts.findings.iter().find(|finding| finding.rule == "supply-shorted");
    assert_eq!(short.map(|finding| finding.level), Some(Level::Danger));
}

/// Where a short keeps the supply from settling, the bridge is named and not the diode behind which the solver ended;
/// the rest is judged, and the exit status follows the findings.
#[test]
fn what_prevents_an_operating_point_is_named() {
    let text = example("hollin-100");
    for (bridge, state) in [
        ("L1.1 to S3.T2.4R", "idle"),
        ("C46.plus to D2.anode", "standby"),
        ("T1.heat.a to D2.anode", "standby"),
        ("T1.heat.b to D2.anode", "standby"),
    ] {
        let record = format!("as-found \"blows fuses\" of \"stock.amp\"\nbridged {bridge} with wire W50\n");
        let audit = judge(&built(&[("stock.amp", &text), ("found.amp", &record)]), &on_disk());
        let told: Vec<_> = audit.unsolved.iter().map(|one| (one.severity, one.message.as_str())).collect();
        let wanted = format!(
            "blows fuses has no operating point, {state}, with W50 bridged; without that, it has one"
        );
        assert_eq!(told, [(Severity::Notice, wanted.as_str())], "{bridge}");
        assert!(!audit.verdicts.findings.is_empty(), "{bridge}");
    }
}

/// A rail on chassis leaves nothing of the loop: what is left of the return in the last digits has no sign, and no plate wires
/// are told to be exchanged.
#[test]
fn a_dead_amplifier_has_no_feedback_the_wrong_way_round() {
    let text = example("sedge-45");
    let record = "as-found \"dead\" of \"stock.amp\"\nbridged B1 to chassis with wire W50\n\
                  bridged B2 to chassis with wire W51\n";
    let audit = judge(&built(&[("stock.amp", &text), ("found.amp", record)]), &on_disk());
    let told = |rule: &str| audit.verdicts.findings.iter().any(|finding| finding.rule == rule);
    assert!(told("feedback-open") && !told("feedback-wrong-way-round"));
}
