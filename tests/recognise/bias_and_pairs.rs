//! Other ways to bias a cathode, pairs whose second grid takes the feedback, inputs behind a capacitor.

use super::supplies::warnings;
use super::{amp, assert_seen, seen};

/// One triode whose cathode's way to chassis is given, and another after it.
fn biased_by(way: &str) -> String {
    amp(&format!(
        "jack J1 \"In\" sleeve chassis\ntube V1 ECC83\nresistor R1 1M 0.5W from J1.tip to chassis\n\
         resistor R2 47k 0.5W from J1.tip to V1a.grid\n{way}\nresistor R4 100k 1W from B2 to V1a.plate\n\
         capacitor C2 22n 630V film from V1a.plate to V1b.grid\nresistor R5 1M 0.5W from V1b.grid to chassis\n\
         resistor R6 1k5 0.5W from V1b.cathode to chassis\nresistor R7 100k 1W from B2 to V1b.plate\n\
         capacitor C3 22n 630V film from V1b.plate to J2.tip\njack J2 \"Out\" sleeve chassis\n\
         resistor R8 1M 0.5W from J2.tip to chassis\ndrive J1 behind 10k"
    ))
}

#[test]
fn a_cathode_stands_on_diodes() {
    for (way, found) in [
        (
            "diode D1 1N4007 1000V 1A anode V1a.cathode\ndiode D2 1N4007 1000V 1A anode D1.cathode cathode chassis",
            vec!["D1: cathode diode, first stage", "D2: cathode diode, first stage"],
        ),
        ("led D1 20mA anode V1a.cathode cathode chassis", vec!["D1: cathode diode, first stage"]),
        (
            "diode D1 1N4007 1000V 1A anode V1a.cathode\nresistor R3 470R 0.5W from D1.cathode to chassis\n\
             capacitor C5 22u 25V electrolytic plus V1a.cathode minus chassis",
            vec![
                "D1: cathode diode, first stage",
                "R3: cathode resistor, first stage",
                "C5: cathode bypass, first stage",
            ],
        ),
        (
            "resistor R3 220R 0.5W from V1a.cathode to D2.anode\ndiode D2 1N4007 1000V 1A\n\
             led D1 20mA anode D2.cathode cathode chassis",
            vec![
                "R3: cathode resistor, first stage",
                "D2: cathode diode, first stage",
                "D1: cathode diode, first stage",
            ],
        ),
    ] {
        let text = biased_by(way);
        let bypassed = if way.contains("C5") { "bypassed" } else { "not bypassed" };
        let first = format!("first stage: V1a common cathode, {bypassed}");
        let mut all = found;
        all.extend([
            "R2: grid stopper, first stage",
            "R4: plate load, first stage",
            "J1: input jack, first stage",
        ]);
        assert_seen(&text, &[&first, "second stage: V1b common cathode, not bypassed"], &all);
    }
}

/// A pair on a negative supply, its second grid on the divider from the speaker.
const PAIR: &str = "rail NEG \"tail\"
source NG 60V behind 1k steady plus chassis minus NEG
capacitor C3 47u 100V electrolytic plus chassis minus NEG
jack J1 \"In\" sleeve chassis
tube V1 ECC81
resistor R1 680k 0.5W from V1a.grid to chassis
capacitor C4 22n 630V film from J1.tip to V1a.grid
resistor R19 1M 0.5W from J1.tip to chassis
resistor R2 91k 2W 500V from B2 to V1a.plate
resistor R3 100k 2W 500V from B2 to V1b.plate
link W1 from V1a.cathode to V1b.cathode
resistor R4 22k 1W from V1a.cathode to NEG
resistor R5 27k 0.5W from T2.8R to V1b.grid
resistor R6 2k2 0.5W from V1b.grid to chassis
capacitor C5 220p 500V mica from T2.8R to V1b.grid
capacitor C6 33n 630V film from V1a.plate to V2.grid
capacitor C7 33n 630V film from V1b.plate to V3.grid
resistor R7 220k 0.5W from V2.grid to chassis
resistor R8 220k 0.5W from V3.grid to chassis
net KK
tube V2 6V6GT cathode KK
tube V3 6V6GT cathode KK
resistor R9 270R 5W from KK to chassis
resistor R11 470R 5W 500V from B2 to V2.screen
resistor R12 470R 5W 500V from B2 to V3.screen
output-transformer T2 primary 8k 40R a side 30H 20W taps 8R plates V3.plate V2.plate supply B1 common chassis
speaker LS1 8R 30W from T2.8R to chassis
drive J1 behind 10k";

#[test]
fn a_pair_with_feedback_at_its_second_grid_and_a_negative_rail() {
    let text = amp(PAIR);
    assert_seen(
        &text,
        &["phase inverter: V1a V1b long-tailed pair", "output stage: V2 V3 push-pull output, cathode bias"],
        &[
            "R4: tail resistor, phase inverter",
            "R5: feedback resistor, phase inverter",
            "C5: feedback capacitor, phase inverter",
            "R6: grid leak, phase inverter",
            "R1: grid leak, phase inverter",
            "C4: coupling capacitor, phase inverter",
            "R19: load resistor, phase inverter",
            "C3: reservoir",
            "NG: supply source",
        ],
    );
    let (circuit, recognised) = seen(&[&text]);
    let stage = &recognised.stages[0];
    assert!(stage.why.ends_with("V1b.grid — R5 — T2.8R"), "{}", stage.why);
    let negative = recognised.rails.last().unwrap();
    let capacitors: Vec<&str> = negative.capacitors.iter().map(|p| circuit.part(*p).name.as_str()).collect();
    assert_eq!(
        (
            circuit.net(negative.net).name.as_str(),
            negative.depth,
            negative.fed,
            capacitors,
            negative.why.as_str()
        ),
        ("NEG", 0, true, vec!["C3"], "NG — NEG")
    );
}

/// The feedback's sense follows from the plates' order: as drawn it takes away; exchanged it adds, and is told.
#[test]
fn feedback_at_the_second_grid_is_judged_by_its_sense() {
    let wrong = |text: &str| warnings(text).iter().any(|w| w.starts_with("feedback-wrong-way-round"));
    assert!(!wrong(&amp(PAIR)));
    assert!(wrong(&amp(&PAIR.replace("plates V3.plate V2.plate", "plates V2.plate V3.plate"))));
}

/// Two channels that share one cathode resistor are two first stages: both grids have a jack.
#[test]
fn two_channels_on_one_cathode_resistor_are_no_pair() {
    let text = amp("jack J1 \"In\" sleeve chassis\njack J2 \"In\" sleeve chassis\ntube V1 ECC83\n\
         resistor R1 1M from J1.tip to chassis\nlink W1 from J1.tip to V1a.grid\nresistor R2 1M from J2.tip to chassis\n\
         link W2 from J2.tip to V1b.grid\nlink W3 from V1a.cathode to V1b.cathode\nresistor R3 1k from V1a.cathode to chassis\n\
         resistor R4 100k from B2 to V1a.plate\nresistor R5 100k from B2 to V1b.plate\n\
         capacitor C1 22n from V1a.plate to R6.1\nresistor R6 220k to J3.tip\ncapacitor C2 22n from V1b.plate to R7.1\n\
         resistor R7 220k to J3.tip\njack J3 \"Out\" sleeve chassis\nresistor R8 1M from J3.tip to chassis");
    let (_, recognised) = seen(&[&text]);
    let kinds: Vec<&str> = recognised.stages.iter().map(|s| s.kind.phrase()).collect();
    assert_eq!(kinds, ["common cathode, not bypassed", "common cathode, not bypassed"]);
}

#[test]
fn a_jack_a_resistor_and_a_capacitor_before_the_first_grid() {
    let text = biased_by("resistor R3 1k5 0.5W from V1a.cathode to chassis")
        .replace("from J1.tip to V1a.grid", "from J1.tip to C9.1\ncapacitor C9 22n 630V film to V1a.grid")
        .replace("drive J1", "resistor R9 470k 0.5W from V1a.grid to chassis\ncapacitor C8 100p from C9.1 to chassis\ndrive J1");
    assert_seen(
        &text,
        &["first stage: V1a common cathode, not bypassed", "second stage: V1b common cathode, not bypassed"],
        &[
            "C9: coupling capacitor, first stage",
            "R2: grid stopper, first stage",
            "R9: grid leak, first stage",
            "R1: load resistor, first stage",
            "C8: tone capacitor, first stage",
        ],
    );
    let (circuit, recognised) = seen(&[&text]);
    let role = recognised.role(circuit.find("C9").unwrap()).unwrap();
    assert_eq!(role.why, "J1.tip — R2 — C8.1 — C9 — V1a.grid");
}

/// A series resistor as large as the leak behind it divides: half of the signal is lost.
#[test]
fn a_series_resistor_before_the_input_capacitor_may_divide() {
    let text = biased_by("resistor R3 1k5 0.5W from V1a.cathode to chassis")
        .replace("resistor R2 47k", "resistor R2 470k")
        .replace("from J1.tip to V1a.grid", "from J1.tip to C9.1\ncapacitor C9 22n 630V film to V1a.grid")
        .replace("drive J1", "resistor R9 470k 0.5W from V1a.grid to chassis\ndrive J1");
    let (circuit, recognised) = seen(&[&text]);
    assert_eq!(recognised.describe(&circuit, circuit.find("R2").unwrap()), "attenuator, first stage");
}
