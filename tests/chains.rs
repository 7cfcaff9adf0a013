//! Parts in series between two nets: in what order they stand, which way round, and which of several equal chains a
//! designator belongs to make no difference, in as many places as they come.

#![allow(clippy::unwrap_used, reason = "a test that can't read its case has failed")]
#![allow(
    clippy::format_push_string,
    clippy::format_collect,
    reason = "documents are put together from lines"
)]

use asfound::change::Change;
use asfound::change::alike::alike;
use asfound::circuit::Circuit;
use asfound::recognise::recognise;

use crate::retold::Numbers;
use crate::support::stock;

/// Places of a chain's ends, and its parts as `kind value`.
type Chain = ([&'static str; 2], &'static [&'static str]);

const MIXING: &[&str] = &["capacitor 22n 630V film", "resistor 220k 0.5W"];
const SLOPE: &[&str] = &["resistor 47k 0.5W", "capacitor 10n 400V film", "resistor 47k 0.5W"];

/// Three plates into one net, two chains between the same two nets, a chain of three, and single ones.
const CHAINS: [Chain; 7] = [
    (["V1a.plate", "MIX"], MIXING),
    (["V1b.plate", "MIX"], MIXING),
    (["V2a.plate", "MIX"], MIXING),
    (["V2b.plate", "OUT"], MIXING),
    (["MIX", "OUT"], SLOPE),
    (["MIX", "OUT"], SLOPE),
    (["OUT", "chassis"], &["resistor 10k 0.5W", "capacitor 100n 400V film"]),
];

/// The amplifier with its chains told by one hand: the order, direction and names of their parts from `numbers`.
fn told(numbers: Option<&mut Numbers>) -> String {
    let mut text = String::from(
        "stock \"Linnet 5\"\nrail B1 \"plates\"\nsource HT 280V behind 1k plus B1 minus chassis\n\
         capacitor C90 47u 450V electrolytic plus B1 minus chassis\nnet MIX\nnet OUT\ntube V1 ECC83\ntube V2 ECC83\n\
         resistor R98 1M from MIX to chassis\nlink W1 from MIX to V2b.grid\nresistor R99 1M from OUT to chassis\n\
         jack J9 \"Out\" tip OUT sleeve chassis\n",
    );
    for (index, section) in ["V1a", "V1b", "V2a", "V2b"].into_iter().enumerate() {
        text += &format!(
            "resistor R{0}1 1{0}0k 1W from B1 to {section}.plate\nresistor R{0}2 1k{0} 0.5W from {section}.cathode to chassis\n",
            index + 1
        );
        if section != "V2b" {
            text += &format!(
                "jack J{0} \"In\" tip {section}.grid sleeve chassis\nresistor R{0}3 1M from {section}.grid to chassis\n",
                index + 1
            );
        }
    }
    let chains = CHAINS.map(|(_, parts)| parts);
    let mut numbers = numbers;
    let mut names: Vec<Vec<usize>> = Vec::new();
    for chain in chains {
        names.push(chain.iter().enumerate().map(|(i, _)| 500 + 10 * names.len() + i).collect());
    }
    if let Some(numbers) = numbers.as_deref_mut() {
        // Designators in any order, over all chains.
        let mut all: Vec<usize> = names.concat();
        numbers.shuffle(&mut all);
        let mut next = all.into_iter();
        names.iter_mut().flatten().for_each(|name| *name = next.next().unwrap());
    }
    for (at, ((ends, _), chain)) in CHAINS.iter().zip(chains).enumerate() {
        let mut order: Vec<usize> = (0..chain.len()).collect();
        if let Some(numbers) = numbers.as_deref_mut() {
            numbers.shuffle(&mut order);
        }
        for (place, part) in order.iter().enumerate() {
            let (kind, rest) = chain[*part].split_once(' ').unwrap();
            let joint = |i: usize| format!("N{at}{i}");
            let from = if place == 0 { ends[0].to_owned() } else { joint(place) };
            let to = if place + 1 == order.len() { ends[1].to_owned() } else { joint(place + 1) };
            let turned = numbers.as_deref_mut().is_some_and(Numbers::coin);
            let (from, to) = if turned { (to, from) } else { (from, to) };
            let letter = if kind == "resistor" { 'R' } else { 'C' };
            text += &format!("{kind} {letter}{} {rest} from {from} to {to}\n", names[at][*part]);
        }
        text += &(1..chain.len()).map(|i| format!("net N{at}{i}\n")).collect::<String>();
    }
    text
}

fn differences(before: &Circuit, after: &Circuit) -> Vec<Change> {
    let alike = alike(before, after);
    let recognised = [&alike.before, &alike.after].map(recognise);
    alike.compare([&recognised[0], &recognised[1]]).changes
}

fn shown(changes: &[Change]) -> Vec<String> {
    changes.iter().map(|c| format!("{} {}: {} → {}", c.subject, c.kind.word(), c.before, c.after)).collect()
}

/// Some, or as many as the environment says.
fn rounds() -> u64 {
    std::env::var("ASFOUND_ROUNDS").ok().and_then(|r| r.parse().ok()).unwrap_or(12)
}

#[test]
fn chains_in_another_order_with_other_names_are_no_difference() {
    let before = stock(&told(None));
    for seed in 0..rounds() {
        let text = told(Some(&mut Numbers(seed)));
        let changes = differences(&before, &stock(&text));
        assert!(changes.is_empty(), "{seed}: {:#?}\n{text}", shown(&changes));
    }
}

/// The other way about, told by two hands that agree in nothing.
#[test]
fn chains_told_by_two_other_hands_are_no_difference() {
    for seed in 0..rounds() {
        let [a, b] = [2 * seed + 1000, 2 * seed + 1001].map(|s| stock(&told(Some(&mut Numbers(s)))));
        let changes = differences(&a, &b);
        assert!(changes.is_empty(), "{seed}: {:#?}", shown(&changes));
    }
}
