//! Parts of unknown value between the mains or the high tension and what hands reach, from the document to the page.

use serde_json::Value;

use super::Folder;
use super::people::{stock, told};

const MAINS: &str = "mains 230V 50Hz limits 207V to 253V";

/// What one rule says of a record on the sound amplifier: its findings, and what it could not tell of.
fn found(base: &str, lines: &str, rule: &str) -> (Vec<String>, Vec<String>) {
    let layer = format!("as-found \"job 3\" of \"stock.amp\"\n{lines}\n");
    let folder = Folder::of(&[("stock.amp", base), ("found.amp", &layer)]);
    let ran = folder.run("lint --format json --fail-on danger found.amp");
    let json: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}{}", ran.out, ran.err));
    let of = |list: &str, field: &str| -> Vec<String> {
        let all = json[list].as_array().unwrap().iter().filter(|told| told["rule"] == rule);
        all.map(|told| told[field].as_str().unwrap().to_owned()).collect()
    };
    (of("findings", "message"), of("could_not_tell", "subject"))
}

/// From the mains no part of unknown value, and none whose law isn't modelled, lies in a sound amplifier: a danger, at
/// that part, as a line of a stock spec.
#[test]
fn an_unknown_part_on_the_mains_is_a_danger() {
    for (line, part) in [
        ("resistor R50 unknown from P1.live to chassis", "R50"),
        ("resistor R50 unknown from T1.primary.a to J1.tip", "R50"),
        ("capacitor C50 unknown from P1.neutral to chassis", "C50"),
        ("thermistor RT5 unknown from P1.live to chassis", "RT5"),
        ("varistor MV5 from P1.live to chassis", "MV5"),
        ("lamp LP5 230V from P1.live to chassis", "LP5"),
        ("lamp LP5 230V 15W from P1.live to chassis", "LP5"),
        ("zener D5 unknown anode P1.live cathode chassis", "D5"),
        ("pot VR5 unknown top P1.live bottom chassis wiper J1.tip", "VR5"),
    ] {
        let (status, messages) = told(&stock(MAINS, line), "mains-within-reach");
        assert_eq!(status, 1, "{line}");
        let start = format!("{part} brings the mains within reach: 325 V peak");
        assert!(messages.iter().any(|m| m.starts_with(&start)), "{line}: {messages:?}");
    }
    // Between the conductors a varistor does its work; what a lamp of 230 V and 15 W passes is known: 3.5 kohm, 65 mA
    // rms, 72 mA peak with the body's 1 kohm behind it.
    for line in ["varistor MV5 from F1.2 to P1.neutral", "lamp LP5 230V 15W from F1.2 to P1.neutral"] {
        assert_eq!(told(&stock(MAINS, line), "mains-within-reach"), (0, Vec::new()), "{line}");
    }
    let (_, lamp) = told(&stock(MAINS, "lamp LP5 230V 15W from P1.live to chassis"), "mains-within-reach");
    assert!(lamp[0].contains("drives 71.9 mA peak"), "{lamp:?}");
}

/// On the way of high tension a part that someone put in is a danger; a capacitor whose value the spec doesn't have
/// may as well be a sound one: its value is asked for.
#[test]
fn an_unknown_part_on_high_tension_is_told() {
    let sound = stock(MAINS, "jack J2 \"Send\" sleeve chassis\nresistor R3 1M from J2.tip to chassis\n");
    let sound =
        format!("{sound}capacitor C2 unknown from B1 to J2.tip\nresistor R4 47k 1W from B1 to chassis\n");
    let rule = "ht-within-reach";
    assert_eq!(found(&sound, "R1 checked", rule), (vec![], vec!["C2".to_owned()]));
    for (lines, part) in [
        ("R4 replaced unknown\nR4.2 moved to J1.tip", "R4"),
        ("added resistor R50 unknown from B1 to J1.tip", "R50"),
        ("added resistor R50 unknown from B1 to R51.1\nadded resistor R51 unknown to J1.tip", "R51"),
        ("added pot VR5 unknown top B1 bottom chassis wiper J1.tip", "VR5"),
        ("added capacitor C50 unknown from B1 to J1.tip", "C50"),
        ("C2 replaced unknown 400V film\nC2.2 moved to J1.tip", "C2"),
    ] {
        let (messages, _) = found(&sound, lines, rule);
        let start = format!("{part} brings high tension within reach");
        assert!(messages.iter().any(|m| m.starts_with(&start)), "{lines}: {messages:?}");
    }
}

/// A capacitor of class Y whose value isn't stated is asked for it: it may be one that passes.
#[test]
fn an_unknown_class_y_capacitor_is_asked_for() {
    let base = stock(MAINS, "capacitor C50 unknown 275V class-Y2 from P1.live to chassis");
    let (messages, open) = found(&base, "R1 checked", "mains-within-reach");
    assert_eq!((messages, open), (vec![], vec!["C50".to_owned()]));
}
