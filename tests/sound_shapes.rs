//! Sound amplifiers of less usual shapes: nothing stands in the way of judging them.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

use asfound::solve::{Setup, at_rest};

use crate::support::{built, problems};

fn example() -> String {
    let path = format!("{}/examples/fallow-18/fallow-18.amp", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

/// Something else in place of what a text has once.
fn instead(text: &str, edits: &[(&str, &str)]) -> String {
    edits.iter().fold(text.to_owned(), |text, (from, to)| {
        assert_eq!(text.matches(from).count(), 1, "{from}");
        text.replace(from, to)
    })
}

/// A speaker winding that is joined to nothing but its own load rests at 0 V by leakage, and the rest is as before.
#[test]
fn a_floating_speaker_winding_rests() {
    let sound = example();
    let floating = instead(
        &sound,
        &[
            (" supply B1 common chassis", " supply B1"),
            ("tip T2.8R sleeve chassis", "tip T2.8R sleeve T2.common"),
            ("wirewound from T2.8R to chassis", "wirewound from T2.8R to T2.common"),
            ("30W from J3.tip to chassis", "30W from J3.tip to J3.sleeve"),
        ],
    );
    assert_eq!(problems(&[("stock.amp", &floating)]), "");
    let volts = |text: &str, net: &str| {
        let circuit = built(&[("stock.amp", text)]).pop().unwrap();
        let solved = at_rest(&circuit, &Setup::idle()).unwrap();
        solved.net_volts(circuit.find_net(net).unwrap())
    };
    assert_eq!(volts(&floating, "T2.8R").map(|v| v.abs() < 1e-9), Some(true));
    assert_eq!(volts(&floating, "B2"), volts(&sound, "B2"));
}

/// A lead of two cores has no earth that could lack a way to chassis.
#[test]
fn a_lead_of_two_cores_has_no_earth() {
    let text = instead(
        &example(),
        &[
            ("insulation class-I\n", "insulation class-II\n"),
            ("inlet P1 250V 10A live F1.1 earth chassis", "inlet P1 two-core 250V 10A live F1.1"),
        ],
    );
    let circuit = built(&[("stock.amp", &text)]).pop().unwrap();
    let solved = at_rest(&circuit, &Setup::idle()).unwrap();
    assert!(asfound::analysis::cut_off(&circuit, &solved).is_empty());
}

/// Heaters referred by the wiper of a hum control: the text says it by wire, and the message tells how.
#[test]
fn a_hum_controls_wiper_is_joined_by_wire() {
    let control = "pot VR9 100R lin 2W top T1.heat.a bottom T1.heat.b at 50% \"hum\"\n";
    let edits = |reference| {
        instead(
            &example(),
            &[
                ("3.15V-0-3.15V 0R04 a side", "6.3V 0R08"),
                ("V1 V2 V3 V4 reference centre to KK", reference),
                ("lamp LP1", &format!("{control}lamp LP1")),
            ],
        )
    };
    let told = problems(&[("stock.amp", &edits("V1 V2 V3 V4 reference VR9.wiper to KK"))]);
    assert!(told.contains("VR9.wiper"), "{told}");
    let by_wire = edits("V1 V2 V3 V4\nlink W9 from VR9.wiper to KK");
    assert_eq!(problems(&[("stock.amp", &by_wire)]), "");
}
