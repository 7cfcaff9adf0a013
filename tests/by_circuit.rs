//! Two circuits that have nothing in common but what they are.

use asfound::change::alike::alike;
use asfound::change::{Change, Side, compare};
use asfound::circuit::Circuit;
use asfound::recognise::recognise;

use crate::retold::{Numbers, Telling};
use crate::support::stock;

const EXAMPLES: [&str; 4] = ["sedge-45", "wren-8", "fallow-18", "hollin-100"];

fn example(name: &str) -> String {
    let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).expect("the example is there")
}

fn changes(before: &Circuit, after: &Circuit) -> Vec<Change> {
    let alike = alike(before, after);
    let recognised = [&alike.before, &alike.after].map(recognise);
    let side = |circuit, i: usize| Side { circuit, recognised: &recognised[i] };
    compare(side(&alike.before, 0), side(&alike.after, 1)).changes
}

fn told(changes: &[Change]) -> Vec<String> {
    changes.iter().map(|c| format!("{} {}: {} → {}", c.subject, c.kind.word(), c.before, c.after)).collect()
}

/// How often each example is told anew: a few times, or as the environment says.
fn rounds() -> usize {
    std::env::var("ASFOUND_ROUNDS").ok().and_then(|r| r.parse().ok()).unwrap_or(6)
}

#[test]
fn an_amplifier_told_by_another_hand_is_the_same() {
    for name in EXAMPLES {
        let text = example(name);
        let circuit = stock(&text);
        let telling = Telling::of(&text, &circuit);
        for seed in 0..rounds() {
            let (anew, _) = telling.tell(&mut Numbers(seed as u64));
            std::fs::write("/tmp/anew.amp", &anew).unwrap();
            let found = told(&changes(&circuit, &stock(&anew)));
            assert!(found.is_empty(), "{name} {seed}: {found:#?}\n{anew}");
        }
    }
}
