//! What sits in a place is replaced whole: nothing found of the old component is left in the new one.

use asfound::circuit::Circuit;
use asfound::solve::{Setup, at_rest};

use crate::support::{built, problems};

const DIVIDER: &str = "stock \"Plover bench\" \"divider\"\nsource E1 300V plus RAW minus chassis steady\nnet RAW\nnet MID\n\
    resistor R9 100k 1W from RAW to MID\nresistor R10 100k 1W from MID to chassis\n\
    capacitor C1 100n 630V film from MID to chassis\n";

/// The circuit that is left after a fault was found and the part replaced in the next document.
fn left(fault: &str, repair: &str) -> Circuit {
    let found = format!("as-found \"job\" of \"stock.amp\"\n{fault}\n");
    let done = format!("as-left \"done\" after \"found.amp\"\n{repair}\n");
    let documents = [("stock.amp", DIVIDER), ("found.amp", found.as_str()), ("left.amp", done.as_str())];
    assert_eq!(problems(&documents), "", "{fault} {repair}");
    built(&documents).remove(2)
}

/// Volts of MID by hand: 300 V over R9 and R10, what was found of the old part gone.
#[test]
fn a_part_that_is_replaced_takes_its_faults_along() {
    let halves = "R9 replaced by series R9a 47k 1W, R9b 47k 1W \"both new\"";
    let faults = ["R9 shorted", "R9 reads 20k in circuit", "R9 reads 20k", "R9 leaks 1mA at 100V"];
    let in_series = faults.map(|fault| (fault, halves, 300.0 * 100.0 / 194.0));
    let anew = faults.map(|fault| (fault, "R9 replaced 100k 1W", 150.0));
    let parallel = "C1 replaced by parallel C1a 47n 630V, C1b 47n 630V \"new\"";
    let faults = ["C1 leaks 3mA at 150V", "C1 shorted"];
    let beside = faults.map(|fault| (fault, parallel, 150.0));
    let capacitor = faults.map(|fault| (fault, "C1 replaced 100n 630V", 150.0));
    for (fault, repair, right) in in_series.into_iter().chain(anew).chain(beside).chain(capacitor) {
        let circuit = left(fault, repair);
        let solved = at_rest(&circuit, &Setup::idle()).expect("a divider solves");
        let mid = circuit.find_net("MID").expect("declared");
        let volts = solved.net_volts(mid).expect("a defined net");
        assert!((volts - right).abs() < 1e-6, "{fault}, {repair}: {volts} V for {right} V");
    }
}

/// What is said of a leg in the same record is said of the new part's: by hand, R9 to chassis leaves MID at 0 V, and R10
/// with a leg free lets it rise to 300 V.
#[test]
fn a_leg_of_a_part_that_is_replaced_moves() {
    for (lines, right) in
        [("R9.2 moved to chassis\nR9 replaced 50k 1W", 0.0), ("R10 replaced 50k 1W\nR10.2 lifted", 300.0)]
    {
        let found = format!("as-found \"job\" of \"stock.amp\"\n{lines}\n");
        let documents = [("stock.amp", DIVIDER), ("found.amp", found.as_str())];
        assert_eq!(problems(&documents), "", "{lines}");
        let circuit = built(&documents).remove(1);
        let solved = at_rest(&circuit, &Setup::idle()).expect("a divider solves");
        let volts = solved.net_volts(circuit.find_net("MID").expect("declared")).expect("a defined net");
        assert!((volts - right).abs() < 1e-6, "{lines}: {volts} V for {right} V");
    }
}
