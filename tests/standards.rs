//! Figures of standards and makers' curves that the tool judges by, against `published/standards.json`, each with its mark.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its figures has failed")]

use asfound::numeric::time::discharge::Valves;
use asfound::rules::{INSIDE_CELSIUS, bearable_share};
use asfound::solve::Setup;
use asfound::solve::decay::{HARMLESS_VOLTS, stored_charge};
use serde_json::Value;

use crate::reference_cases::read;
use crate::support;

fn entries(topic: &str) -> Vec<Value> {
    let file = read::published("standards");
    let all = file["entries"].as_array().unwrap().iter();
    let found: Vec<Value> = all.filter(|e| e["topic"] == topic).cloned().collect();
    assert!(!found.is_empty(), "{topic}");
    found
}

/// Makers' film series: full power to 70 °C, none at 155 °C (read); the line between (computed from the curve). At what is
/// taken for the inside of a chassis the rating holds whole.
#[test]
fn derating_of_film_resistors() {
    for curve in entries("metal-film derating") {
        assert_eq!(curve["confidence"], "read");
        let [full, none] = ["full_power_to_C", "zero_power_at_C"].map(|key| curve[key].as_f64().unwrap());
        assert_eq!((bearable_share(full), bearable_share(none)), (1.0, 0.0));
        assert!(bearable_share(full + 1.0) < 1.0 && bearable_share(none - 1.0) > 0.0);
        assert_eq!(bearable_share(INSIDE_CELSIUS), 1.0);
    }
    for example in entries("derating formula")[0]["examples"].as_array().unwrap() {
        let [celsius, share] = ["T_C", "fraction"].map(|key| example[key].as_f64().unwrap());
        assert!((bearable_share(celsius) - share).abs() < 5e-5, "{celsius} °C");
    }
}

/// IEC 62368-1, ES1: 60 V DC (memory). The bleeder's example by R·C·ln(V0/60) (memory), through a document.
#[test]
fn harmless_volts_and_a_bleeder() {
    assert_eq!(entries("touch voltage ES1")[0]["dc_V"].as_f64(), Some(HARMLESS_VOLTS));
    let example = entries("bleeder and discharge")[0]["example"].clone();
    let figure = |key: &str| example[key].as_f64().unwrap();
    let (volts, micro, ohms) = (figure("V0_V"), figure("C_uF"), figure("R_ohm"));
    // No resistance in the source: the reservoir starts at its volts.
    let circuit = support::stock(&format!(
        "stock \"X\"\nrail B1\nsource HT {volts}V plus B1 minus chassis\n\
         capacitor C1 {micro}u 500V electrolytic plus B1 minus chassis\nresistor R1 {}k 2W from B1 to chassis\n",
        ohms / 1e3
    ));
    let stored = stored_charge(&circuit, &Setup::idle(), None, Valves::Cold).unwrap().stored;
    let seconds = stored[0].fall.seconds().unwrap();
    assert!((seconds - figure("t_s")).abs() < 0.01, "{seconds} s");
}
