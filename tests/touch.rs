//! What hands reach: independent figures, and joins by every way named at the part that makes them.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

use std::collections::BTreeMap;

use asfound::numeric::{Law, Network, Node};
use asfound::solve::SolvedSet;
use asfound::solve::touch::{Route, after_pulling, body_current, hazards};
use serde_json::Value;

use crate::reference_cases::read;
use crate::support;

/// Elements of a case between nodes that are added as they come; node 0 is `ground`.
fn network(elements: &[Value], ground: &str) -> (Network, BTreeMap<String, Node>) {
    let mut network = Network::new();
    let mut nodes: BTreeMap<String, Node> = [(ground.to_owned(), 0)].into();
    for element in elements {
        let [a, b] = ["a", "b"].map(|end| {
            let name = element[end].as_str().unwrap().to_owned();
            *nodes.entry(name.clone()).or_insert_with(|| network.add_node(name))
        });
        let law = match element["kind"].as_str().unwrap() {
            "resistor" => Law::Resistor { a, b, ohms: read::number(&element["ohms"]) },
            "capacitor" => Law::Capacitor { a, b, farads: read::number(&element["farads"]) },
            other => panic!("{other}"),
        };
        network.add("", law);
    }
    (network, nodes)
}

fn near(got: f64, want: f64) -> bool {
    (got - want).abs() <= 1e-6 * want.abs() + 1e-15
}

/// Every touch current of the cases (`cases/MODEL.md`, 6.4), within 1e-6: through 1 kΩ and 2 kΩ as a body, and as the
/// measuring networks of IEC 60990 (from memory) have it.
#[test]
fn touch_currents_of_the_cases() {
    let file = read::text("touch_current");
    let mut checked = 0;
    for case in file["cases"].as_array().unwrap().iter().filter(|c| c["type"] == "touch_current") {
        let (volts, hertz) =
            (read::number(&case["mains"]["volts_rms"]), read::number(&case["mains"]["hertz"]));
        for expected in case["expected"].as_array().unwrap() {
            let mut elements = case["elements"].as_array().unwrap().clone();
            let resistor = |a: &str, b: &str, ohms: f64| serde_json::json!({"kind": "resistor", "a": a, "b": b, "ohms": ohms});
            if let Some(ohms) = expected["earth_ohms"].as_f64() {
                elements.push(resistor("chassis", "earth", ohms));
            }
            let body = expected["body"].as_str().unwrap();
            let plain = if body == "1k" {
                Some(1e3)
            } else if body == "2k" {
                Some(2e3)
            } else {
                None
            };
            let place = expected["place"].as_str().unwrap();
            if plain.is_none() {
                for part in file["body_networks"][body].as_array().unwrap() {
                    let mut part = part.clone();
                    for end in ["a", "b"] {
                        part[end] = match part[end].as_str().unwrap() {
                            "t" => place.into(),
                            "e" => "earth".into(),
                            other => other.into(),
                        };
                    }
                    elements.push(part);
                }
            }
            let (mut network, nodes) = network(&elements, "earth");
            let exchanged = expected["line_neutral_reversed"].as_bool().unwrap();
            for (conductor, hot) in [("L", !exchanged), ("N", exchanged)] {
                if let Some(plus) = nodes.get(conductor) {
                    let ac_volts = if hot { volts } else { 0.0 };
                    network.add("", Law::VoltageSource { plus: *plus, minus: 0, volts: 0.0, ac_volts });
                }
            }
            let amps = if let Some(ohms) = plain {
                let flow = body_current(&network, hertz, (nodes[place], 0), ohms).unwrap();
                flow.map_or(0.0, |flow| flow.amps)
            } else {
                let across = if body == "iec60990_perception" { "y" } else { "x" };
                let flow = body_current(&network, hertz, (nodes[across], 0), 1.0).unwrap().unwrap();
                flow.volts / 500.0
            };
            let want = read::number(&expected["amps_rms"]);
            assert!(near(amps, want), "{} {body}: {amps} A instead of {want}", case["case"]);
            checked += 1;
        }
    }
    assert!(checked >= 60, "{checked}");
}

/// Volts between the pins two seconds after pulling the plug at the peak, within 1e-6.
#[test]
fn plug_volts_of_the_cases() {
    let file = read::text("touch_current");
    let mut checked = 0;
    for case in file["cases"].as_array().unwrap().iter().filter(|c| c["type"] == "plug_volts") {
        let (network, nodes) = network(case["elements"].as_array().unwrap(), "E");
        let mut start = vec![0.0; network.nodes.len()];
        start[nodes["L"]] = std::f64::consts::SQRT_2 * read::number(&case["mains"]["volts_rms"]);
        let volts = after_pulling(&network, &start, read::number(&case["seconds"])).unwrap();
        for expected in case["expected"].as_array().unwrap() {
            let pins = expected["pins"].as_array().unwrap();
            let [a, b] = [0, 1].map(|i| volts[nodes[pins[i].as_str().unwrap()]]);
            let want = read::number(&expected["volts"]);
            assert!(near((a - b).abs(), want.abs()), "{}: {} V instead of {want}", case["case"], a - b);
            checked += 1;
        }
    }
    assert!(checked >= 8, "{checked}");
}

/// 10 pF on 100 GΩ behind milliohms: 325·exp(−2/RC) is left, and the same on either side of the joints. 22 pF at the near
/// side shares its charge with it: (22·325 + 10·0)/32 to begin with, and 32 pF to discharge.
#[test]
fn picofarads_behind_milliohms_at_the_plug() {
    let (far, ohms) = (10e-12, 1e11);
    let mut network = Network::new();
    let [near_side, between, far_side] = ["a", "b", "c"].map(|name| network.add_node(name));
    for (a, b) in [(near_side, between), (between, far_side)] {
        network.add("", Law::Resistor { a, b, ohms: 1e-3 });
    }
    network.add("", Law::Capacitor { a: far_side, b: 0, farads: far });
    network.add("", Law::Resistor { a: far_side, b: 0, ohms });
    let left = after_pulling(&network, &[0.0, 325.0, 325.0, 325.0], 2.0).unwrap();
    for volts in &left[1..] {
        assert!(near(*volts, 325.0 * libm::exp(-2.0 / (ohms * far))), "{left:?}");
    }
    network.add("", Law::Capacitor { a: near_side, b: 0, farads: 22e-12 });
    let left = after_pulling(&network, &[0.0, 325.0, 0.0, 0.0], 2.0).unwrap();
    let want = 325.0 * 22.0 / 32.0 * libm::exp(-2.0 / (ohms * 32e-12));
    assert!(left[1..].iter().all(|volts| near(*volts, want)), "{left:?} instead of {want}");
}

/// How something is joined to what hands reach: a statement each for a record and a stock spec, `@A` and `@B` for
/// the places, and the parts that make the join.
const WAYS: [(&str, &str, &[&str]); 6] = [
    ("bridged @A to @B with wire W90", "link W90 from @A to @B", &["W90"]),
    ("added resistor R90 1k from @A to @B", "resistor R90 1k from @A to @B", &["R90"]),
    ("added resistor R90 47k from @A to @B", "resistor R90 47k from @A to @B", &["R90"]),
    (
        "added resistor R90 470R from @A to R91.1\nadded resistor R91 2k2 to @B",
        "resistor R90 470R from @A to R91.1\nresistor R91 2k2 to @B",
        &["R90", "R91"],
    ),
    ("added capacitor C90 47n from @A to @B", "capacitor C90 47n from @A to @B", &["C90"]),
    (
        "added resistor R90 1k from @A to C90.1\nadded capacitor C90 47n to @B",
        "resistor R90 1k from @A to C90.1\ncapacitor C90 47n to @B",
        &["C90", "R90"],
    ),
];

/// Which of the ways pass direct current.
const DIRECT: usize = 4;

const AMPLIFIERS: [&str; 5] = ["fallow-18", "hollin-100", "rook-12", "wren-8", "sedge-45"];

fn example(name: &str) -> String {
    let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

/// The hazards of the last of a stack of texts, no valve conducting, by the names of the parts that make them.
fn joined(texts: &[(&str, &str)]) -> Vec<(Route, Vec<String>)> {
    let circuit = support::built(texts).pop().unwrap();
    let name = |id: &asfound::circuit::PartId| circuit.part(*id).name.clone();
    let named =
        |hazard: &asfound::solve::touch::Hazard| (hazard.route, hazard.joiners.iter().map(name).collect());
    {
        let reach = hazards(&circuit, &SolvedSet::default());
        assert_eq!(reach.unjudged, [], "every case is worked out");
        reach.hazards.iter().map(named).collect()
    }
}

/// Nothing in a sound amplifier drives a current through whoever touches it.
#[test]
fn nothing_within_reach_of_a_sound_amplifier() {
    for name in AMPLIFIERS {
        assert_eq!(joined(&[("stock.amp", &example(name))]), [], "{name}");
    }
}

/// Every way of joining a mains conductor or the high tension to what hands reach is found, in a record and in a bare
/// stock spec, and named at the parts that make it. One in 29 is tried, all of them with `ASFOUND_TOUCH=all`.
#[test]
fn joins_are_named_at_what_makes_them() {
    let mut all = Vec::new();
    for amplifier in AMPLIFIERS {
        let text = example(amplifier);
        let mains =
            if text.contains("inlet P1") { &["P1.live", "P1.neutral", "T1.primary.a"][..] } else { &[] };
        let reach = ["J1.tip", "chassis"];
        for way in &WAYS {
            for (a, b) in mains.iter().flat_map(|a| reach.map(|b| (*a, b))) {
                all.push((amplifier, Route::Mains, way, a, b));
            }
        }
        for way in &WAYS[..DIRECT] {
            all.push((amplifier, Route::Cold, way, "B1", "J1.tip"));
        }
    }
    let stride = if std::env::var_os("ASFOUND_TOUCH").is_some() { 1 } else { 29 };
    let mut tried = 0;
    for (amplifier, route, (record, stock, parts), a, b) in all.into_iter().step_by(stride) {
        let put = |line: &str| line.replace("@A", a).replace("@B", b);
        let text = example(amplifier);
        let layer = format!("as-found \"job\" of \"stock.amp\"\n{}\n", put(record));
        let bare = format!("{text}\n{}\n", put(stock));
        for found in [joined(&[("stock.amp", &text), ("job.amp", &layer)]), joined(&[("stock.amp", &bare)])] {
            let named: Vec<&str> =
                found.iter().filter(|f| f.0 == route).flat_map(|f| &f.1).map(String::as_str).collect();
            assert_eq!(named, *parts, "{amplifier}: {} between {a} and {b}: {found:?}", put(record));
        }
        tried += 1;
    }
    assert!(tried >= 4, "{tried}");
}

/// A leg that sits where the mains or the high tension belongs is the join itself.
#[test]
fn a_shared_net_is_named_by_whose_leg_it_is() {
    let text = example("wren-8");
    for (line, route, want) in [
        ("bridged P1.live to chassis", Route::Mains, "P1"),
        ("bridged B1 to J1.tip", Route::Cold, "J1"),
        ("bridged B2 to J1.tip", Route::Cold, "J1"),
        ("R1.2 moved to P1.live", Route::Mains, "R1"),
    ] {
        let layer = format!("as-found \"job\" of \"stock.amp\"\n{line}\n");
        let found = joined(&[("stock.amp", &text), ("job.amp", &layer)]);
        let hit = found.iter().any(|(r, parts)| *r == route && parts.iter().any(|part| part == want));
        assert!(hit, "{line}: {found:?}");
    }
}

/// What drives no harmful current: a capacitor that blocks and holds 1.9 mJ, one of class Y that passes 0.16 mA, a safe
/// low voltage.
#[test]
fn what_passes_little_is_no_hazard() {
    let text = example("fallow-18");
    for line in [
        "capacitor C90 22n 630V film from B1 to J1.tip",
        "capacitor C90 2n2 275V class-Y2 from P1.live to chassis",
        "link W90 from T1.heat.a to J1.tip",
        "link W90 from KK to J1.tip",
    ] {
        assert_eq!(joined(&[("stock.amp", &format!("{text}\n{line}\n"))]), [], "{line}");
    }
}

/// Where a control stands takes no danger away: it is judged at both ends of its travel.
#[test]
fn a_control_is_judged_over_its_travel() {
    let text = example("fallow-18");
    for line in [
        "pot VR9 1M lin 0.5W top F1.2 bottom chassis wiper J1.tip at 0%",
        "pot VR9 1M lin 0.5W top T1.primary.a wiper J1.tip at 0%",
        "pot VR9 100k lin 2W top B1 bottom chassis wiper J1.tip at 0%",
    ] {
        let parts: Vec<String> = joined(&[("stock.amp", &format!("{text}\n{line}\n"))])
            .into_iter()
            .flat_map(|(_, parts)| parts)
            .collect();
        assert!(parts.contains(&"VR9".to_owned()), "{line}: {parts:?}");
    }
}

/// A case that has no answer is never taken for a harmless one: two sources that contradict each other feed what is
/// touched, and a mains side is too large to be followed.
#[test]
fn what_has_no_answer_is_told() {
    let text = r#"stock "Siskin 6"
rail B1 "plates"
source HT 300V behind 0R plus B1 minus chassis
source HX 310V behind 0R plus B1 minus chassis
jack J1 "Input" sleeve chassis
resistor R1 1k from B1 to J1.tip
"#;
    let circuit = support::built(&[("stock.amp", text)]).pop().unwrap();
    let reach = hazards(&circuit, &SolvedSet::default());
    assert!(reach.hazards.is_empty(), "{:?}", reach.hazards);
    assert!(reach.unjudged.iter().any(|case| case.route == Route::Cold), "{:?}", reach.unjudged);

    let mut chain = Network::new();
    let mut from = 0;
    for index in 0..70 {
        let to = chain.add_node(format!("n{index}"));
        chain.add("", Law::Capacitor { a: from, b: to, farads: 1e-6 });
        from = to;
    }
    let why = after_pulling(&chain, &vec![0.0; chain.nodes.len()], 2.0).unwrap_err();
    assert!(why.contains("more than 60 nets"), "{why}");
}

/// Two joins to two places at once are told each at its own part.
#[test]
fn two_joins_at_once_are_told_apart() {
    let text = example("fallow-18");
    let lines = "link W90 from B1 to J1.tip\nresistor R91 1k from B1 to J2.tip\n";
    let mut parts: Vec<String> = joined(&[("stock.amp", &format!("{text}\n{lines}"))])
        .into_iter()
        .flat_map(|(_, parts)| parts)
        .collect();
    parts.sort();
    assert_eq!(parts, ["R91", "W90"]);
}

/// A part that is not made to lie between the mains and hands is told whatever it passes while it is sound; so is a
/// capacitor of class Y to anything but the chassis.
#[test]
fn whatever_its_value() {
    let text = example("fallow-18");
    for (line, part) in [
        ("resistor R90 470k 0.5W from P1.live to J1.tip", "R90"),
        ("resistor R90 10M from P1.live to chassis", "R90"),
        ("capacitor C90 100p 500V ceramic from P1.neutral to chassis", "C90"),
        ("capacitor C90 2n2 275V class-Y2 from P1.live to J1.tip", "C90"),
        ("varistor MV9 from P1.live to chassis", "MV9"),
    ] {
        let found = joined(&[("stock.amp", &format!("{text}\n{line}\n"))]);
        assert!(found.contains(&(Route::Mains, vec![part.to_owned()])), "{line}: {found:?}");
    }
    // Insulation that leaks 50 Mohm is no part, and passes next to nothing.
    let leak = "as-found \"job\" of \"stock.amp\"\nT1.primary.a leaks 10uA at 500V to chassis\n";
    assert_eq!(joined(&[("stock.amp", &text), ("job.amp", leak)]), []);
}

/// What a capacitor gives off by hand: high tension 411 V cold (265 V rms, 10 % over nominal, peak), ½CV²: 8.4 J of 100 µF
/// through a hand while it comes up; 84 mJ of 1 µF, which are none of the 350 mJ that harm, but more than may wait
/// where nothing drains the jack's side; 8.4 mJ of 100 nF may.
#[test]
fn charge_is_judged_by_its_energy() {
    let text = example("fallow-18");
    let send = "jack J9 \"Send\" sleeve chassis\n";
    for (lines, told) in [
        ("capacitor C90 100u 500V electrolytic plus B1 minus J1.tip".to_owned(), Some(8.4)),
        ("capacitor C90 1u 630V film from B1 to J1.tip".to_owned(), None),
        (format!("{send}capacitor C90 1u 630V film from B1 to J9.tip"), Some(84e-3)),
        (format!("{send}capacitor C90 100n 630V film from B1 to J9.tip"), None),
        (
            format!(
                "{send}capacitor C90 2u 630V film from B1 to C91.1\ncapacitor C91 2u 630V film to J9.tip"
            ),
            Some(84e-3),
        ),
    ] {
        let circuit = support::built(&[("stock.amp", &format!("{text}\n{lines}\n"))]).pop().unwrap();
        let found = hazards(&circuit, &SolvedSet::default()).hazards;
        let charges: Vec<f64> = found.iter().filter(|h| h.route == Route::Charge).map(|h| h.joules).collect();
        match told {
            Some(joules) => assert!(
                !charges.is_empty() && charges.iter().all(|c| (c / joules - 1.0).abs() < 0.05),
                "{lines}: {charges:?}"
            ),
            None => assert!(charges.is_empty(), "{lines}: {charges:?}"),
        }
    }
}

/// What was pulled is plugged in again by someone: what it feeds is judged with it in.
#[test]
fn what_was_pulled_hides_nothing() {
    let text = example("fallow-18");
    for (pulled, join, route, part) in [
        ("V5", "bridged B1 to J2.tip with wire W90", Route::Cold, "W90"),
        ("T1", "bridged B1 to J2.tip with wire W90", Route::Cold, "W90"),
        ("F1", "bridged F1.2 to chassis with wire W90", Route::Mains, "W90"),
    ] {
        let layer = format!("as-found \"job\" of \"stock.amp\"\n{pulled} missing\n{join}\n");
        let found = joined(&[("stock.amp", &text), ("job.amp", &layer)]);
        assert!(found.contains(&(route, vec![part.to_owned()])), "{pulled} {join}: {found:?}");
    }
}
