//! Changes between two circuits, and what each did.

use asfound::change::{Cause, Change, ChangeKind, Comparison, Effect, QuantityKind, Side, compare, effects};
use asfound::circuit::Circuit;
use asfound::recognise::{Recognised, recognise};
use asfound::solve::{Setup, at_rest};
use proptest::prelude::*;

use crate::support::{built, stock};

const STOCK: &str = r#"stock "Bench two-stage"
rail B1
rail B4 "preamp"
source HT 300V behind 85R plus B1 minus chassis
resistor R40 10k 2W from B1 to B4
capacitor C40 22u 450V electrolytic plus B4 minus chassis
tube V1 ECC83
resistor R1 1M 0.5W from V1a.grid to chassis
resistor R3 1k8 0.5W from V1a.cathode to chassis
resistor R4 100k 1W from B4 to V1a.plate
capacitor C1 25u 25V electrolytic plus V1a.cathode minus chassis
capacitor C2 22n 400V film from V1a.plate to VR1.top
pot VR1 1M log "Gain" bottom chassis at 60%
resistor R5 100k 0.5W from VR1.wiper to R6.1
resistor R6 47k 0.5W from R5.2 to V1b.grid
resistor R7 1k5 0.5W from V1b.cathode to chassis
resistor R8 100k 1W from B4 to V1b.plate
capacitor C3 22n 400V film from V1b.plate to R9.1
resistor R9 1M 0.5W from C3.2 to chassis
switch S2 "Standby" positions standby play now play
contact S2 play joins B1 to SW
net SW
resistor R50 220k 2W from SW to chassis
"#;

struct Pair {
    circuits: Vec<Circuit>,
    recognised: Vec<Recognised>,
}

impl Pair {
    fn of(layer: &str) -> Pair {
        Pair::between(built(&[
            ("stock.amp", STOCK),
            ("job.amp", &format!("as-found \"j\" of \"stock.amp\"\n{layer}")),
        ]))
    }

    fn between(circuits: Vec<Circuit>) -> Pair {
        let recognised = circuits.iter().map(recognise).collect();
        Pair { circuits, recognised }
    }

    fn side(&self, index: usize) -> Side<'_> {
        Side { circuit: &self.circuits[index], recognised: &self.recognised[index] }
    }

    fn compare(&self) -> Comparison {
        compare(self.side(0), self.side(1))
    }

    fn effects(&self) -> (Comparison, Vec<Effect>) {
        let comparison = self.compare();
        let solved = |i: usize| at_rest(&self.circuits[i], &Setup::idle()).expect("an operating point");
        let found = effects(&comparison, (self.side(0), &solved(0)), (self.side(1), &solved(1)));
        (comparison, found)
    }
}

fn told(changes: &[Change]) -> Vec<String> {
    changes.iter().map(|c| format!("{} {}: {} → {}", c.subject, c.kind.word(), c.before, c.after)).collect()
}

fn changes(layer: &str) -> Vec<String> {
    told(&Pair::of(layer).compare().changes)
}

#[test]
fn every_kind_of_change_is_told_once_and_in_words() {
    let table: [(ChangeKind, &str, &str); 16] = [
        (ChangeKind::Missing, "C1 missing snipped\n", "C1 missing: 25u 25V electrolytic → snipped"),
        (
            ChangeKind::Added,
            "added capacitor C90 1u 50V electrolytic plus V1b.cathode minus chassis\n",
            "C90 added: not there → 1u 50V electrolytic from V1b.cathode to chassis",
        ),
        (ChangeKind::Lifted, "R4 lifted at B4\n", "R4 lifted: R4.1 at B4 → free"),
        (ChangeKind::Moved, "C3.2 moved to V1a.grid\n", "C3 moved: C3.2 at C3.2 → V1a.grid"),
        (
            ChangeKind::Bridged,
            "bridged V1a.grid to V1a.cathode\n",
            "V1a.grid bridged: apart → one net with V1a.cathode",
        ),
        (ChangeKind::Cut, "cut B4 leaving R8.1 on B4x\n", "B4 cut: one net → R8.1 apart on B4x"),
        (
            ChangeKind::Repaired,
            "cut B4 leaving R8.1 on B4x\nbridged B4 to B4x with wire W1\n",
            "B4 trace repaired by wire: one net → cut, and joined to B4x by wire W1",
        ),
        (ChangeKind::Reversed, "C1 reversed\n", "C1 reversed: plus at V1a.cathode → minus at V1a.cathode"),
        (ChangeKind::Shorted, "C2 shorted\n", "C2 shorted: 22n 400V film → conducts"),
        (ChangeKind::ValveSwapped, "V1 replaced ECC81\n", "V1 valve swapped: ECC83 → ECC81"),
        (ChangeKind::Revalued, "R7 replaced 2k7 0.5W\n", "R7 revalued: 1k5 0.5W → 2k7 0.5W"),
        (ChangeKind::Drifted, "R8 reads 131k\n", "R8 drifted: 100k 1W → measures 131k, +31 %"),
        (ChangeKind::Leaky, "C2 leaks 12uA at 250V\n", "C2 leaky: does not leak → leaks 12 µA at 250 V"),
        (ChangeKind::Rerated, "R40 replaced 10k 1W\n", "R40 re-rated: 10k 2W → 10k 1W"),
        (ChangeKind::Replaced, "R40 replaced 10k 2W\n", "R40 replaced like for like: 10k 2W → 10k 2W"),
        (ChangeKind::ControlSet, "set VR1 30%\n", "VR1 control set: 60% → 30%"),
    ];
    for (kind, layer, expected) in table {
        let pair = Pair::of(layer);
        let found = pair.compare().changes;
        assert_eq!(told(&found), [expected], "{layer}");
        assert_eq!(found[0].kind, kind);
    }
}

#[test]
fn further_shapes_of_change() {
    assert_eq!(
        changes("VR1 top swapped with bottom\n"),
        ["VR1 reversed: top at VR1.top → bottom at VR1.top"]
    );
    assert_eq!(
        changes("V1a swapped with V1b\n"),
        ["V1 valve swapped: sections in their places → sections a and b exchanged"]
    );
    assert_eq!(
        changes("R7 replaced by series R7a 820R 0.5W, R7b 680R 0.5W\n"),
        ["R7 replaced like for like: 1k5 0.5W → R7a and R7b in series, together 1k5"]
    );
    assert_eq!(
        changes("R7 replaced by parallel R7a 2k2 0.5W, R7b 2k2 0.5W\n"),
        ["R7 revalued: 1k5 0.5W → R7a and R7b in parallel, together 1k1"]
    );
    assert_eq!(
        changes("bridged B1 to B4 with wire W7\n"),
        ["W7 bridged: not there → nothing stated from B1 to B4"]
    );
    assert_eq!(changes("set S2 standby\n"), ["S2 control set: play → standby"]);
}

#[test]
fn what_is_undone_is_told_as_such() {
    let job = "as-found \"j\" of \"stock.amp\"\nC1 missing\nR4 lifted at B4\nC2 leaks 12uA at 250V\nC3 shorted\nR8 reads 131k\n\
               added resistor R91 470k from B4 to chassis\n";
    let plan = "plan \"p\" for \"job.amp\"\nrestore C1 R4 C2 C3 R8\nremove R91\n";
    let mut circuits = built(&[("stock.amp", STOCK), ("job.amp", job), ("plan.amp", plan)]);
    circuits.remove(0);
    let told = told(&Pair::between(circuits).compare().changes);
    assert_eq!(
        told,
        [
            "C1 restored: not fitted → 25u 25V electrolytic",
            "C2 restored: leaks 12 µA at 250 V → does not leak",
            "C3 restored: conducts → 22n 400V film",
            "R4 restored: R4.1 at free → B4",
            "R8 restored: measures 131k, +31 % → 100k 1W",
            "R91 removed: 470k from B4 to chassis → not there",
        ]
    );
}

#[test]
fn what_is_electrically_the_same_is_no_change() {
    assert!(changes("R3 reversed\n").is_empty(), "a resistor's legs");
    assert!(changes("R8 reads 109k\n").is_empty(), "a reading within the tolerance");
    let other = STOCK
        .replace("R5 100k 0.5W from VR1.wiper to R6.1", "R6 47k 0.5W from VR1.wiper to R5.1")
        .replace("R6 47k 0.5W from R5.2 to V1b.grid", "R5 100k 0.5W from R6.2 to V1b.grid");
    let series = Pair::between(vec![stock(STOCK), stock(&other)]);
    assert!(told(&series.compare().changes).is_empty(), "two parts in series in the other order");
}

#[test]
fn comparing_backwards_tells_as_many_changes_of_the_same_subjects() {
    let layer =
        "C1 missing\nR7 replaced 2k7\nC3.2 moved to V1a.grid\nset VR1 30%\nbridged V1a.grid to V1a.cathode\n";
    let pair = Pair::of(layer);
    let subjects = |changes: &[Change]| {
        let mut names: Vec<String> = changes.iter().map(|c| c.subject.clone()).collect();
        names.sort();
        names
    };
    let forth = subjects(&compare(pair.side(0), pair.side(1)).changes);
    let back = subjects(&compare(pair.side(1), pair.side(0)).changes);
    assert!(forth.len() >= 5);
    let parts = |names: &[String]| names.iter().filter(|n| !n.contains('.')).cloned().collect::<Vec<_>>();
    assert_eq!(parts(&forth), parts(&back));
    assert!(compare(pair.side(1), pair.side(1)).changes.is_empty());
}

/// The amounts of every effect add up to after − before.
fn assert_adds_up(found: &[Effect]) {
    for effect in found {
        let (Some(before), Some(after)) = (effect.before, effect.after) else { continue };
        let sum: f64 = effect.causes.iter().map(Cause::amount).sum();
        let delta = after - before;
        assert!((sum - delta).abs() <= 1e-9 * before.abs().max(after.abs()), "{effect:?}");
    }
}

#[test]
fn independent_changes_get_their_own_shares() {
    // Two dividers on a stiff source: 100 V over 1k + 1k, and over 3k + 1k. By hand: 50 V → 100·2/3 = 66.667 V by
    // R2 alone, 25 V → 100·3/6 = 50 V by R4 alone; neither touches the other.
    let text = "stock \"x\"\nrail B\nsource HT 100V plus B minus chassis\nresistor R1 1k from B to R2.1\n\
                resistor R2 1k from R1.2 to chassis\nresistor R3 3k from B to R4.1\nresistor R4 1k from R3.2 to chassis\n\
                tube V1 ECC83\nresistor R5 1M from V1a.plate to R1.2\nV1b unused\n";
    let pair = Pair::between(built(&[
        ("a.amp", text),
        ("b.amp", "as-found \"j\" of \"a.amp\"\nR2 replaced 2k\nR4 replaced 3k\n"),
    ]));
    let (comparison, found) = pair.effects();
    assert_adds_up(&found);
    let power = |name: &str| found.iter().find(|e| e.subject == name).expect("it moved");
    // R3: 75²/3k = 1.875 W → 50²/3k = 0.8333 W, by the change of R4.
    let r3 = power("R3");
    assert_eq!(r3.quantity, QuantityKind::PartPower);
    assert!((r3.before.unwrap() - 1.875).abs() < 1e-9 && (r3.after.unwrap() - 2500.0 / 3000.0).abs() < 1e-9);
    let Cause::Share { changes, amount } = &r3.causes[0] else { panic!("{r3:?}") };
    assert_eq!(comparison.changes[changes[0]].subject, "R4");
    assert!((amount - (2500.0 / 3000.0 - 1.875)).abs() < 1e-9);
}

#[test]
fn changes_that_act_on_each_other_are_joint_and_never_split() {
    // One divider of 100 V: R1 1k → 3k and R2 1k → 3k. Each alone moves the middle by ∓25 V, both together not at
    // all; the power of R1 goes 2.5 W → 0.8333 W. Alone R1: I = 100/4k, 1.875 W; alone R2: 100²·1k/(4k)² = 0.625 W.
    let text = "stock \"x\"\nrail B\nsource HT 100V plus B minus chassis\nresistor R1 1k from B to R2.1\n\
                resistor R2 1k from R1.2 to chassis\n";
    let pair = Pair::between(built(&[
        ("a.amp", text),
        ("b.amp", "as-found \"j\" of \"a.amp\"\nR1 replaced 3k\nR2 replaced 3k\n"),
    ]));
    let (_, found) = pair.effects();
    assert_adds_up(&found);
    let r1 = found.iter().find(|e| e.subject == "R1").expect("it moved");
    let [Cause::Joint { members, amount }] = r1.causes.as_slice() else { panic!("{r1:?}") };
    assert!((amount - (10000.0 / 12000.0 - 2.5)).abs() < 1e-9);
    assert!((members[0].alone.unwrap() - (1.875 - 2.5)).abs() < 1e-9, "{members:?}");
    assert!((members[1].alone.unwrap() - (0.625 - 2.5)).abs() < 1e-9, "{members:?}");
    assert!((members[0].last.unwrap() - (10000.0 / 12000.0 - 0.625)).abs() < 1e-9, "{members:?}");
}

#[test]
fn parts_of_an_added_group_are_one_cause() {
    let layer = "added resistor R90 47k 1W from B4 to R91.1\nadded resistor R91 22k 1W from R90.2 to chassis\nR3 replaced 1k\n";
    let (comparison, found) = Pair::of(layer).effects();
    assert_adds_up(&found);
    let rail = found
        .iter()
        .find(|e| e.quantity == QuantityKind::PartPower && e.subject == "R40")
        .expect("R40 moved");
    let bundle = rail.causes.iter().find_map(|c| match c {
        Cause::Share { changes, .. } if changes.len() == 2 => Some(changes.clone()),
        _ => None,
    });
    let names: Vec<&str> =
        bundle.expect("a bundle").iter().map(|i| comparison.changes[*i].subject.as_str()).collect();
    assert_eq!(names, ["R90", "R91"]);
}

/// The first circuit with every change put in is electrically the second.
fn assert_rebuilt(pair: &Pair) {
    let comparison = pair.compare();
    let rebuilt = comparison.rebuilt(&pair.circuits[0], &pair.circuits[1]);
    let solved = |c: &Circuit| at_rest(c, &Setup::idle()).expect("an operating point");
    let (there, here) = (solved(&pair.circuits[1]), solved(&rebuilt));
    let mut compared = 0;
    for id in pair.circuits[1].part_ids() {
        let part = pair.circuits[1].part(id);
        for (index, leg) in part.legs.iter().enumerate() {
            let Some(volts) = leg.net.and_then(|net| there.net_volts(net)) else { continue };
            let other = rebuilt.find(&part.name).unwrap_or_else(|| panic!("no {}", part.name));
            let net = rebuilt.part(other).legs[index]
                .net
                .unwrap_or_else(|| panic!("{} is free", part.leg_name(index)));
            let found =
                here.net_volts(net).unwrap_or_else(|| panic!("{} is undefined", part.leg_name(index)));
            assert!(
                (found - volts).abs() <= 1e-6 + 1e-7 * volts.abs(),
                "{}: {volts} {found}",
                part.leg_name(index)
            );
            compared += 1;
        }
    }
    assert!(compared > 20);
}

#[test]
fn every_change_put_in_makes_the_second_circuit() {
    assert_rebuilt(&Pair::of(&STATEMENTS.join("\n")));
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/sedge-45/");
    let read = |name: &str| std::fs::read_to_string(format!("{folder}{name}")).expect("an example");
    let texts: Vec<(&str, String)> = ["sedge-45.amp", "job-0412.amp", "plan-0412.amp", "left-0412.amp"]
        .map(|name| (name, read(name)))
        .into();
    let documents: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (*name, text.as_str())).collect();
    let circuits = built(&documents);
    for (a, b) in [(0, 1), (1, 2), (0, 2), (2, 3), (1, 3), (1, 0)] {
        assert_rebuilt(&Pair::between(vec![circuits[a].clone(), circuits[b].clone()]));
    }
}

/// Layer statements that can stand together, for shuffles and mixtures.
const STATEMENTS: [&str; 12] = [
    "C1 missing snipped",
    "R7 replaced 2k7 0.5W",
    "R8 reads 131k",
    "R4 lifted at B4",
    "C3.2 moved to V1a.grid",
    "C2 leaks 12uA at 250V",
    "added capacitor C90 1u 50V electrolytic plus V1b.cathode minus chassis",
    "added resistor R91 470k from C90.plus to R92.1",
    "added resistor R92 470k from R91.2 to chassis",
    "R3 replaced by series R3a 1k, R3b 820R",
    "set VR1 20%",
    "cut B4 leaving R8.1 C40.plus on B4x",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_order_of_statements_never_matters(order in Just((0..12).collect::<Vec<usize>>()).prop_shuffle()) {
        let straight = Pair::of(&STATEMENTS.join("\n")).effects();
        let lines: Vec<&str> = order.iter().map(|i| STATEMENTS[*i]).collect();
        let shuffled = Pair::of(&lines.join("\n")).effects();
        prop_assert_eq!(told(&straight.0.changes), told(&shuffled.0.changes));
        prop_assert_eq!(straight.1, shuffled.1);
    }

    #[test]
    fn amounts_add_up_and_legs_of_plain_parts_never_count(
        chosen in proptest::sample::subsequence((0..12).filter(|i| *i != 8).collect::<Vec<usize>>(), 1..=11),
        turned in any::<bool>(),
    ) {
        let mut lines: Vec<&str> = chosen.iter().map(|i| STATEMENTS[*i]).collect();
        if chosen.contains(&7) {
            lines.push(STATEMENTS[8]);
            if !chosen.contains(&6) {
                lines.push(STATEMENTS[6]);
            }
        }
        let (comparison, found) = Pair::of(&lines.join("\n")).effects();
        assert_adds_up(&found);
        if turned {
            lines.push("R40 reversed\nR9 reversed\nR6 reversed");
            let (again, same) = Pair::of(&lines.join("\n")).effects();
            prop_assert_eq!(told(&comparison.changes), told(&again.changes));
            for (x, y) in found.iter().zip(&same) {
                prop_assert_eq!((&x.subject, x.quantity), (&y.subject, y.quantity));
                let (a, b) = (x.after.unwrap_or(0.0), y.after.unwrap_or(0.0));
                prop_assert!((a - b).abs() <= 1e-9 + 1e-7 * a.abs());
            }
        }
    }
}
