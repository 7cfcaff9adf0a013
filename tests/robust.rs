//! Mangled examples: whatever the text, the whole flow from text to findings ends without a panic, with finite
//! figures, and the same way twice.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use asfound::analysis::{audit, circuits};
use asfound::change::{Side, compare};
use asfound::load::{Loaded, load};
use asfound::recognise::recognise;
use asfound::rules::RuleSet;

use crate::support::stock;

/// Stacks of examples, the document that is mangled last or beneath the last.
const STACKS: [&[&str]; 5] = [
    &["rook-12/rook-12.amp", "rook-12/job-7.amp", "rook-12/plan-7.amp"],
    &["sedge-45/sedge-45.amp", "sedge-45/job-0412.amp", "sedge-45/plan-0412.amp", "sedge-45/left-0412.amp"],
    &["wren-8/wren-8.amp"],
    &["fallow-18/fallow-18.amp"],
    &["hollin-100/hollin-100.amp"],
];

/// Statements put in at random; `P` is a part, `L` a leg, `N` a net of the text.
const STATEMENTS: [&str; 46] = [
    "P missing",
    "P missing snipped",
    "L lifted",
    "P lifted at N",
    "L moved to L",
    "move L to N",
    "P swapped with P",
    "P 1 swapped with 2",
    "V1a swapped with V1b",
    "P reversed",
    "P shorted",
    "cut N leaving L L on X1",
    "bridged L to N",
    "bridged N to N with wire W7",
    "bridged L to L through 10k",
    "joined L to L",
    "restore P",
    "restore all",
    "restore all except P",
    "rejoin X1 to N",
    "P replaced by series Q1 1k, Q2 2k",
    "P replaced by parallel Q3 1k, Q4 2k",
    "P replaced 10k",
    "P replaced 1n ceramic",
    "change P to EL34",
    "change P to ECC82",
    "set P 20%",
    "set P play",
    "meter L 5V",
    "meter L to L 3V",
    "meter P 5mA",
    "meter N 100V in standby with 1% 1M",
    "P reads 5k in circuit",
    "P reads 1e300",
    "P leaks 1uA at 100V",
    "V2b used",
    "V4b used in \"more\"",
    "remove P",
    "remove \"more\"",
    "done all",
    "done P",
    "added resistor Z1 1k 1W from L to L",
    "added link Z3 from L to N in \"more\"",
    "added tube Z2 ECC83 a.plate N a.grid L a.cathode chassis b.grid L",
    "window L 1V to 2V",
    "P checked",
];

/// Words that a mangled text gets besides its own.
const STRANGERS: [&str; 16] = [
    "chassis",
    "V1",
    "V1a",
    "V1a.plate",
    "R1",
    "R1.2",
    "J1.ring",
    "V1.pin9",
    "0",
    "-1k",
    "1e300",
    "1e-300",
    "1e400",
    "NaN",
    "100%",
    "µ\"µ",
];

/// A small generator of numbers (`SplitMix64`).
pub(crate) struct Numbers(pub(crate) u64);

impl Numbers {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    pub(crate) fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound.max(1) as u64) as usize
    }
}

fn example(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    fs::read_to_string(path).expect("the example is there")
}

/// A statement about parts, legs and nets of a stack's texts.
fn statement(texts: &str, numbers: &mut Numbers) -> Vec<String> {
    let words: Vec<&str> = texts.split_whitespace().filter(|w| !w.contains('"')).collect();
    let parts: Vec<&str> = texts.lines().filter_map(|l| l.split_whitespace().nth(1)).collect();
    let legs: Vec<&str> = words.iter().copied().filter(|w| w.contains('.')).collect();
    let line = STATEMENTS[numbers.below(STATEMENTS.len())];
    let word = |word: &str| match word {
        "P" => parts[numbers.below(parts.len())].to_owned(),
        "L" => legs[numbers.below(legs.len())].to_owned(),
        "N" => ["chassis", "B1", "B2", "B3", "B4"][numbers.below(5)].to_owned(),
        other => other.to_owned(),
    };
    line.split(' ').map(word).collect()
}

/// Deletes, doubles, exchanges or replaces words and lines, and puts statements in, a few times.
fn mangled(text: &str, texts: &str, numbers: &mut Numbers) -> String {
    let mut lines: Vec<Vec<String>> =
        text.lines().map(|line| line.split_whitespace().map(str::to_owned).collect()).collect();
    for _ in 0..=numbers.below(3) {
        let (here, there) = (numbers.below(lines.len()), numbers.below(lines.len()));
        let (at, from) = (numbers.below(lines[here].len()), numbers.below(lines[there].len()));
        let stranger = STRANGERS[numbers.below(STRANGERS.len())].to_owned();
        let word = lines[there].get(from).cloned().unwrap_or(stranger.clone());
        match numbers.below(14) {
            0 if lines.len() > 1 => drop(lines.remove(here)),
            1 => lines.insert(here, lines[there].clone()),
            2 => lines.swap(here, there),
            3 if !lines[here].is_empty() => drop(lines[here].remove(at)),
            4 if !lines[here].is_empty() => lines[here][at] = word,
            5 if !lines[here].is_empty() => lines[here][at] = stranger,
            6 => lines[here].insert(at, word),
            _ => lines.push(statement(texts, numbers)),
        }
    }
    lines.iter().map(|line| line.join(" ") + "\n").collect()
}

/// What comes of a stack, down to the findings.
fn outcome(documents: &BTreeMap<String, String>, top: &str, rules: &RuleSet) -> String {
    let mut read = |path: &str| documents.get(path).cloned().ok_or_else(|| format!("no {path}"));
    let loaded: Loaded = load(top, &mut read).expect("the top document is there");
    let mut told = String::new();
    let built = match circuits(&loaded) {
        Ok((built, notices)) => {
            let _ = writeln!(told, "{notices:?}");
            built
        }
        Err(problems) => return format!("{problems:?}"),
    };
    let audit = audit(&built, rules);
    for worked in &audit.worked {
        for solved in worked.solved.every() {
            let condition = solved.told();
            let finite = |v: &Option<f64>| v.is_none_or(f64::is_finite);
            assert!(worked.circuit.net_ids().all(|net| finite(&solved.net_volts(net))), "{condition}");
            assert!(solved.watts.iter().all(finite), "{condition}");
        }
    }
    for step in audit.since.iter().chain(&audit.against_stock) {
        let _ = writeln!(told, "{:?}\n{:?}", step.comparison.changes, step.effects);
    }
    let _ = writeln!(told, "{:?}\n{:?}\n{:?}", audit.three, audit.cut_off, audit.unsolved);
    for finding in &audit.verdicts.findings {
        let _ = writeln!(told, "{finding:?}");
    }
    for word in ["NaN", "inf ", "inf,"] {
        assert!(!told.contains(word), "{word} in {told}");
    }
    told
}

#[test]
fn mangled_examples_end_the_same_way_twice() {
    let rules = RuleSet::shipped();
    let rounds = std::env::var("ASFOUND_ROUNDS").ok().and_then(|r| r.parse().ok()).unwrap_or(60);
    let mut numbers = Numbers(0x0412);
    for round in 0..rounds {
        let stack = STACKS[round % STACKS.len()];
        let name = |depth: usize| stack[depth].split_once('/').map_or(stack[depth], |(_, name)| name);
        let mut documents: BTreeMap<String, String> =
            (0..stack.len()).map(|depth| (name(depth).to_owned(), example(stack[depth]))).collect();
        let height = 1 + numbers.below(stack.len());
        let (which, top) = (name(numbers.below(height)), name(height - 1));
        let texts: String = documents.values().cloned().collect();
        let text = mangled(&documents[which], &texts, &mut numbers);
        documents.insert(which.to_owned(), text.clone());
        let ended = catch_unwind(AssertUnwindSafe(|| {
            let first = outcome(&documents, top, &rules);
            // Not each: it is the dearer half.
            assert!(round % 8 != 0 || first == outcome(&documents, top, &rules), "another outcome");
        }));
        assert!(ended.is_ok(), "round {round}: {which} under {top}:\n{text}");
    }
}

#[test]
fn the_order_of_statements_is_no_difference() {
    let mut numbers = Numbers(45);
    for stack in STACKS {
        let text = example(stack[0]);
        let mut lines: Vec<&str> = text.lines().collect();
        for last in (1..lines.len()).rev() {
            lines.swap(last, numbers.below(last + 1));
        }
        let circuits = [text.clone(), lines.join("\n")].map(|text| stock(&text));
        let recognised = circuits.each_ref().map(recognise);
        let side = |i: usize| Side { circuit: &circuits[i], recognised: &recognised[i] };
        let changes = compare(side(0), side(1)).changes;
        assert!(changes.is_empty(), "{changes:?}");
    }
}
