//! Ohms with the power off, and parts worked back from readings in circuit.
//!
//! Source of the figures: independent solutions of invented circuits with 40 digits (`reference/cases/MODEL.md`, 6.1).
//! Tolerances: 1e-9 of the ohms; of a value 1e-8 over the reading's sensitivity to it.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

use asfound::circuit::Untold;
use asfound::numeric::Law;
use asfound::solve::{FromReading, PowerOff};
use serde_json::Value;

use crate::reference_cases::read::{Case, case, number, text};
use crate::support::{built, problems};

/// A case's network in one of its settings; some are the circuit of another case.
fn network(of: &Value, setting: &Value) -> Case {
    let mut circuit = of["same_circuit_as"].as_str().map_or_else(|| of.clone(), text);
    // Valves pass nothing with the power off; some cases leave their figures out.
    let valve = |element: &Value| matches!(element["kind"].as_str(), Some("triode" | "pentode"));
    circuit["elements"].as_array_mut().unwrap().retain(|element| !valve(element));
    case(&circuit, &setting["set"])
}

fn setting<'v>(of: &'v Value, name: &Value) -> &'v Value {
    of["switch_settings"].as_array().unwrap().iter().find(|s| s["name"] == *name).unwrap()
}

#[test]
fn ohms_with_the_power_off_agree_with_independent_solutions() {
    let mut checked = 0;
    for of in text("in_circuit_ohms")["cases"].as_array().unwrap() {
        for want in of["expected"]["ohms"].as_array().unwrap() {
            let case = network(of, setting(of, &want["setting"]));
            let node = |field: &str| case.nodes[want[field].as_str().unwrap()];
            let got = PowerOff::of(&case.network, |_| false).ohms(node("from"), node("to"));
            match (got, want["ohms"].as_f64()) {
                (Some(got), Some(ohms)) => {
                    assert!((got - ohms).abs() <= 1e-9 * ohms, "{} {want}: {got}", of["case"]);
                }
                (got, ohms) => assert_eq!(got, ohms, "{} {want}", of["case"]),
            }
            checked += 1;
        }
    }
    assert!(checked >= 50, "{checked}");
}

#[test]
fn a_part_is_worked_back_from_a_reading_anywhere() {
    let mut checked = 0;
    for of in text("in_circuit_ohms")["cases"].as_array().unwrap() {
        for want in of["expected"]["part_from_reading"].as_array().unwrap() {
            let case = network(of, setting(of, &want["setting"]));
            let node = |field: &str| case.nodes[want[field].as_str().unwrap()];
            let part = case.elements[want["part"].as_str().unwrap()];
            let Law::Resistor { a, b, .. } = case.network.elements[part].law else { panic!("{want}") };
            let rest = PowerOff::of(&case.network, |at| at == part);
            let got =
                rest.explain((node("from"), node("to")), (a, b), number(&want["reading_ohms"])).unwrap();
            let why = want["why"].as_str().unwrap_or("");
            match got {
                FromReading::Ohms { ohms, sensitivity } => {
                    let moves = number(&want["relative_change_of_reading_per_relative_change_of_part"]);
                    let value = number(&want["value"]);
                    assert!((ohms - value).abs() <= 1e-8 / moves * value, "{} {want}: {ohms}", of["case"]);
                    assert!((sensitivity - moves).abs() <= 1e-6 * moves, "{want}: {sensitivity}");
                }
                FromReading::AtOrAboveTheRest(_) => assert!(why.starts_with("at or above"), "{want}"),
                FromReading::BelowNothing(_) => assert!(why.starts_with("below"), "{want}"),
                FromReading::Unmoved => assert!(why.starts_with("the part does not move"), "{want}"),
            }
            checked += 1;
        }
    }
    assert!(checked >= 20, "{checked}");
}

const STOCK: &str = "stock \"Larch bench\" \"read in place\"\nrail B1 \"plates\"\nsource HT 285V behind 150R plus B1 minus chassis\n\
    capacitor C40 47u 450V electrolytic plus B1 minus chassis\nresistor R53 220k 2W from B1 to chassis\nnet X\n\
    resistor R4 100k 1W from B1 to X\nresistor R5 100k 1W from X to chassis\n";

/// What R4 measures by itself, and why if it can't be told.
fn read(lines: &str) -> (Option<f64>, Option<Untold>) {
    let job = format!("as-found \"job\" of \"stock.amp\"\n{lines}\n");
    let circuit = built(&[("stock.amp", STOCK), ("job.amp", &job)]).remove(1);
    let component = &circuit.part(circuit.find("R4").unwrap()).component;
    (component.measured, component.untold)
}

/// R4 lies beside R53 and R5 in series, 320k: 100k in place reads 76.19k.
#[test]
fn a_part_with_neither_leg_at_chassis_is_worked_back() {
    let (ohms, untold) = read("R4 reads 76.190476k in circuit");
    assert!((ohms.unwrap() / 100e3 - 1.0).abs() < 1e-6 && untold.is_none(), "{ohms:?}");
    // Two read in place are worked out together: R5 is 82k by itself, so that R4 lies beside 302k.
    let (ohms, _) = read(&format!(
        "R4 reads {} in circuit\nR5 reads {} in circuit",
        1.0 / (1.0 / 90e3 + 1.0 / 302e3),
        1.0 / (1.0 / 82e3 + 1.0 / 310e3)
    ));
    assert!((ohms.unwrap() / 90e3 - 1.0).abs() < 1e-6, "{ohms:?}");
}

#[test]
fn a_reading_that_no_value_explains_or_that_tells_nothing_gives_none() {
    let (ohms, untold) = read("R4 reads 330k in circuit");
    assert!(ohms.is_none(), "{ohms:?}");
    assert!(matches!(untold, Some(Untold::Impossible { rest }) if (rest - 320e3).abs() < 1.0), "{untold:?}");
    // 100 Ω across it: a reading of 99.9 Ω is 100k by arithmetic, and any value from 10k up by a meter of 1 %.
    let (ohms, untold) = read("added resistor R90 100R 1W from B1 to X\nR4 reads 99.87 in circuit");
    assert!(
        ohms.is_none() && matches!(untold, Some(Untold::Vague { accuracy }) if accuracy > 1.0),
        "{untold:?}"
    );
    // A leg out of its joint: the meter across the joints sees the rest alone.
    let (ohms, untold) = read("R4 lifted at X\nR4 reads 320k in circuit");
    assert!(ohms.is_none() && untold == Some(Untold::Hidden), "{ohms:?} {untold:?}");
}

#[test]
fn what_ohms_in_circuit_do_not_tell_is_refused() {
    let job = "as-found \"job\" of \"stock.amp\"\nC40 reads 47u in circuit\n";
    let told = problems(&[("stock.amp", STOCK), ("job.amp", job)]);
    assert!(told.contains("C40 is no resistance, and that is what is read in circuit"), "{told}");
    assert!(told.contains("free a leg to read the part itself"), "{told}");
}
