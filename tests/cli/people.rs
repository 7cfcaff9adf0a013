//! What endangers people, from the document to the exit status.

use serde_json::Value;

use super::Folder;

/// A supply on the mains with an earthed lead and a jack; `MAINS` is its mains statement.
const STOCK: &str = r#"stock "Siskin 4"
MAINS
rail B1 "plates"
inlet P1 live F1.1 earth chassis
fuse F1 500mA 250V slow "mains"
switch S1 "Mains" 250V 4A positions off on now on
contact S1 on joins F1.2 to T1.primary.a
contact S1 on joins P1.neutral to T1.primary.b
transformer T1 mains
winding T1.primary 230V 20R
winding T1.ht 250V-0-250V 90R a side current 80mA
link W1 from T1.ht.centre to chassis
diode D1 1N4007 anode T1.ht.a cathode B1
diode D2 1N4007 anode T1.ht.b cathode B1
capacitor C1 47u 500V electrolytic plus B1 minus chassis
resistor R1 220k 2W from B1 to chassis
jack J1 "Input" sleeve chassis
resistor R2 1M 0.5W from J1.tip to chassis
"#;

pub(super) fn stock(mains: &str, more: &str) -> String {
    format!("{}{more}\n", STOCK.replace("MAINS", mains))
}

/// Messages of one rule in a lint of a stock spec, and the exit status.
pub(super) fn told(text: &str, rule: &str) -> (u8, Vec<String>) {
    let folder = Folder::of(&[("stock.amp", text)]);
    let ran = folder.run("lint --format json --fail-on danger stock.amp");
    let json: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}{}", ran.out, ran.err));
    let findings = json["findings"].as_array().unwrap().iter().filter(|f| f["rule"] == rule);
    (ran.status, findings.map(|f| f["message"].as_str().unwrap().to_owned()).collect())
}

/// Mains on the chassis ends with status 1, as a change and in a bare stock spec, though only dangers are to fail.
#[test]
fn mains_on_the_chassis_fails_the_run() {
    let sound = stock("mains 230V 50Hz limits 207V to 253V", "");
    assert_eq!(told(&sound, "mains-within-reach"), (0, Vec::new()));
    let (status, messages) =
        told(&format!("{sound}link W50 from T1.primary.a to chassis\n"), "mains-within-reach");
    assert_eq!((status, messages.len()), (1, 1), "{messages:?}");
    assert!(messages[0].starts_with("W50 brings the mains within reach: 325 V peak"), "{messages:?}");
    let folder = Folder::of(&[
        ("stock.amp", &sound),
        ("found.amp", "as-found \"job 3\" of \"stock.amp\"\nbridged F1.2 to chassis with wire W50\n"),
    ]);
    let ran = folder.run("lint --fail-on danger found.amp");
    assert_eq!(ran.status, 1, "{}{}", ran.out, ran.err);
    assert!(ran.out.contains("W50 brings the mains within reach"), "{}", ran.out);
}

/// A figure that rests on mains that nobody stated says so, in words and in its basis.
#[test]
fn assumed_mains_are_told() {
    let text = stock("", "link W50 from T1.primary.a to chassis\nopen P1.earth");
    let text = text.replace(" earth chassis", "");
    let (_, messages) = told(&text, "mains-within-reach");
    assert!(messages[0].contains("(the mains is not stated, 230 V 50 Hz assumed)"), "{messages:?}");
    let text = stock("mains 230V 50Hz", "resistor R50 1k 1W from B1 to J1.tip");
    let (_, messages) = told(&text, "ht-within-reach");
    assert!(
        messages[0].contains("(the mains limits are not stated, 10 % over nominal assumed)"),
        "{messages:?}"
    );
}

/// A cathode follower straight on a jack: nothing joins the high tension to it but the valve that conducts. At
/// high mains the divider holds the grid at half of some 328 V, and the cathode stands a volt above it.
#[test]
fn a_follower_straight_on_a_jack_is_told() {
    let text = r#"stock "Siskin 5"
mains 230V 50Hz
rail B1 "plates"
source HT 300V behind 1k unloaded 320V plus B1 minus chassis
resistor R1 470k 1W from B1 to V1a.grid
resistor R2 470k 1W from V1a.grid to chassis
tube V1 ECC83
link W1 from V1a.plate to B1
resistor R3 100k 2W from V1a.cathode to chassis
jack J1 "Send" sleeve chassis tip V1a.cathode
open V1b.plate
open V1b.grid
open V1b.cathode
"#;
    let (status, messages) = told(text, "ht-within-reach");
    assert_eq!((status, messages.len()), (1, 1), "{messages:?}");
    assert!(
        messages[0].starts_with("V1 brings high tension within reach: 165 V between J1.tip"),
        "{messages:?}"
    );
    let blocked =
        text.replace(" tip V1a.cathode", "") + "capacitor C1 100n 400V film from V1a.cathode to J1.tip\n";
    assert_eq!(
        told(&(blocked + "resistor R4 1M from J1.tip to chassis\n"), "ht-within-reach").1,
        Vec::<String>::new()
    );
}

/// How a model is insulated stands in its stock spec; a variant can't say it anew.
#[test]
fn a_variant_states_no_insulation() {
    let sound = stock("mains 230V 50Hz", "");
    let folder = Folder::of(&[
        ("stock.amp", &sound),
        ("variant.amp", "stock \"Siskin 4 export\" of \"stock.amp\"\ninsulation class-II\n"),
    ]);
    let ran = folder.run("lint variant.amp");
    assert_eq!(ran.status, 2, "{}{}", ran.out, ran.err);
    let told = format!("{}{}", ran.out, ran.err);
    assert!(
        told.contains("insulation-of-a-layer") && told.contains("not for a variant: `insulation`"),
        "{told}"
    );
}

/// What the plug keeps is told though it harms nobody: a bleeder from line to neutral leaves half the mains' peak on two
/// equal capacitors to earth, 230 V × √2 ÷ 2.
#[test]
fn a_pulled_plug_is_told_though_it_passes() {
    let text = stock(
        "mains 230V 50Hz limits 207V to 253V",
        "capacitor C50 2n2 275V class-Y2 from P1.live to chassis\n\
         capacitor C51 2n2 275V class-Y2 from P1.neutral to chassis\n\
         resistor R50 1M 1W from P1.live to P1.neutral",
    );
    assert_eq!(told(&text, "mains-capacitor-keeps-its-charge").1, Vec::<String>::new());
    let folder = Folder::of(&[("stock.amp", &text)]);
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let caution = "2 s after the plug is pulled, its pins keep 163 V between live and earth";
    let supply = flat(&folder.run("supply stock.amp").out);
    assert!(supply.contains("At the plug, 2 s after pulling it"), "{supply}");
    assert!(supply.contains(caution), "{supply}");
    assert!(flat(&folder.run("audit stock.amp").out).contains(caution));
    let json: Value = serde_json::from_str(&folder.run("supply --format json stock.amp").out).unwrap();
    let pins = json["plug"].as_array().unwrap().iter();
    let volts: Vec<(String, f64)> =
        pins.map(|p| (p["pins"].to_string(), p["volts"].as_f64().unwrap())).collect();
    for (pair, want) in [(r#"["live","earth"]"#, 162.635), (r#"["neutral","earth"]"#, 162.635)] {
        let got = volts.iter().find(|(pins, _)| pins == pair).unwrap().1;
        // Fuse and joints of a milliohm beside so little capacity leave the steps a thousandth of rounding.
        assert!((got - want).abs() < 1e-3 * want, "{volts:?}");
    }
    let json: Value = serde_json::from_str(&folder.run("audit --format json stock.amp").out).unwrap();
    assert!(
        json["cautions"][0].as_str().unwrap().starts_with("2 s after the plug is pulled"),
        "{}",
        json["cautions"]
    );
}

/// An earth added to an amplifier of class II is on the safer side, and no danger; of a plan it is a decision.
#[test]
fn an_earth_for_class_ii_is_no_danger() {
    let text = stock("mains 230V 50Hz limits 207V to 253V", "insulation class-II");
    let text = text.replace(" live F1.1 earth chassis", " live F1.1 two-core");
    let record = "as-found \"job\" of \"stock.amp\"\nP1 replaced 250V\n\
                  added link W9 from P1.earth to chassis\n";
    let plan =
        "plan \"earth it\" for \"stock.amp\"\nchange P1 to 250V\nfit link W9 from P1.earth to chassis\n";
    let folder = Folder::of(&[("stock.amp", &text), ("found.amp", record), ("plan.amp", plan)]);
    for (document, left) in [("found.amp", true), ("plan.amp", false)] {
        let ran = folder.run(&format!("lint --format json --fail-on danger {document}"));
        let json: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}{}", ran.out, ran.err));
        let findings = json["findings"].as_array().unwrap();
        assert_eq!(ran.status, 0, "{findings:#?}");
        for part in ["P1", "W9"] {
            let mut here = findings.iter().filter(|f| f["subjects"][0] == part && f["level"] == "notice");
            assert_eq!(here.any(|f| f["advice"] == "leave it so"), left, "{document} {part}: {findings:#?}");
        }
    }
    // With the mains on its chassis it is one, earthed or not.
    let live = format!("{plan}fit link W8 from F1.2 to chassis\n");
    folder.write("plan.amp", live.as_bytes());
    assert_eq!(folder.run("lint --fail-on danger plan.amp").status, 1);
}
