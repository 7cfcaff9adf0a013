//! Times of the numeric core: medians, printed. Run with `cargo bench --bench bench_solve`.

#![allow(clippy::print_stdout, reason = "printing is what it is for")]

#[path = "reference/read.rs"]
mod read;

use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;

use asfound::analysis::{Worked, audit, circuits};
use asfound::load::load;
use asfound::numeric::statistics::Sampling;
use asfound::numeric::{Drive, Law, Linearised, Network, Prepared, operating_point};
use asfound::rules::{Facts, RuleSet, check};
use asfound::solve::signal::feedback::loop_gain;
use asfound::solve::signal::gain::gains;
use asfound::solve::signal::model::Rig;
use asfound::solve::signal::ports::ports;
use asfound::solve::signal::report::{Asked, respond};
use asfound::solve::signal::sweep::sweep;
use asfound::solve::tolerance::{monte_carlo, windows};
use asfound::solve::{Setup, at_rest};
use serde_json::Value;

fn main() {
    let amplifier = read::case(&read::text("p14_full_amp_a_stock"), &Value::Array(Vec::new()));
    let network = &amplifier.network;
    let cold = operating_point(network).expect("p14 solves");
    print("p14, cold, laid out anew", 201, || operating_point(network));

    let mut prepared = Prepared::new(network).expect("p14 is laid out");
    print("p14, cold, laid out before", 201, || prepared.solve(network, None));
    print("p14, warm, nothing changed", 1001, || prepared.solve(network, Some(&cold)));

    let mut changed = network.clone();
    let supply = amplifier.elements["V_RAW"];
    let bias = amplifier.elements["V_BRAW"];
    for element in [supply, bias] {
        if let Law::VoltageSource { volts, .. } = &mut changed.elements[element].law {
            *volts *= 1.1;
        }
    }
    print("p14, warm, supplies up 10 %", 1001, || prepared.solve(&changed, Some(&cold)));

    let mut spread = network.clone();
    let mut random = 12345;
    let many = Instant::now();
    for _ in 0..10_000 {
        jitter(network, &mut spread, &mut random);
        black_box(prepared.solve(&spread, Some(&cold)).expect("a near circuit solves"));
    }
    println!(
        "{:34} {:9.2} µs each",
        "10,000 warm, resistors ±10 %",
        many.elapsed().as_secs_f64() * 1e6 / 1e4
    );

    let hertz: Vec<f64> = (0..300).map(|at| libm::pow(10.0, 1.0 + 4.0 * f64::from(at) / 299.0)).collect();
    let speaker = amplifier.nodes["spk"];
    print("p14, linearise and 300-point sweep", 101, || {
        Linearised::new(network, &cold, Drive::Sources).and_then(|mut linear| linear.sweep(speaker, &hertz))
    });

    example(&hertz);

    let (long, end) = ladder(100_000);
    print("ladder of 100,000 nodes, anew", 5, || operating_point(&long));
    let mut prepared = Prepared::new(&long).expect("the ladder is laid out");
    let point = prepared.solve(&long, None).expect("the ladder solves");
    print("ladder of 100,000 nodes, warm", 5, || prepared.solve(&long, Some(&point)));
    spreads();
    rules();
    println!("its end is at {:?} V", point.volts(end));
}

/// The example amplifier's windows and samples, everything that rules may ask of it.
fn spreads() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/sedge-45/sedge-45.amp");
    let mut read = |path: &str| std::fs::read_to_string(path).map_err(|error| error.to_string());
    let loaded = load(path, &mut read).expect("the example is there");
    let (circuits, _) = circuits(&loaded).expect("the example is without errors");
    let (circuit, setup) = (&circuits[0], Setup::idle());
    print("sedge-45, at rest, anew", 101, || at_rest(circuit, &setup));
    print("sedge-45, with all windows, anew", 101, || {
        let solved = windows(circuit, &setup).expect("it solves");
        solved.spread(circuit).map(|spread| spread.varied)
    });
    let sampling = Sampling { samples: 10_000, seed: 1 };
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        let what = format!("sedge-45, 10,000 samples, {threads} cores");
        pool.install(|| print(&what, 3, || monte_carlo(circuit, &setup, sampling, &mut |_| {})));
    }
}

/// Times that all rules are asked.
const RULE_RUNS: usize = 51;

/// Every shipped rule over solved amplifiers, and the loop gain with its margins, which is the dearest thing they ask for.
fn rules() {
    let shipped = RuleSet::shipped();
    let count = shipped.rules().count();
    for name in ["sedge-45/sedge-45", "sedge-45/job-0412", "hollin-100/hollin-100"] {
        let path = format!("{}/examples/{name}.amp", env!("CARGO_MANIFEST_DIR"));
        let mut read = |path: &str| std::fs::read_to_string(path).map_err(|error| error.to_string());
        let loaded = load(&path, &mut read).expect("the example is there");
        let (circuits, _) = circuits(&loaded).expect("the example is without errors");
        let worked = audit(&circuits, &RuleSet::default()).worked;
        // What rules ask for is kept with the circuit: each run gets a circuit that nothing was asked of.
        let anew = |of: &Arc<Worked>| {
            Arc::new(Worked::new(of.circuit.clone(), of.recognised.clone(), of.solved.clone()))
        };
        let fresh = || Facts::of_stack(&shipped, &worked.iter().map(anew).collect::<Vec<_>>());
        let mut runs: Vec<Facts> = (0..RULE_RUNS).filter_map(|_| fresh()).collect();
        print(&format!("{name}, {count} rules"), RULE_RUNS, || {
            runs.pop().map(|facts| check(&shipped, &facts))
        });
        let top = worked.last().expect("there is a document");
        print(&format!("{name}, loop gain"), 51, || {
            let rig = Rig::new(&top.circuit, &top.recognised, &Setup::idle()).expect("it solves");
            loop_gain(&rig, &top.circuit, &top.recognised)
        });
    }
}

/// The example amplifier, its valves' capacitances included: a sweep to its speaker, all stages at one frequency.
fn example(hertz: &[f64]) {
    let root = env!("CARGO_MANIFEST_DIR");
    let mut read = |path: &str| std::fs::read_to_string(format!("{root}/{path}")).map_err(|e| e.to_string());
    let loaded =
        asfound::load::load("examples/sedge-45/sedge-45.amp", &mut read).expect("the example is there");
    let (circuits, _) = asfound::analysis::circuits(&loaded).expect("the example is sound");
    let recognised = asfound::recognise::recognise(&circuits[0]);
    let mut rig = Rig::new(&circuits[0], &recognised, &Setup::idle()).expect("the example solves");
    let speaker = rig.output.and_then(|net| rig.node(net)).expect("the example has a speaker");
    print("example, 300-point sweep", 101, || sweep(&mut rig, None, speaker, hertz));
    let ports = ports(&circuits[0], &recognised, rig.output);
    print("example, all stages at 1 kHz", 101, || gains(&mut rig, &recognised, &ports, 1000.0));
    let asked = Asked::default();
    print("example, whole response report", 11, || respond(&circuits[0], &recognised, &Setup::idle(), asked));
}

/// Runs `work` often and prints the median time.
fn print<T>(what: &str, times: usize, mut work: impl FnMut() -> T) {
    let mut seconds: Vec<f64> = (0..times)
        .map(|_| {
            let start = Instant::now();
            black_box(work());
            start.elapsed().as_secs_f64()
        })
        .collect();
    seconds.sort_by(f64::total_cmp);
    println!("{what:34} {:9.2} µs", seconds[times / 2] * 1e6);
}

/// Every resistor of the copy within ±10 % of its original; a linear congruential sequence, always the same.
fn jitter(network: &Network, copy: &mut Network, random: &mut u64) {
    for (element, original) in copy.elements.iter_mut().zip(&network.elements) {
        if let (Law::Resistor { ohms, .. }, Law::Resistor { ohms: nominal, .. }) =
            (&mut element.law, &original.law)
        {
            *random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            *ohms = nominal * (0.9 + 0.2 * (*random >> 40) as f64 / f64::from(1 << 24));
        }
    }
}

/// A supply feeding a long line of series resistors, each node with a resistor and a capacitor to the chassis.
fn ladder(nodes: usize) -> (Network, usize) {
    let mut network = Network::new();
    let mut last = network.add_node("supply");
    network.add("B", Law::VoltageSource { plus: last, minus: 0, volts: 400.0, ac_volts: 0.0 });
    for at in 0..nodes {
        let node = network.add_node(format!("n{at}"));
        network.add(format!("R{at}"), Law::Resistor { a: last, b: node, ohms: 10.0 });
        network.add(format!("L{at}"), Law::Resistor { a: node, b: 0, ohms: 1e9 });
        network.add(format!("C{at}"), Law::Capacitor { a: node, b: 0, farads: 1e-9 });
        last = node;
    }
    (network, last)
}
