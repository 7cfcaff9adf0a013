//! Cures aim at the cause, and at the state in which the fault is.

use serde_json::Value;

use super::Folder;

/// The advice of a rule on a part, from the JSON of a lint.
fn advice(files: &[(&str, &str)], rule: &str, part: &str) -> String {
    let ran = Folder::of(files).run(&format!("lint --format json {}", files.last().unwrap().0));
    let json: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}", ran.err));
    let found =
        json["findings"].as_array().unwrap().iter().find(|f| f["rule"] == rule && f["subjects"][0] == part);
    found.unwrap_or_else(|| panic!("{rule} {part}: {}", ran.out))["advice"].as_str().unwrap().to_owned()
}

/// A cathode at about +1 V when warm, and at the negative rail while the valve is cold.
const COLD: &str = r#"stock "Siskin 2"
rail B1 "plates"
source HT 195V behind 100R plus B1 minus chassis
capacitor C1 22u 350V electrolytic plus B1 minus chassis
net NEG
source NG 105V steady plus chassis minus NEG
jack J1 "In" sleeve chassis
tube V1 ECC82
V1b unused grid chassis cathode chassis
open V1b.plate
resistor R1 330k 0.5W from V1a.grid to chassis
resistor R2 22k 0.5W from J1.tip to V1a.grid
resistor R3 33k 1W 350V from V1a.cathode to NEG
capacitor C2 10u 160V electrolytic plus V1a.cathode minus chassis
resistor R4 22k 2W 350V from B1 to V1a.plate
drive J1 behind 10k
"#;

#[test]
fn what_is_reversed_from_cold_alone_is_not_turned_round() {
    let cold = advice(&[("stock.amp", COLD)], "electrolytic-reversed", "C2");
    assert!(cold.starts_with("do not turn it round: fit a non-polarised one"), "{cold}");
    let found = "as-found \"j\" of \"stock.amp\"\nC1 reversed\n";
    let always = advice(&[("stock.amp", COLD), ("found.amp", found)], "electrolytic-reversed", "C1");
    assert!(always.starts_with("fit a new one, the right way round"), "{always}");
}

/// Two capacitors that share 400 V by their resistors.
const STACK: &str = r#"stock "Siskin 40"
rail B1 "plates"
net MID "stack middle"
source HT 400V behind 100R unloaded 440V plus B1 minus chassis
capacitor C1 47u 350V electrolytic plus B1 minus MID
capacitor C2 47u 350V electrolytic plus MID minus chassis
resistor R1 100k 2W 500V from B1 to MID
resistor R2 100k 2W 500V from MID to chassis
resistor R3 10k 25W from B1 to chassis
"#;

#[test]
fn a_cure_aims_at_what_raised_the_volts() {
    let missing = "as-found \"j\" of \"stock.amp\"\nR2 missing\n";
    let cause = advice(&[("stock.amp", STACK), ("found.amp", missing)], "capacitor-overvolted", "C2");
    assert!(cause.starts_with("find what raised its volts"), "{cause}");
    // One that was replaced by one too small is itself the cause: 440 V halved, and a tenth for high mains, is 242 V.
    let small = "as-found \"j\" of \"stock.amp\"\nC2 replaced 47u 160V electrolytic\n";
    let small = advice(&[("stock.amp", STACK), ("found.amp", small)], "capacitor-overvolted", "C2");
    assert!(small.starts_with("fit one for"), "{small}");
}
