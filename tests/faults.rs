//! What is stated as shorted or leaking acts in the circuit, for every kind of part, or is refused with a cure.

use asfound::change::{ChangeKind, Side, compare};
use asfound::circuit::Circuit;
use asfound::model::Kind;
use asfound::recognise::recognise;
use asfound::solve::lower::lower;
use asfound::solve::{PowerOff, Setup, at_rest};

use crate::support::{built, problems};

/// One part of each kind, apart from each other but for the supply.
const BENCH: &str = r#"stock "Larch bench" "one of each"
rail B1 "supply"
rail RAW "rectified"
net MID
source E1 300V behind 1k plus B1 minus chassis steady
resistor R1 100k 1W from B1 to MID
resistor R2 100k 1W from MID to chassis
capacitor C1 22n 630V film from B1 to MID
inductor L2 500mH 45R from R3.2 to chassis
resistor R3 10k 1W from MID
choke L1 10H 105R current 120mA from B1 to R4.1
resistor R4 220k 2W from L1.2 to chassis
pot VR1 1M lin top B1 wiper R5.1 bottom chassis at 50%
resistor R5 1M 1W from VR1.wiper to chassis
trimmer VR9 22k lin top R6.2 wiper R7.1 bottom chassis at 40%
resistor R6 220k 1W from B1 to VR9.top
resistor R7 1M 1W from VR9.wiper to chassis
tube V1 ECC83
V1b unused grid V1b.cathode cathode chassis
resistor R10 1M 1W from V1a.grid to chassis
resistor R11 1k5 1W from V1a.cathode to chassis
resistor R12 100k 1W from B1 to V1a.plate
tube V2 EZ81 plates R13.1 R14.1 cathode RAW
resistor R13 100k 1W from V2a.plate to B1
resistor R14 100k 1W from V2b.plate to chassis
resistor R15 100k 1W from RAW to chassis
diode D1 1N4007 anode R16.1 cathode B1
resistor R16 100k 1W from D1.anode to chassis
zener D5 12V 1W anode chassis cathode R17.1
resistor R17 100k 1W from D5.cathode to B1
bridge BR1 800V 2A ac R18.1 R19.1 plus R18.2 minus chassis
resistor R18 1M 1W from BR1.ac1 to BR1.plus
resistor R19 1M 1W from BR1.ac2 to chassis
led D7 20mA anode R20.2 cathode chassis
resistor R20 100k 1W from B1 to D7.anode
transformer T1 mains
winding T1.primary 230V 9R
winding T1.ht 250V-0-250V 60R a side
winding T1.heat 6.3V 0R05
heater T1.heat feeds V1 reference a to chassis
output-transformer T2 primary 6k6 90R a side 30H taps 8R plates R21.1 R22.1 supply B1 common chassis 8R LS1.1
resistor R21 1M 1W from T2.plate-a to chassis
resistor R22 1M 1W from T2.plate-b to chassis
speaker LS1 8R from T2.8R to chassis
transformer T3 reverb primary 22k 1k1 taps 8R plate R23.1 supply B1 common chassis
resistor R23 1M 1W from T3.plate-a to chassis
switch S1 positions off on now off
contact S1 on joins B1 to R24.1
resistor R24 100k 1W from S1.1 to chassis
relay K1 positions clean drive now clean
contact K1 drive joins B1 to R25.1
resistor R25 100k 1W to chassis
jack J1 "In" sleeve chassis
resistor R26 1M 0.5W from J1.tip to chassis
fuse F1 1A slow from B1 to R27.1
resistor R27 100k 1W to chassis
lamp LP1 6.3V 150mA from R28.2 to chassis
resistor R28 100k 1W from B1 to LP1.1
link W1 from B1 to R29.1
resistor R29 100k 1W to chassis
inlet P1
thermistor TH1 10R 5A from B1 to R30.1
resistor R30 100k 1W to chassis
varistor RV1 275V from B1 to MID
fitting SH1 on V1 "valve shield"
can CC1 450V common chassis
"#;

/// What each verb makes of a kind: the two places between which it acts, or what the refusal must say.
enum Cell {
    Acts(&'static str, &'static str, &'static str),
    Refused(&'static str, &'static str),
}
use Cell::{Acts, Refused};

/// The part as a whole, and two of its legs (or a leg and chassis), for a short; a leak is written likewise.
fn cells(kind: Kind) -> [Cell; 2] {
    match kind {
        Kind::Resistor => [Acts("R1", "B1", "MID"), Acts("R1.1 to chassis", "B1", "chassis")],
        Kind::Capacitor => [Acts("C1", "B1", "MID"), Acts("C1.1 to C1.2", "B1", "MID")],
        Kind::Inductor => [Acts("L2", "L2.1", "chassis"), Acts("L2.1 to L2.2", "L2.1", "chassis")],
        Kind::Choke => [Acts("L1", "B1", "L1.2"), Acts("L1.2 to chassis", "L1.2", "chassis")],
        Kind::Pot => [
            Refused("VR1", "VR1.top shorted to VR1.bottom"),
            Acts("VR1.wiper to VR1.bottom", "VR1.wiper", "chassis"),
        ],
        Kind::Trimmer => [
            Refused("VR9", "VR9.top shorted to VR9.bottom"),
            Acts("VR9.top to VR9.wiper", "VR9.top", "VR9.wiper"),
        ],
        Kind::Tube => {
            [Acts("V2a", "V2a.plate", "RAW"), Acts("V1a.grid to V1a.cathode", "V1a.grid", "V1a.cathode")]
        }
        Kind::Diode => [Acts("D1", "D1.anode", "B1"), Acts("D1.anode to D1.cathode", "D1.anode", "B1")],
        Kind::Zener => {
            [Acts("D5", "D5.cathode", "chassis"), Acts("D5.anode to D5.cathode", "D5.cathode", "chassis")]
        }
        Kind::Bridge => [
            Refused("BR1", "BR1.ac1 shorted to BR1.minus"),
            Acts("BR1.ac1 to BR1.plus", "BR1.ac1", "BR1.plus"),
        ],
        Kind::Led => {
            [Acts("D7", "D7.anode", "chassis"), Acts("D7.anode to D7.cathode", "D7.anode", "chassis")]
        }
        Kind::MainsTransformer => {
            [Refused("T1", "T1.heat shorted"), Acts("T1.primary.a to T1.ht.a", "T1.primary.a", "T1.ht.a")]
        }
        Kind::OutputTransformer => {
            [Refused("T2", "T2.primary shorted"), Acts("T2.plate-a to T2.8R", "T2.plate-a", "T2.8R")]
        }
        Kind::ReverbTransformer => {
            [Refused("T3", "T3.primary shorted"), Acts("T3.plate-a to chassis", "T3.plate-a", "chassis")]
        }
        Kind::Switch => [Acts("S1", "B1", "R24.1"), Acts("S1.1 to chassis", "S1.1", "chassis")],
        Kind::Relay => [Acts("K1", "B1", "R25.1"), Acts("K1.1 to K1.2", "B1", "R25.1")],
        Kind::Jack => [Acts("J1", "J1.tip", "chassis"), Acts("J1.tip to J1.sleeve", "J1.tip", "chassis")],
        Kind::Fuse => [Acts("F1", "B1", "F1.2"), Acts("F1.1 to chassis", "B1", "chassis")],
        Kind::Lamp => [Acts("LP1", "LP1.1", "chassis"), Acts("LP1.1 to LP1.2", "LP1.1", "chassis")],
        Kind::Link => {
            [Refused("W1", "conducts from leg to leg as it is"), Acts("W1.1 to chassis", "B1", "chassis")]
        }
        Kind::Inlet => {
            [Refused("P1", "P1.live shorted to P1.earth"), Acts("P1.live to P1.earth", "P1.live", "P1.earth")]
        }
        Kind::Speaker => [Acts("LS1", "LS1.1", "chassis"), Acts("LS1.1 to LS1.2", "LS1.1", "chassis")],
        Kind::Thermistor => [Acts("TH1", "B1", "TH1.2"), Acts("TH1.1 to chassis", "B1", "chassis")],
        Kind::Varistor => [Acts("RV1", "B1", "MID"), Acts("RV1.1 to RV1.2", "B1", "MID")],
        Kind::Source => [Acts("E1", "B1", "chassis"), Acts("E1.plus to chassis", "B1", "chassis")],
        Kind::Fitting => [Refused("SH1", "no electrical legs"), Refused("SH1 to chassis", "SH1 has no legs")],
        Kind::Can => {
            [Refused("CC1", "CC1.common"), Refused("CC1.common to CC1.common", "nothing lies between")]
        }
    }
}

fn found(line: &str) -> Circuit {
    let job = format!("as-found \"job\" of \"stock.amp\"\n{line}\n");
    let documents = [("stock.amp", BENCH), ("job.amp", job.as_str())];
    let told = problems(&documents);
    assert!(!told.contains(" error "), "{line}: {told}");
    built(&documents).remove(1)
}

fn refused(line: &str, cure: &str) {
    let job = format!("as-found \"job\" of \"stock.amp\"\n{line}\n");
    let told = problems(&[("stock.amp", BENCH), ("job.amp", &job)]);
    assert!(told.contains(" error ") && told.contains(cure) && told.contains("help: "), "{line}: {told}");
}

/// What a meter reads between two places with the power off.
fn ohms(circuit: &Circuit, a: &str, b: &str) -> Option<f64> {
    let lowered = lower(circuit, &Setup::idle());
    let node = |place: &str| {
        let net = circuit.find_net(place).or_else(|| {
            let (part, leg) = place.split_once('.')?;
            let of = |part, leg: &str| {
                circuit.part(part).leg_index(leg).and_then(|i| circuit.part(part).legs[i].net)
            };
            circuit.find(part).and_then(|part| of(part, leg)).or_else(|| {
                let (tube, letter) = part.split_at(part.len() - 1);
                of(circuit.find(tube)?, &format!("{letter}.{leg}"))
            })
        });
        lowered.node_of[net.unwrap_or_else(|| panic!("no place {place}")).0 as usize]
            .unwrap_or_else(|| panic!("{place} is in no net"))
    };
    PowerOff::of(&lowered.network, |_| false).ohms(node(a), node(b))
}

#[test]
fn a_short_or_a_leak_of_every_kind_acts_or_is_refused() {
    for kind in Kind::ALL {
        for (at, cell) in cells(kind).into_iter().enumerate() {
            let short = |what: &str| match what.split_once(" to ") {
                Some((from, to)) => format!("{from} shorted to {to}"),
                None => format!("{what} shorted"),
            };
            let leak = |what: &str| match what.split_once(" to ") {
                Some((from, to)) => format!("{from} leaks 1mA at 10V to {to}"),
                None => format!("{what} leaks 1mA at 10V"),
            };
            match cell {
                Acts(what, a, b) => {
                    let got = ohms(&found(&short(what)), a, b);
                    assert_eq!(got, Some(0.0), "{} {at}: {}", kind.word(), short(what));
                    if kind == Kind::Fuse && at == 0 {
                        refused(&leak(what), "conducts from leg to leg as it is");
                        continue;
                    }
                    // 10 kΩ beside what is there.
                    let sound = ohms(&found("R1 checked"), a, b).map_or(0.0, |ohms| 1.0 / ohms);
                    let want = 1.0 / (sound + 1e-4);
                    let got = ohms(&found(&leak(what)), a, b).unwrap_or(f64::INFINITY);
                    assert!((got - want).abs() <= 1e-6 * want, "{} {at}: {got} {want}", kind.word());
                }
                Refused(what, cure) => {
                    refused(&short(what), cure);
                    let leak = leak(what);
                    refused(&leak, if what.contains(" to ") { cure } else { what });
                }
            }
        }
    }
}

/// A winding by its name; a leak of one says where to; a rectifier with two plates says which; a fault has two ends.
#[test]
fn sections_and_windings_are_named() {
    for (line, a, b) in [
        ("T1.ht shorted", "T1.ht.a", "T1.ht.b"),
        ("T2.primary shorted", "T2.plate-a", "T2.plate-b"),
        ("T2.secondary shorted", "T2.8R", "chassis"),
        ("T1.primary shorted to T1.ht", "T1.primary.a", "T1.ht.a"),
        ("V1a.cathode shorted to V1.heater", "V1a.cathode", "chassis"),
    ] {
        assert_eq!(ohms(&found(line), a, b), Some(0.0), "{line}");
    }
    for (line, cure) in [
        ("T1.ht leaks 1mA at 500V", "T1.ht leaks 1mA at 500V to chassis"),
        ("V2 shorted", "V2a.plate shorted to V2.cathode"),
        ("V1 shorted", "V1a.plate"),
        ("V1a shorted", "its legs are"),
        ("V1a.grid shorted", "write `V1a.grid shorted to LEG`"),
        ("V1a.grid shorted to B1", "bridged V1a.grid to PLACE"),
        ("V1a.grid shorted to R10.2", "bridged V1a.grid to PLACE"),
        ("V1a.grid shorted to V1a.grid", "nothing lies between"),
        ("V2a.plate leaks 1mA at 10V to V2.heater", "bridged V2a.plate to PLACE through 5M"),
        ("R99 shorted", "there is no part `R99`"),
    ] {
        refused(line, cure);
    }
}

/// A cut takes a leg of any kind of part out of its net.
#[test]
fn a_cut_acts_on_a_leg_of_every_kind() {
    for leg in [
        "R1.1",
        "C1.1",
        "L1.1",
        "VR1.top",
        "T2.supply",
        "F1.1",
        "TH1.1",
        "RV1.1",
        "D1.cathode",
        "W1.1",
        "E1.plus",
    ] {
        let circuit = found(&format!("cut B1 leaving {leg} on B1x"));
        let (part, name) = leg.split_once('.').expect("a leg");
        let part = circuit.part(circuit.find(part).expect("declared"));
        let net = part.legs[part.leg_index(name).expect("its leg")].net.expect("joined");
        assert_eq!(circuit.net(net).name, "B1x", "{leg}");
    }
}

/// 300 V behind 1 kΩ: by hand.
#[test]
fn a_stated_fault_moves_the_figures() {
    let volts = |line: &str, net: &str| {
        let circuit = found(line);
        let solved = at_rest(&circuit, &Setup::idle()).expect("a bench solves");
        solved.net_volts(circuit.find_net(net).expect("a net")).expect("defined")
    };
    // A grid at its cathode passes more: the plate falls.
    assert!(volts("V1a.grid shorted to V1a.cathode", "V1a.plate") < volts("R1 checked", "V1a.plate") - 20.0);
    // 2 µA at 250 V is 125 MΩ, which lifts a grid behind 1 MΩ by some 1.5 V less the grid's own current.
    assert!(volts("V1a.grid leaks 2uA at 250V to V1a.plate", "V1a.grid") > 0.1);
    // The rectifier's plate stands at its cathode's volts.
    let line = "V2b shorted";
    assert!((volts(line, "V2b.plate") - volts(line, "RAW")).abs() < 1e-6);
    assert!(volts("VR1.top shorted to chassis", "B1").abs() < 1e-6);
}

#[test]
fn faults_inside_are_changes_of_their_own_and_restore_undoes_them() {
    let lines = "V1a.grid shorted to V1a.cathode \"flashed\"\nT1.ht leaks 1mA at 500V to chassis\n";
    let job = format!("as-found \"job\" of \"stock.amp\"\n{lines}");
    let plan = "plan \"p\" for \"job.amp\"\nrestore V1 T1\n";
    let circuits = built(&[("stock.amp", BENCH), ("job.amp", &job), ("plan.amp", plan)]);
    let recognised: Vec<_> = circuits.iter().map(recognise).collect();
    let side = |at: usize| Side { circuit: &circuits[at], recognised: &recognised[at] };
    let comparison = compare(side(0), side(1));
    let told: Vec<(ChangeKind, &str, &str)> =
        comparison.changes.iter().map(|c| (c.kind, c.subject.as_str(), c.after.as_str())).collect();
    assert_eq!(
        told,
        [
            (ChangeKind::Shorted, "V1", "V1a.grid to V1a.cathode conducts"),
            (ChangeKind::Leaky, "T1", "T1.ht.a to chassis leaks 1 mA at 500 V"),
        ]
    );
    assert_eq!(comparison.changes[0].note.as_deref(), Some("flashed"));
    let rebuilt = comparison.rebuilt(&circuits[0], &circuits[1]);
    assert_eq!(ohms(&rebuilt, "V1a.grid", "V1a.cathode"), Some(0.0));
    assert!(compare(side(0), side(2)).changes.is_empty());
    assert_eq!(compare(side(1), side(2)).changes.len(), 2);
}

/// A short from one end of a control to its wiper and the place of its shaft both act, in either order: 300 V behind
/// 10 k on 30 k of track that are left is 225 V; the short alone leaves 60 k, the shaft alone changes nothing.
#[test]
fn a_shorted_half_and_a_set_shaft_both_act() {
    let stock = "stock \"Stint 2\"\nrail B1\nsource HT 300V behind 10k plus B1 minus chassis\n\
                 pot VR1 100k lin top B1 wiper W bottom chassis at 60%\nnet W\nresistor R1 100M from W to chassis\n";
    let (short, set) = ("VR1.top shorted to VR1.wiper\n", "set VR1 30%\n");
    for (lines, volts) in [
        (format!("{short}{set}"), 225.0),
        (format!("{set}{short}"), 225.0),
        (short.to_owned(), 257.14),
        (set.to_owned(), 272.73),
    ] {
        let record = format!("as-found \"job 4\" of \"stock.amp\"\n{lines}");
        let circuit = built(&[("stock.amp", stock), ("found.amp", &record)]).pop().unwrap();
        let solved = at_rest(&circuit, &Setup::idle()).unwrap();
        let got = solved.net_volts(circuit.find_net("B1").unwrap()).unwrap();
        // 100 Mohm at the wiper take a thousandth of what flows.
        assert!((got - volts).abs() < 0.1, "{lines}: {got} V instead of {volts} V");
    }
}
