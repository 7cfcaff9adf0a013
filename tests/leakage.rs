//! Nets that capacitors alone join to the rest are no fault: they rest at 0 V by leakage, said once, and pass a signal.

use asfound::circuit::Circuit;
use asfound::solve::{Setup, Solved, at_rest};

use crate::support::stock;

const MIXING: &str = "stock \"Dunlin mixer\" \"mixing node\"\nrail B1 \"supply\"\nnet M \"mix\"\nsource HT 300V behind 1R plus B1 minus chassis\n\
    resistor R1 100k from B1 to R9.1\nresistor R9 100k to chassis\ncapacitor C1 100n 400V from R9.1 to R2.1\nresistor R2 220k to M\n\
    capacitor C2 10n 400V from M to R3.1\nresistor R3 1M to chassis\n";

fn solved(text: &str) -> (Circuit, Solved) {
    let circuit = stock(text);
    let solved = at_rest(&circuit, &Setup::idle()).expect("it rests");
    (circuit, solved)
}

fn volts(circuit: &Circuit, solved: &Solved, net: &str) -> Option<f64> {
    solved.net_volts(circuit.find_net(net).expect("a net"))
}

#[test]
fn a_mixing_node_between_capacitors_rests_at_chassis_volts() {
    let (circuit, solved) = solved(MIXING);
    // 300 V over 100k and 100k behind 1 Ω.
    let half = volts(&circuit, &solved, "C1.1").expect("held");
    assert!((half - 300.0 * 100e3 / 200_001.0).abs() < 1e-6, "{half}");
    assert_eq!(volts(&circuit, &solved, "M"), Some(0.0));
    assert!(solved.undefined.is_empty());
    let said: Vec<&String> = solved.assumed.iter().filter(|text| text.contains("by leakage")).collect();
    assert_eq!(said.len(), 1, "{said:?}");
    // C2 has nothing across it at 0 V; should C1 leak more, all that C1 stands at.
    let c2 = circuit.find("C2").expect("declared");
    assert_eq!(solved.across(&circuit, c2), Some(0.0));
    assert!((solved.across_at_worst(&circuit, c2).expect("defined") - half).abs() < 1e-6);
}

#[test]
fn what_brings_volts_or_leakage_of_its_own_stays_undefined() {
    for line in [
        "capacitor C9 10u 50V electrolytic plus M minus chassis",
        "diode D1 1N4007 anode M",
        "tube V1 ECC83 a.cathode M",
    ] {
        let (circuit, solved) = solved(&format!("{MIXING}{line}\n"));
        assert_eq!(volts(&circuit, &solved, "M"), None, "{line}");
    }
}

/// A send without a load, an input behind a capacitor.
#[test]
fn jacks_behind_capacitors_rest_too() {
    let text = "stock \"Dunlin loop\" \"one valve\"\nrail B1 \"preamp\"\nsource HT 250V behind 1k plus B1 minus chassis\n\
        jack J1 \"In\" sleeve chassis\ntube V1 ECC83\nV1b unused grid V1b.cathode cathode chassis\nresistor R2 68k from J1.tip to C9.1\n\
        capacitor C9 22n 630V film to V1a.grid\nresistor R1 1M from V1a.grid to chassis\nresistor R3 1k5 from V1a.cathode to chassis\n\
        resistor R4 100k 1W from B1 to V1a.plate\ncapacitor C2 22n 630V film from V1a.plate to J2.tip\njack J2 \"Out\" sleeve chassis\n\
        drive J1 behind 10k\n";
    let (circuit, solved) = solved(text);
    for net in ["J1.tip", "J2.tip"] {
        assert_eq!(volts(&circuit, &solved, net), Some(0.0), "{net}");
    }
}
