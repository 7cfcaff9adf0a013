//! Stored charge after switch-off: reference cases, closed forms, and circuits without a way out.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

use asfound::circuit::Circuit;
use asfound::numeric::outcome::Outcome;
use asfound::numeric::time::discharge::{Fall, Valves, Watch, natural_response};
use asfound::numeric::{GridModel, Law, Network, TriodeModel};
use asfound::solve::Setup;
use asfound::solve::decay::{Charge, Stored, stored_charge};
use serde_json::Value;

use crate::reference_cases::read;
use crate::support;

const COLD: Valves = Valves::Cold;

/// Times and volts of every discharge case (`cases/MODEL.md`, 4.2), within 0.01 %; 1 % is asked (`reference/README.md`).
#[test]
fn discharges() {
    let file = read::text("time_domain");
    let cases = file["cases"].as_array().unwrap().iter().filter(|case| case["type"] == "discharge");
    let mut checked = 0;
    for text in cases {
        let case = read::case(text, &Value::Array(Vec::new()));
        let mut start = vec![0.0; case.network.elements.len()];
        for element in text["elements"].as_array().unwrap() {
            let at = case.elements[element["id"].as_str().unwrap()];
            let value = element["initial_volts"].as_f64().or(element["initial_amps"].as_f64());
            start[at] = value.unwrap_or(0.0);
        }
        let expected = &text["expected"];
        let numbers =
            |value: &Value| value.as_array().unwrap().iter().map(read::number).collect::<Vec<f64>>();
        let instants = numbers(&expected["trajectory"]["seconds"]);
        let threshold = read::number(&text["analysis"]["threshold_volts"]);
        let watch = Watch { threshold, instants };
        let found = natural_response(&case.network, &start, COLD, &watch).unwrap();
        let store = |id: &str| found.stores.iter().position(|at| *at == case.elements[id]).unwrap();
        for (id, want) in expected["seconds_until_below_threshold"].as_object().unwrap() {
            let got = found.falls[store(id)].seconds().unwrap();
            let off = (got / read::number(want) - 1.0).abs();
            assert!(off < 1e-4, "{id} {got} s instead of {want}");
            checked += 1;
        }
        for (id, want) in expected["trajectory"]["capacitor_volts"].as_object().unwrap() {
            for (sample, want) in found.samples.iter().zip(numbers(want)) {
                let got = sample[store(id)];
                assert!((got - want).abs() < 1e-4 * want.abs() + 1e-4, "{id} {got} V instead of {want}");
                checked += 1;
            }
        }
    }
    assert!(checked > 80, "{checked}");
}

fn alone(farads: f64, ohms: f64, volts: f64) -> f64 {
    let mut network = Network::new();
    let plus = network.add_node("plus");
    network.add("C", Law::Capacitor { a: plus, b: 0, farads });
    network.add("R", Law::Resistor { a: plus, b: 0, ohms });
    let watch = Watch { threshold: 60.0, instants: Vec::new() };
    natural_response(&network, &[volts, 0.0], COLD, &watch).unwrap().falls[0].seconds().unwrap()
}

/// t = R·C·ln(V0/60): 450 V on 100 µF with 220 kΩ takes 44.33 s (trade practice, from memory; the arithmetic is exact).
#[test]
fn one_capacitor_and_its_bleeder() {
    assert!((alone(100e-6, 220e3, 450.0) - 44.33).abs() < 0.005);
    for (farads, ohms, volts) in [(1e-9, 1e3, 61.0), (470e-6, 1e6, 500.0), (22e-6, 47.0, 5000.0)] {
        let want = farads * ohms * libm::log(volts / 60.0);
        let got = alone(farads, ohms, volts);
        assert!((got / want - 1.0).abs() < 1e-5, "{got} instead of {want}");
    }
}

/// Long ones come to an end as well: 470 µ on 1 G is down to 60 V after R·C·ln(400/60) = 10.3 days and so past the ten that
/// are followed, 400 µ after 8.8.
#[test]
fn a_discharge_of_days() {
    let want = 400e-6 * 1e9 * libm::log(400.0 / 60.0);
    near("400 µ", alone(400e-6, 1e9, 400.0), want, 1e-5);
    let mut network = Network::new();
    let plus = network.add_node("plus");
    network.add("C", Law::Capacitor { a: plus, b: 0, farads: 470e-6 });
    network.add("R", Law::Resistor { a: plus, b: 0, ohms: 1e9 });
    let watch = Watch { threshold: 60.0, instants: Vec::new() };
    let found = natural_response(&network, &[400.0, 0.0], COLD, &watch).unwrap();
    assert_eq!(found.falls, [Fall::Never]);
}

/// A coil without loss between two capacitors rings for good, 2π·√(10m·5µ) = 1.4 ms a period: ten days of it are more steps
/// than are taken, and it is said that there is no answer.
#[test]
fn a_discharge_that_rings_for_good_is_given_up() {
    let mut network = Network::new();
    let [a, b] = ["a", "b"].map(|name| network.add_node(name));
    network.add("C1", Law::Capacitor { a, b: 0, farads: 10e-6 });
    network.add("C2", Law::Capacitor { a: b, b: 0, farads: 10e-6 });
    network.add("L", Law::Inductor { a, b, henries: 10e-3, ohms: 0.0 });
    let watch = Watch { threshold: 60.0, instants: Vec::new() };
    let began = std::time::Instant::now();
    let end = natural_response(&network, &[400.0, 0.0, 0.0], COLD, &watch).unwrap_err();
    assert_eq!(end.outcome, Outcome::OutOfSteps);
    assert_eq!(end.to_string(), "the solution did not settle in the allowed steps");
    assert!(began.elapsed().as_secs() < 5, "{:?}", began.elapsed());
}

/// Two capacitors that share their charge through a resistor stay where charge is conserved: nothing discharges them.
#[test]
fn charge_without_a_way_out_stays() {
    let mut network = Network::new();
    let [a, b] = ["a", "b"].map(|name| network.add_node(name));
    network.add("C1", Law::Capacitor { a, b: 0, farads: 100e-6 });
    network.add("C2", Law::Capacitor { a: b, b: 0, farads: 50e-6 });
    network.add("R", Law::Resistor { a, b, ohms: 10e3 });
    let watch = Watch { threshold: 60.0, instants: vec![3.0, 1000.0] };
    let found = natural_response(&network, &[300.0, 0.0, 0.0], COLD, &watch).unwrap();
    assert_eq!(found.falls, [Fall::Never, Fall::Never]);
    for volts in &found.samples[1] {
        assert!((volts - 200.0).abs() < 1e-4, "{volts}");
    }
    // Too little charge to be dangerous where it has spread: one comes down, the other never was up.
    let found = natural_response(&network, &[80.0, 0.0, 0.0], COLD, &Watch { instants: Vec::new(), ..watch });
    // 160/3 + (80/3)·exp(−t/τ) = 60 with τ = 10k·(100µ in series with 50µ).
    let want = -1.0 / 3.0 * libm::log(0.25);
    let falls = found.unwrap().falls;
    assert!((falls[0].seconds().unwrap() / want - 1.0).abs() < 1e-4, "{falls:?}");
    assert_eq!(falls[1], Fall::Below);
}

/// A choke between two capacitors: the oscillation is followed, and the energy left is what the resistance has not taken.
/// By hand, underdamped: i = −V0/(L·w)·e^(−at)·sin(wt), a = R/2L, w² = 1/LC' − a², C' the two in series.
#[test]
fn choke_rings() {
    let (henries, ohms, farads): (f64, f64, f64) = (5.0, 50.0, 10e-6);
    let mut network = Network::new();
    let [a, b] = ["a", "b"].map(|name| network.add_node(name));
    network.add("C1", Law::Capacitor { a, b: 0, farads });
    network.add("C2", Law::Capacitor { a: b, b: 0, farads });
    network.add("L", Law::Inductor { a, b, henries, ohms });
    let instants: Vec<f64> = (1..200).map(|at| f64::from(at) * 1e-3).collect();
    let watch = Watch { threshold: 60.0, instants: instants.clone() };
    let found = natural_response(&network, &[400.0, 0.0, 0.0], COLD, &watch).unwrap();
    let damping = ohms / (2.0 * henries);
    let rate = (2.0 / (henries * farads) - damping * damping).sqrt();
    for (at, sample) in instants.iter().zip(&found.samples) {
        let want = 400.0 / (henries * rate) * libm::exp(-damping * at) * libm::sin(rate * at);
        assert!((sample[2] - want).abs() < 2e-4, "{} instead of {want} at {at}", sample[2]);
    }
}

/// A hot triode, its grid at its cathode, discharges what a cold one leaves. Against plain Euler steps of C·dV/dt = −Ip(V).
#[test]
fn hot_valves_discharge() {
    // Koren 1996, read in a listing: 12AX7.
    let grid = GridModel { gg: 0.0, cg: 10.0, xi: 1.3 };
    let model = TriodeModel { mu: 100.0, ex: 1.4, kg1: 1060.0, kp: 600.0, kvb: 300.0, grid };
    let mut network = Network::new();
    let plate = network.add_node("plate");
    network.add("C", Law::Capacitor { a: plate, b: 0, farads: 10e-6 });
    network.add("V", Law::Triode { plate, grid: 0, cathode: 0, model });
    let watch = Watch { threshold: 60.0, instants: Vec::new() };
    let fall = |valves| natural_response(&network, &[300.0, 0.0], valves, &watch).unwrap().falls[0];
    assert_eq!(fall(COLD), Fall::Never);
    let (mut volts, mut seconds, step) = (300.0, 0.0, 2e-7);
    while volts > 60.0 {
        volts -= step * model.at(volts, 0.0).plate_amps / 10e-6;
        seconds += step;
    }
    let got = fall(Valves::Hot).seconds().unwrap();
    assert!((got / seconds - 1.0).abs() < 1e-4, "{got} instead of {seconds}");
}

fn charge(circuit: &Circuit, setup: &Setup, valves: Valves) -> Charge {
    let charge = stored_charge(circuit, setup, None, valves).unwrap();
    assert_eq!(charge.unjudged, None);
    charge
}

fn of<'a>(charge: &'a Charge, circuit: &Circuit, name: &str) -> &'a Stored {
    charge.stored.iter().find(|s| s.part == circuit.find(name).unwrap()).unwrap()
}

fn near(what: &str, got: f64, want: f64, share: f64) {
    assert!((got / want - 1.0).abs() < share, "{what}: {got} instead of {want}");
}

/// The reservoir's bleeder before the standby, the plates' behind it.
const BLEEDERS: &str = r#"stock "Bleeders"
source HT 400V behind 100R plus RAW minus chassis
net RAW "raw"
net B1 "plates"
capacitor C1 47u 500V electrolytic plus RAW minus chassis
resistor R1 220k 1W from RAW to chassis
switch S1 positions standby play now play
contact S1 play joins RAW to B1
capacitor C2 22u 500V electrolytic plus B1 minus chassis
resistor R2 10k 1W from B1 to C3.plus
capacitor C3 22u 500V electrolytic minus chassis
"#;

/// Every figure by hand: V = 400·220k/220k1, ½·C·V², R·C·ln(V/60).
#[test]
fn behind_an_open_standby_nothing_discharges() {
    let circuit = support::stock(BLEEDERS);
    let found = charge(&circuit, &Setup::idle(), COLD);
    let raw = 400.0 * 220e3 / 220.1e3;
    assert!((of(&found, &circuit, "C1").volts - raw).abs() < 1e-6);
    assert!((of(&found, &circuit, "C2").joules - 0.5 * 22e-6 * raw * raw).abs() < 1e-9);
    for name in ["C2", "C3"] {
        let stored = of(&found, &circuit, name);
        assert_eq!((stored.fall, stored.state.as_str()), (Fall::Never, "left with S1 at standby"), "{name}");
    }
    // All three on 220k where the standby stays closed, which is longer than the 47 µ alone.
    let first = of(&found, &circuit, "C1");
    near("C1", first.fall.seconds().unwrap(), 220e3 * 91e-6 * libm::log(raw / 60.0), 0.02);
    assert_eq!(first.state, "");
}

/// Switched off from standby: the reservoir alone holds anything, 47 µ at 400 V through 220 k. Closing the standby then
/// spreads it over 91 µ: 206.5 V at first, by hand 220k·91µ·ln(206.5/60), and no energy more.
#[test]
fn from_standby_the_reservoir_is_alone() {
    let circuit = support::stock(BLEEDERS);
    let mut standby = Setup::idle();
    standby.positions.insert(circuit.find("S1").unwrap(), "standby".to_owned());
    let found = charge(&circuit, &standby, COLD);
    let alone = of(&found, &circuit, "C1");
    let raw = 400.0 * 220e3 / 220.1e3;
    near("energy", alone.joules, 0.5 * 47e-6 * raw * raw, 1e-6);
    let [by_itself, spread] = [(47e-6, raw), (91e-6, raw * 47.0 / 91.0)]
        .map(|(farads, volts)| 220e3 * farads * libm::log(volts / 60.0));
    assert!(spread > by_itself, "{spread} {by_itself}");
    near("C1", alone.fall.seconds().unwrap(), spread, 0.02);
    assert_eq!(alone.state, "left with S1 at play");
    assert_eq!(of(&found, &circuit, "C2").volts, 0.0);
}

/// A bleeder behind the standby takes the 22 µ + 22 µ down when it is open: 470k·44µ·ln(V/60), longer than with it closed,
/// where 220k and 470k in parallel take all 91 µ.
#[test]
fn the_longest_of_the_positions_counts() {
    let circuit = support::stock(&format!("{BLEEDERS}resistor R3 470k 1W from B1 to chassis\n"));
    let found = charge(&circuit, &Setup::idle(), COLD);
    let both = 220e3 * 470e3 / 690e3;
    let raw = 400.0 * both / (both + 100.0);
    let [open, closed] = [470e3 * 44e-6, both * 91e-6].map(|seconds| seconds * libm::log(raw / 60.0));
    assert!(open > closed);
    for name in ["C2", "C3"] {
        let stored = of(&found, &circuit, name);
        near(name, stored.fall.seconds().unwrap(), open, 0.02);
        assert_eq!(stored.state, "left with S1 at standby");
    }
    let reservoir = of(&found, &circuit, "C1").fall.seconds().unwrap();
    // By itself it would be down in 220k·47µ·ln(V/60), which is sooner.
    assert!(220e3 * 47e-6 < both * 91e-6);
    near("C1", reservoir, closed, 0.02);
}

/// Standby open in the document: what is behind it is charged all the same when someone closes it, and is left so.
#[test]
fn charged_in_another_position_than_stated() {
    let circuit = support::stock(&BLEEDERS.replace("now play", "now standby"));
    let found = charge(&circuit, &Setup::idle(), COLD);
    let stored = of(&found, &circuit, "C2");
    assert_eq!((stored.fall, stored.state.as_str()), (Fall::Never, "charged with S1 at play"));
    near("energy", stored.joules, 0.5 * 22e-6 * 400.0 * 400.0, 2e-3);
}

/// Switches that join no high tension make no difference, and no state to tell.
#[test]
fn switches_elsewhere_are_not_thrown() {
    let more = "switch S2 positions low high now low\ncontact S2 low joins C9.plus to chassis\n\
                capacitor C9 22u 25V electrolytic minus chassis\nresistor R9 1k 1W from C9.plus to chassis\n";
    let circuit = support::stock(&format!("{BLEEDERS}{more}"));
    let found = charge(&circuit, &Setup::idle(), COLD);
    assert!(found.stored.iter().all(|s| !s.state.contains("S2")), "{found:?}");
}

/// The upper bleeder of a stack gone: by the prediction the lower capacitor stands at 400 V with the upper one empty; the
/// middle reads 236 V, and the upper one holds the rest: ½·100µ·(V − 236)², down to 60 V through its own 100 k with what
/// the lower one gives.
#[test]
fn a_reading_shows_what_the_prediction_leaves_out() {
    let stock = r#"stock "Stack"
source HT 400V behind 10R plus RAW minus chassis
rail RAW "raw"
net MID "middle"
capacitor C1 100u 350V electrolytic plus RAW minus MID
capacitor C2 100u 350V electrolytic plus MID minus chassis
resistor R1 100k 2W from RAW to MID
resistor R2 100k 2W from MID to chassis
"#;
    let layer = "as-found \"job\" of \"stock.amp\"\nR2 missing\nmeter MID 236V\n";
    let circuit = support::built(&[("stock.amp", stock), ("job.amp", layer)]).remove(1);
    let found = charge(&circuit, &Setup::idle(), COLD);
    let upper = of(&found, &circuit, "C1");
    assert!(upper.by_readings);
    near("energy", upper.joules, 0.5 * 100e-6 * 164.0 * 164.0, 1e-6);
    // Nothing but R1 is there: C1 empties itself through it, C2 keeps its charge for good.
    near("C1", upper.fall.seconds().unwrap(), 100e3 * 100e-6 * libm::log(164.0 / 60.0), 1e-4);
    let lower = of(&found, &circuit, "C2");
    assert_eq!((lower.fall, lower.by_readings), (Fall::Never, false));
    // Read across itself it says the same.
    let layer = layer.replace("MID 236V", "C1 164V");
    let circuit = support::built(&[("stock.amp", stock), ("job.amp", &layer)]).remove(1);
    near("read across", of(&charge(&circuit, &Setup::idle(), COLD), &circuit, "C1").volts, 164.0, 1e-9);
}

/// A capacitor that leaks 2 mA at 400 V would be down in 200k·47µ·ln(V/60); what counts is the bleeder of 1M.
#[test]
fn a_leak_is_no_bleeder() {
    let stock = r#"stock "Leaky"
source HT 400V behind 100R plus B1 minus chassis
rail B1 "plates"
capacitor C1 47u 500V electrolytic plus B1 minus chassis
resistor R1 1M 1W from B1 to chassis
"#;
    let layer = "as-found \"job\" of \"stock.amp\"\nC1 leaks 2mA at 400V\n";
    let circuit = support::built(&[("stock.amp", stock), ("job.amp", layer)]).remove(1);
    let found = charge(&circuit, &Setup::idle(), COLD);
    let stored = of(&found, &circuit, "C1");
    let by_hand = 1e6 * 200e3 / 1.2e6;
    let volts = 400.0 * by_hand / (by_hand + 100.0);
    near("volts", stored.volts, volts, 1e-6);
    near("time", stored.fall.seconds().unwrap(), 1e6 * 47e-6 * libm::log(volts / 60.0), 1e-4);
}

/// A stack whose sharing resistors are gone: nothing holds its middle, but both capacitors are charged all the same and
/// discharge into the bleeder behind, by hand as 50 µ through 100 k from 400 V: t = 100k·50µ·ln(400/120), when each is
/// down to 60 V.
#[test]
fn a_stack_without_its_resistors_is_charged() {
    let circuit = support::stock(
        r#"stock "Stack"
source HT 400V behind 10R plus RAW minus chassis
rail RAW "raw"
net MID "middle"
capacitor C1 100u 350V electrolytic plus RAW minus MID
capacitor C2 100u 350V electrolytic plus MID minus chassis
resistor R1 100k 2W from RAW to chassis
"#,
    );
    let found = charge(&circuit, &Setup::idle(), COLD);
    for name in ["C1", "C2"] {
        let stored = of(&found, &circuit, name);
        assert!((stored.volts - 200.0).abs() < 0.05, "{name}: {stored:?}");
        near(name, stored.fall.seconds().unwrap(), 100e3 * 50e-6 * libm::log(400.0 / 120.0), 2e-3);
    }
}

/// A whole amplifier: plates, screens and preamp drain through the reservoir's bleeder, R·ΣC·ln(V/60), the bias by its own
/// divider at once; hot valves are quicker.
#[test]
fn a_whole_amplifiers_charge() {
    let circuit = support::stock(crate::supply::RUSHMERE);
    let cold = charge(&circuit, &Setup::idle(), COLD);
    let hot = charge(&circuit, &Setup::idle(), Valves::Hot);
    let seconds = |found: &Charge, name: &str| of(found, &circuit, name).fall.seconds().unwrap();
    let first = of(&cold, &circuit, "C1");
    let want = 220e3 * (47e-6 + 47e-6 + 22e-6 + 22e-6) * libm::log(first.volts / 60.0);
    for name in ["C1", "C2", "C3", "C4"] {
        near(name, seconds(&cold, name), want, 0.05);
        assert!(seconds(&hot, name) < 0.5 * seconds(&cold, name));
    }
    assert!((first.joules - 0.5 * 47e-6 * first.volts * first.volts).abs() < 1e-9);
    assert!(seconds(&cold, "C6") < 5.0);
}

/// Hot valves on rails that are all but empty, where their laws have kinks: still followed to the end.
#[test]
fn hot_valves_on_dead_rails() {
    for (verb, part) in [("missing", "V4"), ("shorted", "R1"), ("shorted", "C10")] {
        let layer = format!("as-found \"job\" of \"stock.amp\"\n{part} {verb}\n");
        let circuit =
            support::built(&[("stock.amp", crate::supply::RUSHMERE), ("job.amp", &layer)]).remove(1);
        let found = charge(&circuit, &Setup::idle(), Valves::Hot);
        assert!(found.stored.iter().all(|s| s.fall.seconds().is_some()), "{part} {verb}: {found:?}");
    }
}

/// The series capacitor of a half-wave doubler goes with its rail once that has come down to it. By hand: 47 µF each, R from
/// the rail; both share their charge, V0 = (V1 + V2)/2 (volts of each at the start), then t = 2·C·R·ln(V0/60 V).
#[test]
fn a_doublers_capacitor_goes_through_its_diode() {
    let text = "stock \"Siskin 3\"\nmains 230V 50Hz\nrail B1 \"plates\"\ninlet P1 live F1.1 earth chassis\n\
        fuse F1 500mA slow\nlink W1 from F1.2 to T1.primary.a\nlink W2 from P1.neutral to T1.primary.b\n\
        transformer T1 mains\nwinding T1.primary 230V 20R\nwinding T1.ht 115V 20R b chassis\n\
        capacitor C11 47u 250V electrolytic plus D1.cathode minus T1.ht.a\ndiode D1 1000V 1A anode chassis\n\
        diode D2 1000V 1A anode D1.cathode cathode B1\n\
        capacitor C12 47u 450V electrolytic plus B1 minus chassis\nresistor R1 220k 2W from B1 to chassis\n";
    let circuit = support::stock(text);
    let found = charge(&circuit, &Setup::idle(), COLD);
    let (series, rail) = (of(&found, &circuit, "C11"), of(&found, &circuit, "C12"));
    let shared = f64::midpoint(series.volts, rail.volts);
    let seconds = 2.0 * 47e-6 * 220e3 * libm::log(shared / 60.0);
    near("C11", series.fall.seconds().unwrap(), seconds, 1e-3);
    near("C12", rail.fall.seconds().unwrap(), seconds, 1e-3);
    assert!((150.0..170.0).contains(&series.volts) && (300.0..330.0).contains(&rail.volts), "{found:?}");
}
