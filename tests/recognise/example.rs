//! The amplifiers that a reader can run.

use asfound::analysis::circuits;
use asfound::load::load;
use asfound::recognise::recognise;

use super::table;

#[test]
fn every_part_of_the_stock_examples_is_recognised() {
    let mut read = |path: &str| std::fs::read_to_string(path).map_err(|e| e.to_string());
    let loaded = load("examples/sedge-45/sedge-45.amp", &mut read).expect("the example is there");
    let (circuits, _) = circuits(&loaded).expect("the example is right");
    let recognised = recognise(&circuits[0]);
    let told = table(&circuits[0], &recognised);
    assert!(recognised.unrecognised.is_empty() && recognised.strange_sections.is_empty(), "{told}");
}

#[test]
fn a_large_mesh_is_recognised_in_a_moment() {
    let mut lines: Vec<String> = [
        "stock \"Mesh\"",
        "rail B1",
        "source HT 300V plus B1 minus chassis",
        "output-transformer T2 primary 8k plate B1 supply N0 common chassis taps 8R",
        "resistor RX 1k from T2.8R to N1",
        "resistor RY 1k from N2 to chassis",
        "tube V1 ECC83",
        "resistor RK 1k from V1a.cathode to N3",
        "resistor RP 100k from B1 to V1a.plate",
    ]
    .map(str::to_owned)
    .to_vec();
    for node in 0..40 {
        lines.push(format!("net N{node}"));
    }
    for part in 0..1500 {
        let (a, b) = (part % 40, (part * 7 + part / 40 + 1) % 40);
        if a != b {
            lines.push(format!("resistor R{part} 10k from N{a} to N{b}"));
            lines.push(format!("capacitor C{part} 10u from N{b} to N{a}"));
        }
    }
    let circuit = super::circuit(&[&lines.join("\n")]);
    let start = std::time::Instant::now();
    let recognised = recognise(&circuit);
    assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
    assert!(recognised.stages.len() <= 2);
}
