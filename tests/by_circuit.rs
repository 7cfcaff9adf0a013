//! Two circuits that have nothing in common but what they are.

use std::collections::BTreeSet;

use asfound::change::alike::{Alike, alike, strangers};
use asfound::change::{Change, ChangeKind, Side, compare, effects};
use asfound::circuit::{Circuit, describe};
use asfound::model::Kind;
use asfound::recognise::recognise;
use asfound::solve::{Setup, at_rest};

use crate::retold::edits::Made;
use crate::retold::{Numbers, Telling};
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
        part.map_or_else(String::new, |part| describe::body(part.kind, &part.component.body))
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
    let (mut all, mut exact, mut proven) = (0, 0, 0);
    let (mut dearer, mut otherwise) = (Vec::new(), Vec::new());
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
            if cost > made_cost {
                dearer.push(format!("{name} {seed}: {cost} over {made_cost}: {made:?} {:#?}", told(&found)));
            }
            let wanted = |made: &Made| {
                let part = circuit.find(&made.part).map(|id| circuit.part(id));
                let label = part.map_or_else(String::new, |p| describe::body(p.kind, &p.component.body));
                let name = names.get(&made.part).cloned().unwrap_or(label);
                (made.word.to_owned(), name)
            };
            let mut wanted: Vec<(String, String)> = made.iter().map(wanted).collect();
            wanted.sort();
            all += 1;
            proven += usize::from(alike.least == cost);
            if outcome(&circuit, &found) == wanted {
                exact += 1;
            } else {
                otherwise.push(format!("{name} {seed}: {made:?} {:#?}", told(&found)));
            }
        }
    }
    assert!(dearer.is_empty(), "{} of {all} dearer: {}", dearer.len(), dearer.join("\n"));
    assert!(exact * 100 >= all * 98, "{exact} of {all} told as made, but: {}", otherwise.join("\n"));
    assert!(proven * 4 >= all, "{proven} of {all} proven");
}

/// Two channels that are not alike, into one stage.
const SMALL: &str = r#"stock "Bench two-channel"
rail B1
rail B2 "preamp"
source HT 300V behind 85R plus B1 minus chassis
resistor R40 10k 2W from B1 to B2
capacitor C40 22u 450V electrolytic plus B2 minus chassis
jack J1 "Bright" sleeve chassis
jack J2 "Plain" sleeve chassis
resistor R1 1M 0.5W from J1.tip to chassis
resistor R2 68k 0.5W from J1.tip to V1a.grid
resistor R3 470k 0.5W from J2.tip to chassis
resistor R4 33k 0.5W from J2.tip to V1b.grid
tube V1 ECC83
resistor R5 1k8 0.5W from V1a.cathode to chassis
capacitor C1 25u 25V electrolytic plus V1a.cathode minus chassis
resistor R6 100k 1W from B2 to V1a.plate
resistor R7 1k5 0.5W from V1b.cathode to chassis
resistor R8 220k 1W from B2 to V1b.plate
capacitor C2 22n 400V film from V1a.plate to VR1.top
pot VR1 1M log bottom chassis at 60%
capacitor C3 10n 400V film from V1b.plate to R9.1
resistor R9 470k 0.5W from C3.2 to V2a.grid
resistor R10 330k 0.5W from VR1.wiper to V2a.grid
tube V2 ECC82
V2b unused grid chassis cathode chassis
resistor R11 4k7 0.5W from V2a.cathode to chassis
resistor R12 47k 1W from B2 to V2a.plate
capacitor C4 47n 400V film from V2a.plate to R13.1
resistor R13 1M 0.5W from C4.2 to chassis
"#;

/// The small amplifier against itself with some lines put otherwise, told by another hand.
fn against(lines: &[(&str, &str)]) -> (Alike, Vec<Change>) {
    let mut text = SMALL.to_owned();
    for (line, other) in lines {
        assert!(text.contains(line), "{line}");
        text = text.replace(line, other);
    }
    let (anew, _) = Telling::of(&text, &stock(&text)).tell(&mut Numbers(5));
    matched(&stock(SMALL), &stock(&anew))
}

fn why(alike: &Alike) -> Vec<&str> {
    let all = alike.equal.iter().map(|equal| equal.why.as_str());
    all.filter(|why| !why.starts_with("halves")).collect()
}

#[test]
fn what_is_told_otherwise_and_is_the_same_is_no_change() {
    let c3 = "capacitor C3 10n 400V film from V1b.plate to R9.1\nresistor R9 470k 0.5W from C3.2 to V2a.grid";
    let c3_last =
        "resistor R9 470k 0.5W from V1b.plate to C3.1\ncapacitor C3 10n 400V film from R9.2 to V2a.grid";
    let r12 = "resistor R12 47k 1W from B2 to V2a.plate";
    let table = [
        (c3, c3_last, "in series, in another order"),
        (
            r12,
            "resistor R12 27k 1W from B2 to Q1.1\nresistor Q1 22k 1W to V2a.plate",
            "in series 49k, within the tolerance of 47k",
        ),
        (
            r12,
            "resistor R12 100k 1W from B2 to V2a.plate\nresistor Q1 91k 1W from B2 to V2a.plate",
            "in parallel 47k64, within the tolerance of 47k",
        ),
        (
            "capacitor C2 22n 400V film from V1a.plate to VR1.top",
            "capacitor C2 10n 400V film from V1a.plate to VR1.top\ncapacitor Q1 12n 400V film from V1a.plate to VR1.top",
            "in parallel 22n, within the tolerance of 22n",
        ),
        (
            "resistor R10 330k 0.5W from VR1.wiper",
            "link W1 from VR1.wiper to N1\nnet N1\nresistor R10 330k 0.5W from N1",
            "a wire between places that are one net",
        ),
        (
            "resistor R13 1M 0.5W from C4.2 to chassis\n",
            "resistor R13 1M 0.5W from C4.2 to GND\nnet GND\nlink W1 from GND to chassis\n",
            "a wire between places that are one net",
        ),
    ];
    for (line, other, reason) in table {
        let (alike, found) = against(&[(line, other)]);
        assert!(found.is_empty(), "{other}: {:#?}", told(&found));
        assert_eq!(why(&alike), [reason], "{other}");
        // And from the other side.
        let turned = turned_round(&[(line, other)]);
        assert!(turned.1.is_empty(), "{other}: {:#?}", told(&turned.1));
        assert_eq!(why(&turned.0), [reason], "{other}");
    }
}

/// The other way round: the changed telling first.
fn turned_round(lines: &[(&str, &str)]) -> (Alike, Vec<Change>) {
    let mut text = SMALL.to_owned();
    for (line, other) in lines {
        text = text.replace(line, other);
    }
    let (anew, _) = Telling::of(SMALL, &stock(SMALL)).tell(&mut Numbers(6));
    matched(&stock(&text), &stock(&anew))
}

#[test]
fn exchanged_halves_and_turned_parts_are_told_as_the_same() {
    let swapped = SMALL.replace("V1a", "V1q").replace("V1b", "V1a").replace("V1q", "V1b");
    let (alike, found) = matched(&stock(SMALL), &stock(&swapped));
    assert!(found.is_empty(), "{:#?}", told(&found));
    assert_eq!(alike.equal.len(), 1);
    assert_eq!(alike.equal[0].why, "halves a and b exchanged");
}

#[test]
fn a_change_of_a_net_is_one_change() {
    let table = [
        // A leg in another net.
        (
            "resistor R3 470k 0.5W from J2.tip",
            "resistor R3 470k 0.5W from V1b.grid",
            "R3 moved: R3.1 at J2.tip → V1b.grid",
        ),
        // A rail cut.
        (
            "resistor R40 10k 2W from B1 to B2\n",
            "resistor R40 10k 2W from B1 to B2\nrail B9\nresistor R6 100k 1W from B9 to V1a.plate\nresistor R8 220k 1W from B9 to V1b.plate\n",
            "B2 cut: one net → R6.1, R8.1 apart on N3",
        ),
        // Two nets bridged.
        (
            "resistor R5 1k8 0.5W from V1a.cathode",
            "link W1 from V1a.cathode to V1b.cathode\nresistor R5 1k8 0.5W from V1a.cathode",
            "X143 bridged: not there → nothing stated from V1b.cathode to V1a.cathode",
        ),
    ];
    for (line, other, expected) in table {
        let mut lines = vec![(line, other)];
        if expected.contains("cut") {
            lines.insert(0, ("resistor R6 100k 1W from B2 to V1a.plate\n", ""));
            lines.insert(0, ("resistor R8 220k 1W from B2 to V1b.plate\n", ""));
        }
        let (alike, found) = against(&lines);
        let [change] = found.as_slice() else { panic!("{other}: {:#?}", told(&found)) };
        let subject = change.subject.split(" ≙ ").next().unwrap_or("");
        assert_eq!(
            format!("{subject} {}: {} → {}", change.kind.word(), change.before, change.after),
            expected
        );
        assert_eq!(alike.cost(&found), 2);
    }
}

/// An amplifier with two of its nets run into one, without any link, told by another hand; nothing where that would
/// join a part to itself.
fn run_together(whole: &Telling, one: usize, other: usize) -> Option<Circuit> {
    let mut telling = whole.clone();
    for told in telling.parts.values_mut() {
        let at = |net| told.legs.iter().any(|(_, at)| *at == Some(net));
        if told.legs.len() == 2 && at(one) && at(other) {
            return None;
        }
        for (_, net) in told.legs.iter_mut().filter(|(_, net)| *net == Some(other)) {
            *net = Some(one);
        }
    }
    telling.nets[other] = None;
    let (anew, _) = telling.tell(&mut Numbers((100 * one + other) as u64));
    Some(stock(&anew))
}

#[test]
fn nets_run_together_are_one_change_and_so_is_a_net_in_two() {
    // Of the small amplifier any two nets, of the others one couple in seven.
    let table = [(SMALL.to_owned(), 1), (example("wren-8"), 7), (example("fallow-18"), 7)];
    for (text, every) in table {
        let first = stock(&text);
        let whole = Telling::of(&text, &first);
        // A switch calls its lugs after their places, and has one lug less where two of these are one.
        let lug = |net: &usize| {
            let legs = first.nets[*net].legs.iter();
            legs.map(|leg| first.part(leg.part).kind).any(|kind| kind == Kind::Switch)
        };
        let nets: Vec<usize> =
            (0..first.nets.len()).filter(|net| whole.crowd(*net) > 1 && !lug(net)).collect();
        let couples = nets.iter().flat_map(|n| nets.iter().filter(move |m| n < m).map(|m| (*n, *m)));
        let mut crowded = 0;
        for (n, m) in couples.step_by(every) {
            let Some(second) = run_together(&whole, n, m) else { continue };
            crowded += usize::from(whole.crowd(n).min(whole.crowd(m)) > 2);
            for (before, after, kind) in
                [(&first, &second, ChangeKind::Bridged), (&second, &first, ChangeKind::Cut)]
            {
                let (alike, found) = matched(before, after);
                let kinds: Vec<ChangeKind> = found.iter().map(|change| change.kind).collect();
                let names = (&first.nets[n].name, &first.nets[m].name);
                assert_eq!(kinds, [kind], "{names:?} {:#?}", told(&found));
                assert_eq!(alike.cost(&found), 2, "{names:?}");
            }
        }
        assert!(crowded > 0, "no two nets with many legs");
    }
}

/// Two channels alike in all but the names.
const TWINS: &str = r#"stock "Bench twins"
rail B1
source HT 300V behind 85R plus B1 minus chassis
tube V1 ECC83
jack J1 sleeve chassis tip V1a.grid
jack J2 sleeve chassis tip V1b.grid
resistor R1 1M 0.5W from V1a.grid to chassis
resistor R2 1M 0.5W from V1b.grid to chassis
resistor R3 1k5 0.5W from V1a.cathode to chassis
resistor R4 1k5 0.5W from V1b.cathode to chassis
resistor R5 100k 0.5W from B1 to V1a.plate
resistor R6 100k 0.5W from B1 to V1b.plate
"#;

#[test]
fn equals_are_taken_one_way_and_told() {
    let telling = Telling::of(TWINS, &stock(TWINS));
    let mut outcomes = BTreeSet::new();
    for seed in 0..6 {
        let (anew, _) = telling.tell(&mut Numbers(seed));
        let first = stock(TWINS);
        let (alike, found) = matched(&first, &stock(&anew));
        assert!(found.is_empty(), "{:#?}", told(&found));
        assert!(!alike.interchangeable.is_empty());
        outcomes.insert(alike.interchangeable.clone());
        // The order of statements is none of the names' business.
        let mut lines: Vec<&str> = anew.lines().collect();
        Numbers(seed + 40).shuffle(&mut lines[1..]);
        let (again, _) = matched(&first, &stock(&lines.join("\n")));
        assert_eq!(alike.names, again.names);
    }
    assert_eq!(outcomes.len(), 1, "{outcomes:?}");
    // A change in one of the twins is one change, whichever it is taken for.
    let text = TWINS.replace("R4 1k5", "R4 2k7");
    let (anew, _) = Telling::of(&text, &stock(&text)).tell(&mut Numbers(3));
    let (alike, found) = matched(&stock(TWINS), &stock(&anew));
    assert_eq!(found.len(), 1, "{:#?}", told(&found));
    assert_eq!((alike.cost(&found), alike.least), (2, 2));
}

#[test]
fn the_same_two_circuits_give_the_same_answer() {
    let text = example("hollin-100");
    let circuit = stock(&text);
    let mut telling = Telling::of(&text, &circuit);
    telling.edit(8, &mut Numbers(3));
    let (anew, _) = telling.tell(&mut Numbers(4));
    let outcome = || {
        let (alike, found) = matched(&circuit, &stock(&anew));
        format!("{:?} {:?} {:?} {:?}", alike.names, alike.equal, alike.interchangeable, told(&found))
    };
    assert_eq!(outcome(), outcome());
}

#[test]
fn the_first_with_the_changes_is_the_second_and_effects_have_causes() {
    let line = ("resistor R7 1k5 0.5W from V1b.cathode", "resistor R7 2k7 0.5W from V1b.cathode");
    let (alike, _) = against(&[line, ("R12 47k 1W", "R12 100k 1W")]);
    let recognised = [&alike.before, &alike.after].map(recognise);
    let comparison = alike.compare([&recognised[0], &recognised[1]]);
    let rebuilt = comparison.rebuilt(&alike.before, &alike.after);
    let side = |circuit, i: usize| Side { circuit, recognised: &recognised[i] };
    let again = compare(side(&rebuilt, 0), side(&alike.after, 1)).changes;
    assert!(again.is_empty(), "{:#?}", told(&again));
    let solved = [&alike.before, &alike.after].map(|c| at_rest(c, &Setup::idle()).expect("it solves"));
    let found =
        effects(&comparison, (side(&alike.before, 0), &solved[0]), (side(&alike.after, 1), &solved[1]));
    let plate = found.iter().find(|e| e.subject == "V1b.plate").expect("its plate moves");
    assert!(!plate.causes.is_empty());
}

#[test]
fn strangers_are_told_from_namesakes() {
    let small = stock(SMALL);
    let (anew, _) = Telling::of(SMALL, &small).tell(&mut Numbers(5));
    assert!(strangers(&small, &stock(&anew)));
    assert!(!strangers(&small, &stock(&SMALL.replace("R7 1k5", "R7 2k7"))));
}
