//! What hands meet that no direct current tells: the swing of output valves; and what was not gone through says so.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

use asfound::analysis::judge;
use asfound::rules::{RuleSet, Verdicts};
use asfound::solve::SolvedSet;
use asfound::solve::touch::{Hazard, Route, hazards};

use crate::support::built;

/// A single-ended amplifier with an effect send and its level from an ordinary plate, a send from a follower, a
/// line out by a divider, and a jack of its own.
const SOUND: &str = r#"stock "Stint 9"
mains 230V 50Hz limits 207V to 253V
rail B1 "plates"
rail B2 "preamp"
source HT 300V behind 100R unloaded 320V plus B1 minus chassis
capacitor C1 47u 500V electrolytic plus B1 minus chassis
resistor R1 220k 2W from B1 to chassis
resistor R2 10k 2W from B1 to B2
capacitor C2 22u 500V electrolytic plus B2 minus chassis
jack J1 "Input" sleeve chassis
resistor R3 1M 0.5W from J1.tip to chassis
tube V1 ECC83
resistor R4 68k 0.5W from J1.tip to V1a.grid
resistor R5 1k5 0.5W from V1a.cathode to chassis
resistor R6 100k 1W from B2 to V1a.plate
capacitor C3 100n 630V film from V1a.plate to VR1.top
pot VR1 1M log "Send level" wiper J2.tip bottom chassis
jack J2 "Send" sleeve chassis
resistor R7 47k 1W from V1b.cathode to chassis
link W1 from V1b.plate to B2
link W2 from V1b.grid to V1a.plate
capacitor C4 1u 630V film from V1b.cathode to J3.tip
jack J3 "Second send" sleeve chassis
resistor R8 220k 0.5W from J3.tip to chassis
tube V2 6V6GT screen B1
capacitor C5 22n 630V film from V1b.cathode to V2.grid
resistor R9 220k 0.5W from V2.grid to chassis
resistor R10 330R 5W wirewound from V2.cathode to chassis
capacitor C6 100u 63V electrolytic plus V2.cathode minus chassis
output-transformer T2 primary 5k 250R 20H taps 8R plate V2.plate supply B1 common chassis
speaker LS1 8R 15W from T2.8R to chassis
capacitor C7 1n 1600V film from V2.plate to X1
net X1
resistor R11 10k 2W from X1 to B1
resistor R12 47k 0.5W from T2.8R to J4.tip
resistor R13 10k 0.5W from J4.tip to chassis
jack J4 "Line out" sleeve chassis
jack J9 "Spare" sleeve chassis
resistor R14 1M 0.5W from J9.tip to chassis
"#;

fn found(text: &str) -> (String, Vec<(String, Hazard)>) {
    let circuit = built(&[("stock.amp", text)]).pop().unwrap();
    let solved = SolvedSet::default();
    let reach = hazards(&circuit, &solved);
    let named = |h: Hazard| {
        let names: Vec<&str> = h.joiners.iter().map(|id| circuit.part(*id).name.as_str()).collect();
        (names.join(" "), h)
    };
    (format!("{:?}", reach.unjudged), reach.hazards.into_iter().map(named).collect())
}

fn lint(documents: &[(&str, &str)]) -> Verdicts {
    judge(&built(documents), &RuleSet::shipped()).verdicts
}

fn to_people(verdicts: &Verdicts) -> Vec<(String, String)> {
    let people = verdicts.findings.iter().filter(|f| f.to_people);
    people.map(|f| (f.rule.clone(), f.subject().to_owned())).collect()
}

/// Sends, followers, line outs and a snubber on the plate are sound.
#[test]
fn sound_outputs_are_not_told() {
    assert_eq!(found(SOUND), ("[]".to_owned(), Vec::new()));
    assert_eq!(to_people(&lint(&[("stock.amp", SOUND)])), []);
}

/// The plate stands at 320 V × 1.1 cold, and swings by so much: 1 uF and a body of 1 kohm, 352 V / |1000 - j159.2|.
#[test]
fn a_plates_swing_on_a_jack_is_told() {
    let line = "capacitor C50 1u 630V film from V2.plate to J9.tip\n";
    let (_, all) = found(&format!("{SOUND}{line}"));
    let [(joiner, hazard)] = all.as_slice() else { panic!("{all:?}") };
    assert_eq!(
        (joiner.as_str(), hazard.route, hazard.touched.name.as_str()),
        ("C50", Route::Swing, "J9.tip")
    );
    // The bleeder takes 0.2 V, and the jack's 1 Mohm a thousandth.
    let amps = 352.0 / f64::hypot(1000.0, 1e3 / std::f64::consts::TAU);
    assert!((hazard.volts - 352.0).abs() < 1.0 && (hazard.amps - amps).abs() < 0.01 * amps, "{hazard:?}");
    // 3.3 nF: 352 V / |1 k - j48.2 k| is 7.3 mA. At the snubber's 10 kohm behind 1 nF 22 V are left.
    let small = "capacitor C50 3n3 1600V film from V2.plate to J9.tip\n";
    let behind = "capacitor C50 1u 630V film from X1 to J9.tip\n";
    for (line, told) in [(line, true), (small, true), (behind, false)] {
        let named = ("signal-swing-within-reach".to_owned(), "C50".to_owned());
        let want: Vec<_> = told.then_some(named).into_iter().collect();
        assert_eq!(to_people(&lint(&[("stock.amp", &format!("{SOUND}{line}"))])), want, "{line}");
    }
    let divided = "capacitor C50 22n 630V film from V2.plate to R50.1\nresistor R50 100k 1W to J9.tip\n\
                   resistor R51 4k7 0.5W from J9.tip to chassis\n";
    assert_eq!(to_people(&lint(&[("stock.amp", &format!("{SOUND}{divided}"))])), [], "15 V peak");
    let record =
        "as-found \"job 2\" of \"stock.amp\"\nadded capacitor C50 470n 630V film from V2.plate to J9.tip\n";
    let told = to_people(&lint(&[("stock.amp", SOUND), ("found.amp", record)]));
    assert_eq!(told, [("signal-swing-within-reach".to_owned(), "C50".to_owned())]);
}

/// Parts of unknown value that lead to the chassis alone drain nothing for certain, however many stand one behind the other.
#[test]
fn unknown_parts_that_may_drain_hide_nothing() {
    let join = "resistor R50 47k 1W from B1 to J9.tip\n";
    let bare = SOUND.replace("resistor R14 1M 0.5W from J9.tip to chassis\n", "");
    for drain in [
        "resistor R51 unknown from J9.tip to chassis\n",
        "resistor R51 unknown from J9.tip to R52.1\nresistor R52 unknown to chassis\n",
        "resistor R51 unknown from J9.tip to R52.1\nresistor R52 unknown to W50.1\nlink W50 to chassis\n",
    ] {
        for join in [join, "resistor R50 47k 1W from B1 to R53.1\nresistor R53 unknown to J9.tip\n"] {
            let (unjudged, all) = found(&format!("{bare}{join}{drain}"));
            assert!(
                all.iter().any(|(_, h)| h.route == Route::Cold && h.amps > 5e-3),
                "{join}{drain}: {unjudged} {all:?}"
            );
        }
    }
}

/// More joins than are told one by one, and more switches than all combinations are tried of: the page says so.
#[test]
fn what_was_not_gone_through_is_told() {
    let join = |n: usize| format!("jack J{n} sleeve chassis\nresistor R{n} 10k 1W from B1 to J{n}.tip\n");
    let joins = |n: usize| format!("{SOUND}{}", (60..60 + n).map(join).collect::<String>());
    let (unjudged, all) = found(&joins(9));
    assert!(unjudged.contains("more than 8 joins"), "{unjudged}");
    assert!(all.iter().filter(|(_, h)| h.route == Route::Cold).count() >= 8, "{all:?}");
    let switch = |n: usize| {
        format!(
            "switch S{n} positions on off now on\nresistor R{n} 1k 0.5W from B2 to S{n}.a1\n\
             contact S{n} on joins S{n}.a1 to chassis\n"
        )
    };
    let switches = |n: usize| format!("{SOUND}{}", (60..60 + n).map(switch).collect::<String>());
    let untold = |text: &str| {
        let verdicts = lint(&[("stock.amp", text)]);
        let of = verdicts.could_not_tell.into_iter().filter(|c| c.missing.contains("every combination"));
        of.map(|c| (c.rule, c.subject)).collect::<Vec<_>>()
    };
    assert_eq!(untold(&switches(6)), []);
    let seven = untold(&switches(7));
    for rule in ["mains-within-reach", "ht-within-reach", "signal-swing-within-reach"] {
        assert_eq!(seven.iter().filter(|(named, _)| named == rule).count(), 7, "{seven:?}");
    }
}

/// Each half of a winding has its fuse: a way past one of them is told of both, though the supply stands without either.
#[test]
fn a_way_past_one_of_two_fuses_is_told() {
    let stock = r#"stock "Stint 12"
mains 230V 50Hz limits 207V to 253V
rail B1 "plates"
inlet P1 live F1.1 earth chassis
fuse F1 500mA 250V slow "mains"
link W2 from F1.2 to T1.primary.a
link W3 from P1.neutral to T1.primary.b
transformer T1 mains
winding T1.primary 230V 20R
winding T1.ht 250V-0-250V 90R a side current 80mA
link W1 from T1.ht.centre to chassis
fuse F2 125mA 500V slow "HT" from T1.ht.a to D1.anode
fuse F3 125mA 500V slow "HT" from T1.ht.b to D2.anode
diode D1 1N4007 cathode B1
diode D2 1N4007 cathode B1
capacitor C1 47u 500V electrolytic plus B1 minus chassis
resistor R1 220k 2W from B1 to chassis
"#;
    let bypassed = |line: &str| {
        let record = format!("as-found \"job 3\" of \"stock.amp\"\n{line}\n");
        let told = to_people(&lint(&[("stock.amp", stock), ("found.amp", &record)]));
        told.into_iter().filter(|(rule, _)| rule == "fuse-bypassed").map(|(_, part)| part).collect::<Vec<_>>()
    };
    assert_eq!(bypassed("R1 checked"), Vec::<String>::new());
    assert_eq!(bypassed("D1.anode moved to T1.ht.a"), ["F2", "F3"]);
    assert_eq!(bypassed("added resistor R9 10R 5W from T1.ht.b to D2.anode"), ["F2", "F3"]);
    assert_eq!(bypassed("added resistor R9 1R 5W from P1.live to T1.primary.a"), ["F1"]);
}
