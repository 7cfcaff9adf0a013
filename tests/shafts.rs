//! A shaft that isn't stated stands halfway for every reader; a limit over a control is judged over its whole travel.

use asfound::analysis::judge;
use asfound::recognise::recognise;
use asfound::rules::{RuleSet, SHIPPED};
use asfound::solve::{Setup, at_rest};
use asfound::source::FileId;

use crate::support::{built, stock};

/// A grid that returns over its volume control alone: 2.2 MΩ at the top of the travel, 200 kΩ at half of a log track.
fn bench(shaft: &str) -> String {
    format!(
        "stock \"Dunlin pot\" \"volume as grid leak\"\nrail B1 \"supply\"\nsource E1 300V plus B1 minus chassis steady\n\
         jack J1 \"in\" sleeve chassis\ntube V1 ECC83\nresistor R1 100k 1W from B1 to V1a.plate\n\
         resistor R2 1k5 1W from V1a.cathode to chassis\nresistor R3 100k 1W from B1 to V1b.plate\n\
         resistor R4 1k5 1W from V1b.cathode to chassis\ncapacitor C1 22n 630V film from V1a.plate to VR1.top\n\
         pot VR1 2M2 log bottom chassis wiper V1b.grid{shaft}\nresistor R5 68k 0.5W from J1.tip to V1a.grid\n\
         resistor R6 1M 0.5W from J1.tip to chassis\n"
    )
}

fn findings(text: &str) -> Vec<(&'static str, String)> {
    let circuits = built(&[("stock.amp", text)]);
    let texts: Vec<(FileId, &str)> =
        SHIPPED.iter().enumerate().map(|(i, (_, text))| (FileId(i as u32), *text)).collect();
    let audit = judge(&circuits, &RuleSet::load(&texts).0);
    audit.verdicts.findings.into_iter().map(|f| (f.level.word(), f.message)).collect()
}

#[test]
fn a_limit_over_a_control_holds_wherever_its_shaft_stands() {
    let unset = findings(&bench(""));
    assert!(unset.iter().any(|(_, text)| text.contains("V1b") && text.contains("2M2")), "{unset:?}");
    for shaft in [" at 50%", " at 0%", " at 100%"] {
        let grid = |found: Vec<(&'static str, String)>| -> Vec<(&'static str, String)> {
            found.into_iter().filter(|(_, text)| text.contains("returns through")).collect()
        };
        assert_eq!(grid(findings(&bench(shaft))), grid(unset.clone()), "{shaft}");
    }
    assert_eq!(findings(&bench(" at 50%")), unset);
}

#[test]
fn an_unset_shaft_is_halfway_and_said() {
    let [unset, half] = ["", " at 50%"].map(|shaft| stock(&bench(shaft)));
    let of = |circuit| at_rest(circuit, &Setup::idle()).expect("a stage rests");
    assert_eq!(of(&unset).volts, of(&half).volts);
    assert!(of(&unset).assumed.iter().any(|text| text == "VR1: shaft position not stated, 0.5 assumed"));
    assert!(of(&half).assumed.is_empty());
    let roles = |circuit| format!("{:?}", recognise(circuit).stages);
    assert_eq!(roles(&unset), roles(&half));
}
