//! Two circuits that have nothing in common but what they are.

use asfound::change::alike::{Alike, alike};
use asfound::change::{Change, ChangeKind, describe};
use asfound::circuit::Circuit;
use asfound::recognise::recognise;

use crate::retold::{Made, Numbers, Telling};
use crate::support::stock;

const EXAMPLES: [&str; 4] = ["sedge-45", "wren-8", "fallow-18", "hollin-100"];

fn example(name: &str) -> String {
    let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).expect("the example is there")
}

fn matched(before: &Circuit, after: &Circuit) -> (Alike, Vec<Change>) {
    let alike = alike(before, after);
    let recognised = [&alike.before, &alike.after].map(recognise);
    let changes = alike.compare([&recognised[0], &recognised[1]]).changes;
    (alike, changes)
}

fn changes(before: &Circuit, after: &Circuit) -> Vec<Change> {
    matched(before, after).1
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
            let found = told(&changes(&circuit, &stock(&anew)));
            assert!(found.is_empty(), "{name} {seed}: {found:#?}\n{anew}");
        }
    }
}

/// What differs, by word and part. Missing and identical parts may be taken for one another, so that parts are told by
/// what they are: in the second circuit by the name there, in the first by label.
fn outcome(before: &Circuit, changes: &[Change]) -> Vec<(String, String)> {
    let label = |name: &str| {
        let part = before.find(name).map(|id| before.part(id));
        part.map_or_else(String::new, |part| describe::body(part.kind, &part.body))
    };
    let mut list: Vec<(String, String)> = changes
        .iter()
        .map(|change| {
            let (own, other) = change.subject.split_once(" ≙ ").unwrap_or(("", &change.subject));
            let gone = change.kind == ChangeKind::Missing;
            (
                change.kind.word().to_owned(),
                if gone { label(own.max(&change.subject)) } else { other.to_owned() },
            )
        })
        .collect();
    list.sort();
    list
}

#[test]
fn known_edits_are_told_exactly() {
    let (mut all, mut exact) = (0, 0);
    for name in EXAMPLES {
        let text = example(name);
        let circuit = stock(&text);
        for seed in 0..4 * rounds() {
            let mut numbers = Numbers(seed as u64 + 77);
            let mut telling = Telling::of(&text, &circuit);
            let made = telling.edit(1 + seed % 12, &mut numbers);
            let (anew, names) = telling.tell(&mut numbers);
            let (alike, found) = matched(&circuit, &stock(&anew));
            // All these edits weigh two: of parts only those with two legs come and go.
            let (cost, made_cost) = (alike.cost(&found), 2 * made.len() as u32);
            assert!(alike.least <= cost, "{name} {seed}: {} over {cost}", alike.least);
            assert!(
                cost <= made_cost,
                "{name} {seed}: {cost} over {made_cost}: {made:?} {:#?}",
                told(&found)
            );
            let wanted = |made: &Made| {
                let part = circuit.find(&made.part).map(|id| circuit.part(id));
                let label = part.map_or_else(String::new, |p| describe::body(p.kind, &p.body));
                let name = names.get(&made.part).cloned().unwrap_or(label);
                (made.word.to_owned(), name)
            };
            let mut wanted: Vec<(String, String)> = made.iter().map(wanted).collect();
            wanted.sort();
            all += 1;
            if outcome(&circuit, &found) == wanted {
                exact += 1;
            } else if std::env::var("ASFOUND_SHOW").is_ok() {
                eprintln!("{name} {seed}: made {made:?} {wanted:?}\n found {:#?}", told(&found));
            }
        }
    }
    eprintln!("{exact} of {all} exact");
    assert!(exact * 100 >= all * 98, "{exact} of {all} told exactly as made");
}
