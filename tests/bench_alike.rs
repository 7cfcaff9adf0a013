//! Times and memory of matching two circuits by what they are, and beside it petgraph's own isomorphism. Run with
//! `cargo bench --bench bench_alike`; `ASFOUND_LARGEST=10000` stops earlier.

#![allow(clippy::print_stdout, reason = "printing is what it is for")]

mod retold;

use std::fmt::Write;
use std::time::Instant;

use asfound::analysis::circuits;
use asfound::change::alike::alike;
use asfound::circuit::{Circuit, Part};
use asfound::load::load;
use asfound::model::Construction;
use asfound::recognise::Recognised;
use asfound::source::Source;
use asfound::syntax::document::parse;
use petgraph::Undirected;
use petgraph::algo::is_isomorphic_matching;
use petgraph::graph::Graph;
use retold::{Numbers, Telling};

fn main() {
    let largest = std::env::var("ASFOUND_LARGEST").ok().and_then(|n| n.parse().ok()).unwrap_or(100_000);
    println!(
        "{:>8} {:>7} {:>11} {:>11} {:>9} {:>7} {:>7}",
        "parts", "edits", "match", "compare", "peak", "changes", "cost"
    );
    for parts in [100, 1_000, 10_000, 30_000, 100_000].into_iter().filter(|n| *n <= largest) {
        for edits in [0, 20] {
            row(parts, edits);
        }
    }
    println!("\npetgraph's isomorphism of the same circuits without edits, kinds and values as labels");
    for parts in [25, 50, 75] {
        beside(parts);
    }
}

/// One line of the table.
fn row(parts: usize, edits: usize) {
    let (first, second) = two(parts, edits);
    let started = Instant::now();
    let matched = alike(&first, &second);
    let matching = started.elapsed();
    let bare = Recognised::default();
    let changes = matched.compare([&bare, &bare]).changes;
    let whole = started.elapsed();
    println!(
        "{:>8} {edits:>7} {:>8.1} ms {:>8.1} ms {:>5} MiB {:>7} {:>7}",
        first.parts.len(),
        matching.as_secs_f64() * 1e3,
        whole.as_secs_f64() * 1e3,
        peak(),
        changes.len(),
        matched.cost(&changes),
    );
}

/// A bank of stages and the same told by another hand.
fn two(parts: usize, edits: usize) -> (Circuit, Circuit) {
    let text = bank(parts);
    let first = circuit(&text);
    let mut numbers = Numbers(parts as u64);
    let mut telling = Telling::of(&text, &first);
    telling.edit(edits, &mut numbers);
    let (anew, _) = telling.tell(&mut numbers);
    (first, circuit(&anew))
}

fn circuit(text: &str) -> Circuit {
    // Larger than a document may be: what is loaded first only brings the types.
    let mut loaded = load("bank.amp", &mut |_| Ok("stock \"Bank\"\n".to_owned())).expect("the text is there");
    let file = loaded.sources.add(Source::new("bank.amp", text));
    loaded.stack = vec![parse(file, text).0];
    let (mut circuits, _) = circuits(&loaded).expect("the bank is sound");
    circuits.remove(0)
}

/// Channels of eight stages, values drawn from the usual few, a rail to each channel, mixed into one line.
fn bank(parts: usize) -> String {
    let mut text =
        String::from("stock \"Bank\"\nrail B0\nsource HT 350V behind 50R plus B0 minus chassis\nnet MIX\n");
    let mut numbers = Numbers(7);
    let mut pick = |values: &[&'static str]| values[numbers.below(values.len())];
    let mut declared = 1;
    let mut stage = 0;
    while declared < parts {
        if stage % 8 == 0 {
            let _ = write!(
                text,
                "rail B{stage}x\nresistor RD{stage} {} 2W from B0 to B{stage}x\ncapacitor CD{stage} 22u 450V \
                 electrolytic plus B{stage}x minus chassis\njack J{stage} sleeve chassis tip RI{stage}.1\n\
                 resistor RI{stage} 68k 0.5W to RG{stage}.1\n",
                pick(&["10k", "4k7", "22k"])
            );
            declared += 4;
        }
        let valve = stage / 2;
        let half = if stage % 2 == 0 { "a" } else { "b" };
        let rail = stage - stage % 8;
        if half == "a" {
            let _ = writeln!(text, "tube V{valve} ECC83");
            declared += 1;
        }
        let next = if stage % 8 == 7 { "MIX".to_owned() } else { format!("RG{}.1", stage + 1) };
        let _ = write!(
            text,
            "resistor RG{stage} {} 0.5W to chassis\nresistor RS{stage} {} 0.5W from RG{stage}.1 to V{valve}{half}.grid\n\
             resistor RK{stage} {} 0.5W from V{valve}{half}.cathode to chassis\ncapacitor CK{stage} 22u 25V \
             electrolytic plus V{valve}{half}.cathode minus chassis\nresistor RP{stage} {} 1W from B{rail}x to \
             V{valve}{half}.plate\ncapacitor CP{stage} {} 630V film from V{valve}{half}.plate to RM{stage}.1\n\
             resistor RM{stage} {} 0.5W to {next}\n",
            pick(&["1M", "470k"]),
            pick(&["33k", "68k", "10k"]),
            pick(&["1k5", "1k8", "820R", "2k7"]),
            pick(&["100k", "220k"]),
            pick(&["22n", "10n", "47n"]),
            pick(&["470k", "220k", "100k"]),
        );
        declared += 7;
        stage += 1;
    }
    if stage % 8 != 0 {
        let _ = writeln!(text, "resistor RG{stage} 1M 0.5W to chassis");
    }
    text
}

/// Peak memory of the process so far, where the system tells it.
fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().trim_end_matches("kB").trim().parse::<u64>().ok()).unwrap_or(0) / 1024
}

/// petgraph's isomorphism, given what a part is but no anchors.
fn beside(parts: usize) {
    let (first, second) = two(parts, 0);
    let (a, b) = (labelled(&first), labelled(&second));
    let started = Instant::now();
    let same = is_isomorphic_matching(&a, &b, |x, y| x == y, |x, y| x == y);
    let theirs = started.elapsed();
    let started = Instant::now();
    let _ = alike(&first, &second);
    println!(
        "{:>8} {:>8.1} ms ({}), matched here in {:.1} ms",
        first.parts.len(),
        theirs.as_secs_f64() * 1e3,
        if same { "the same" } else { "not the same" },
        started.elapsed().as_secs_f64() * 1e3
    );
}

fn polar(part: &Part) -> bool {
    part.component.body.construction == Some(Construction::Electrolytic)
}

/// The circuit as a graph, a node for each net and each part, with kinds, values and kinds of legs as labels.
fn labelled(circuit: &Circuit) -> Graph<String, String, Undirected> {
    let mut labelled = Graph::new_undirected();
    let label = |net: usize| if net == 0 { "chassis".to_owned() } else { "net".into() };
    let nets: Vec<_> = (0..circuit.nets.len()).map(|net| labelled.add_node(label(net))).collect();
    for part in circuit.parts.iter() {
        let node = labelled.add_node(format!("{} {:?}", part.kind.word(), part.component.body.value));
        for leg in &part.legs {
            let Some(net) = leg.net else { continue };
            let end = match leg.name.split_once('.') {
                Some((_, electrode)) => electrode.to_owned(),
                None if part.kind.symmetric() && !polar(part) => "end".into(),
                None => leg.name.clone(),
            };
            labelled.add_edge(node, nets[net.0 as usize], end);
        }
    }
    labelled
}
