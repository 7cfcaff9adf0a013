//! Documents whose rails come from the mains: solved with what draws on them, in every condition.

#![allow(clippy::unwrap_used, reason = "a test that cannot solve its circuit has failed")]

use asfound::analysis::{Worked, audit, work_out};
use asfound::circuit::Circuit;
use asfound::model::Condition;
use asfound::rules::RuleSet;
use asfound::solve::{Setup, Solved, at_rest};

use crate::support;

/// A whole small amplifier on a GZ34, its bias from a tap of the plates' winding, its relay from a bridge.
/// Maker and values are invented.
pub(crate) const RUSHMERE: &str = r#"stock "Rushmere 30" "one channel, a pair of EL34, 1967"
mains 230V 50Hz limits 207V to 253V
insulation class-I
rail B1 "plates"
rail B2 "screens"
rail B3 "inverter"
rail B4 "preamp"
net BRAW "raw bias"
net BIAS "bias"
net LOW "relay supply"
inlet P1 250V 10A live F1.1 earth chassis
fuse F1 1.25A 250V slow "mains"
switch S1 250V 4A positions off on now on "Mains, both poles"
contact S1 on joins F1.2 to T1.primary.a
contact S1 on joins P1.neutral to T1.primary.b
transformer T1 mains 130W
winding T1.primary 230V 9R current 800mA
winding T1.ht 330V-0-330V 62R a side current 200mA centre chassis taps bias 52V from centre
winding T1.rect 5V 0R06 current 2A
winding T1.heat 3.15V-0-3.15V 0R03 a side current 5A centre chassis
winding T1.relay 9V 1R5 current 500mA
heater T1.rect feeds V4
heater T1.heat feeds V1 V2 V3 reference centre to chassis
link W1 "the rectifier's heater sits on its cathode" from T1.rect.a to B1
tube V4 GZ34 plates T1.ht.a T1.ht.b cathode B1
capacitor C1 47u 550V electrolytic plus B1 minus chassis
resistor R1 220k 2W 500V metal-oxide from B1 to chassis "bleeds"
choke L1 10H 105R 120mA from B1 to B2
capacitor C2 47u 550V electrolytic plus B2 minus chassis
resistor R2 10k 2W 500V metal-oxide from B2 to B3
capacitor C3 22u 550V electrolytic plus B3 minus chassis
resistor R3 10k 1W 500V metal-film from B3 to B4
capacitor C4 22u 550V electrolytic plus B4 minus chassis
resistor R4 220R 1W carbon-film from T1.ht.bias to R4B.1
resistor R4B 100R 1W carbon-film to D1.cathode
diode D1 1N4007 anode BRAW
capacitor C5 47u 100V electrolytic plus chassis minus BRAW
resistor R5 4k7 1W carbon-film from BRAW to BF
net BF "bias, filtered"
capacitor C6 47u 100V electrolytic plus chassis minus BF
resistor R6 3k3 0.5W carbon-film from BF to BIAS
resistor R7 27k 0.5W carbon-film from BIAS to chassis
bridge BR1 400V 1A ac T1.relay.a T1.relay.b plus LOW minus chassis
capacitor C7 1000u 25V electrolytic plus LOW minus chassis
resistor R8 220R 1W carbon-film from LOW to chassis "the relay's coil"
jack J1 "Input" sleeve chassis
tube V1 ECC83
resistor R10 1M 0.5W carbon-film from J1.tip to chassis
resistor R11 68k 0.5W carbon-film from J1.tip to V1a.grid
resistor R12 1k5 0.5W carbon-film from V1a.cathode to chassis
capacitor C10 25u 25V electrolytic plus V1a.cathode minus chassis
resistor R13 100k 0.5W 350V carbon-film from B4 to V1a.plate
capacitor C11 22n 630V film from V1a.plate to VR1.top
pot VR1 1M log 0.25W bottom chassis at 50% "Volume"
resistor R14 10k 0.5W carbon-film from VR1.wiper to V1b.grid
resistor R15 1k 0.5W carbon-film from V1b.cathode to R16.1
resistor R16 47k 1W 350V carbon-film to chassis
resistor R17 47k 1W 350V carbon-film from B3 to V1b.plate
capacitor C12 47n 630V film from V1b.plate to V2.grid
capacitor C13 47n 630V film from R15.2 to V3.grid
resistor R18 220k 0.5W carbon-film from BIAS to V2.grid
resistor R19 220k 0.5W carbon-film from BIAS to V3.grid
tube V2 EL34 cathode chassis suppressor chassis
tube V3 EL34 cathode chassis suppressor chassis
resistor R20 1k 3W wirewound from B2 to V2.screen
resistor R21 1k 3W wirewound from B2 to V3.screen
output-transformer T2 primary 3k4 60R a side 30H 35W taps 8R plates V2.plate V3.plate supply B1 common chassis
jack J2 "Speaker" tip T2.8R sleeve chassis
speaker LS1 8R 60W from J2.tip to chassis
drive J1 behind 10k
"#;

pub(crate) fn worked(circuit: Circuit) -> Worked {
    work_out(&[circuit], &Condition::ALL).unwrap_or_else(|problem| panic!("{problem:?}"))
}

pub(crate) fn volts(circuit: &Circuit, solved: &Solved, net: &str) -> f64 {
    solved.net_volts(circuit.find_net(net).unwrap()).unwrap_or(f64::NAN)
}

fn idle(worked: &Worked) -> &Solved {
    worked.solved.idle().unwrap()
}

fn near(what: &str, got: f64, want: f64, share: f64) {
    assert!((got - want).abs() <= share * want.abs(), "{what}: {got} instead of {want}");
}

fn example(name: &str) -> String {
    let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

fn without(text: &str, begins: &str) -> String {
    let kept: Vec<&str> = text.lines().filter(|line| !line.starts_with(begins)).collect();
    kept.join("\n") + "\n"
}

/// Figures that a pencil gives: the peak less what is lost, the bias tap's peak, ripple by the charge drawn between pulses.
#[test]
fn a_whole_amplifier_from_the_mains() {
    let worked = worked(support::stock(RUSHMERE));
    let (circuit, solved) = (&worked.circuit, idle(&worked));
    let at = |net: &str| volts(circuit, solved, net);
    assert!(at("B1") < 330.0 * std::f64::consts::SQRT_2 && at("B1") > 430.0, "{}", at("B1"));
    assert!(at("BRAW") > -52.0 * std::f64::consts::SQRT_2 && at("BRAW") < -60.0, "{}", at("BRAW"));
    assert!(at("LOW") > 9.0 && at("LOW") < 9.0 * std::f64::consts::SQRT_2 - 1.2);
    assert_eq!(solved.supplies.len(), 2, "the relay's, and that of plates and bias on one winding");
    let net = |name: &str| circuit.find_net(name).unwrap();
    let high = solved.supplies.iter().find(|supply| supply.net(net("B1")).is_some()).unwrap();
    let raw = high.net(net("B1")).unwrap();
    near("mean of B1", raw.volts.mean, at("B1"), 1e-6);
    let valve: f64 = high.rectifier(circuit.find("V4").unwrap()).map(|plate| plate.amps.mean).sum();
    let drawn =
        solved.leg_amps(asfound::circuit::LegId { part: circuit.find("V4").unwrap(), leg: 2 }).unwrap();
    near("what the rectifier gives", -drawn, valve, 1e-5);
    // Between pulses the reservoir alone feeds the draw: I·(T/2 − conduction)/C.
    let conducts = high.rectifiers.iter().find(|r| r.part == circuit.find("V4").unwrap()).unwrap();
    near("ripple", raw.volts.swing(), valve * (10e-3 - conducts.conducting_seconds) / 47e-6, 0.05);
    near("inverse volts", conducts.inverse_volts, 330.0 * std::f64::consts::SQRT_2 + at("B1"), 0.01);
    // 62 Ω, and 9 Ω by (330/230)².
    near("feed", conducts.feed_ohms.unwrap(), 62.0 + 9.0 * (330.0_f64 / 230.0).powi(2), 0.01);
    near("GZ34's least feed", conducts.feed_share.unwrap(), 50.0 / conducts.feed_ohms.unwrap(), 1e-9);
    // From empty at the mains' peak: all of it on winding, primary and GZ34, 3.21 mA/V^1.5.
    let inrush = conducts.inrush_amps;
    let drop = libm::cbrt((inrush / 3.21e-3) * (inrush / 3.21e-3));
    near("inrush", inrush * conducts.feed_ohms.unwrap() + drop, 330.0 * std::f64::consts::SQRT_2, 0.02);
    assert!(solved.undefined.iter().all(|u| circuit.net(u.net).legs.len() < 4));
    assert!(solved.watts.iter().flatten().all(|watts| watts.is_finite()));
}

/// Mains up and down; nothing conducting but the rectifier; output valves out; the bias rectifier open.
#[test]
fn conditions_on_real_supplies() {
    let worked = worked(support::stock(RUSHMERE));
    let at =
        |condition: Condition, net: &str| volts(&worked.circuit, worked.solved.of(condition).unwrap(), net);
    let rest = at(Condition::Idle, "B1");
    near("high mains", at(Condition::HighMains, "B1"), 1.1 * rest, 0.01);
    near("low mains", at(Condition::LowMains, "B1"), 0.9 * rest, 0.01);
    let cold = at(Condition::ColdStart, "B1");
    near("cold start", cold, 1.1 * 330.0 * std::f64::consts::SQRT_2, 0.02);
    near("no drop without current", at(Condition::ColdStart, "B4"), cold, 1e-3);
    assert!(at(Condition::OutputValvesPulled, "B1") > rest + 5.0);
    assert!(at(Condition::BiasLost, "BIAS").abs() < 1.0);
    let current = |condition: Condition| {
        let solved = worked.solved.of(condition).unwrap();
        solved.section(worked.circuit.find("V2").unwrap(), "").unwrap().plate_amps
    };
    assert!(current(Condition::BiasLost) > 10.0 * current(Condition::Idle));
    assert!(worked.solved.not_applicable.contains_key(&Condition::Standby));
}

/// What the examples' windings give, stated as a straight line (invented as if measured): from the windings alone the
/// rails come out within 5 %.
#[test]
fn examples_with_and_without_sources() {
    const BIAS: &str = "source BIAS1 66V behind 680R unloaded 70V plus chassis minus BRAW\n";
    let line = |volts: &str, rail: &str| format!("source HT {volts} plus {rail} minus chassis\n");
    for (name, sources, rails) in [
        ("sedge-45", String::new(), ["RAW", "B1", "B2", "B4", "BRAW", "BIAS"]),
        (
            "hollin-100",
            line("433V behind 55R unloaded 458V", "RAW") + BIAS,
            ["RAW", "B1", "B2", "B4", "BRAW", "BIAS"],
        ),
        ("fallow-18", line("318V behind 200R unloaded 356V", "B1"), ["B1", "B2", "B3", "B4", "B1", "B1"]),
        ("wren-8", line("310V behind 480R unloaded 352V", "B1"), ["B1", "B2", "B3", "B4", "B1", "B1"]),
    ] {
        let stated = worked(support::stock(&format!("{}{sources}", example(name))));
        let wound = worked(support::stock(&without(&example(name), "source ")));
        assert!(idle(&stated).supplies.is_empty() && !idle(&wound).supplies.is_empty());
        for rail in rails {
            let want = volts(&stated.circuit, idle(&stated), rail);
            near(&format!("{name} {rail}"), volts(&wound.circuit, idle(&wound), rail), want, 0.05);
        }
    }
}

/// With a source on the plates' rail alone the bias still comes from its winding.
#[test]
fn a_source_leaves_the_other_windings_alone() {
    let worked = worked(support::stock(&without(&example("sedge-45"), "source BIAS1")));
    let solved = idle(&worked);
    assert_eq!(solved.supplies.len(), 1);
    let rectifiers: Vec<&str> =
        solved.supplies[0].rectifiers.iter().map(|r| worked.circuit.part(r.part).name.as_str()).collect();
    assert_eq!(rectifiers, ["D3"]);
    near("BRAW", volts(&worked.circuit, solved, "BRAW"), -64.5, 0.05);
}

/// A winding given by its volts with and without load, by hand: (270 V − 250 V) / 80 mA is 250 Ω in all; the primary's
/// 20 Ω come over as 20 · (270/230)² = 27.6 Ω, so the winding's own are 222.4 Ω and the tap rises by 270/250.
#[test]
fn windings_by_their_regulation() {
    let text = example("wren-8").replace(
        "winding T1.ht 250V-0-250V 160R a side current 80mA",
        "winding T1.ht 250V-0-250V unloaded 270V current 80mA taps bias 40V from a",
    );
    let text = text.replace("winding T1.primary 230V 28R", "winding T1.primary 230V 20R");
    let circuit = support::stock(&text);
    let winding = &circuit.part(circuit.find("T1").unwrap()).component.body.windings[1];
    assert_eq!((winding.name.as_str(), winding.volts), ("ht", 270.0));
    near("its own resistance", winding.ohms.unwrap(), 250.0 - 20.0 * (270.0_f64 / 230.0).powi(2), 1e-12);
    near("the tap", winding.taps[0].1, 43.2, 1e-12);
    // 0.1 V at 80 mA are 1.25 Ω, less than what comes over from the primary: said, not passed over.
    let near_by = text.replace("unloaded 270V", "unloaded 250.1V");
    let told = support::problems(&[("stock.amp", &near_by)]);
    assert!(
        told.contains("notice windings-disagree: the primary's resistance alone takes T1.ht lower"),
        "{told}"
    );
    assert!(!support::problems(&[("stock.amp", &text)]).contains("windings-disagree"));
    let worked = worked(circuit);
    assert!(idle(&worked).assumed.iter().all(|line| !line.contains("T1.ht")), "{:?}", idle(&worked).assumed);
}

/// A rectifier valve's heater winding stands at the HT with its cathode; the rail behind it is one all the same.
#[test]
fn a_rail_on_a_rectifiers_heater_is_a_rail() {
    let worked = worked(support::stock(&example("fallow-18")));
    let rails: Vec<&str> =
        worked.recognised.rails.iter().map(|rail| worked.circuit.net(rail.net).name.as_str()).collect();
    assert_eq!(rails, ["B1", "B2", "B3", "B4"]);
}

/// Every case of a condition that has several, by hand from the circuit: which sections share a DC path, what feeds the
/// bias, and what each does.
#[test]
fn conditions_in_turn() {
    let worked = worked(support::stock(&example("hollin-100")));
    let cases = |condition: Condition| -> Vec<(&str, &Solved)> {
        worked
            .solved
            .cases(condition)
            .iter()
            .map(|c| (c.solved.case.as_deref().unwrap(), &c.solved))
            .collect()
    };
    let uneven = cases(Condition::UnevenWarmUp);
    let names: Vec<&str> = uneven.iter().map(|(name, _)| *name).collect();
    // One heater warms both halves of a bottle: a follower is never warm while the stage in its own bottle is cold.
    assert_eq!(names, ["V3 cold", "V5 cold"]);
    near("a cold follower", volts(&worked.circuit, uneven[0].1, "V3b.cathode"), 0.0, 1.0);
    // Output valves on one cathode resistor: with one cold the other takes more than its share.
    let pair = self::worked(support::stock(&example("fallow-18")));
    let cold = pair.solved.cases(Condition::UnevenWarmUp).iter().map(|c| &c.solved);
    let cold: Vec<&Solved> = cold.filter(|s| s.case.as_deref() == Some("V3 cold")).collect();
    let plate = |solved: &Solved| solved.section(pair.circuit.find("V4").unwrap(), "").unwrap().plate_amps;
    assert!(cold.len() == 1 && plate(cold[0]) > 1.2 * plate(idle(&pair)));
    let lost = cases(Condition::BiasLost);
    let names: Vec<&str> = lost.iter().map(|(name, _)| *name).collect();
    assert_eq!(names, ["D3 open", "R47 open", "R49 open", "VR9.wiper open"]);
    let bias = |case: usize| volts(&worked.circuit, lost[case].1, "BIAS");
    assert!(bias(0).abs() < 1.0 && bias(1).abs() < 1.0, "no feed: {} V, {} V", bias(0), bias(1));
    // R49 runs from the wiper's net to the raw end: without the wiper it takes the grids colder, not to 0.
    assert!(bias(3) < volts(&worked.circuit, idle(&worked), "BIAS") - 1.0, "{} V", bias(3));
}

/// A follower in another bottle than the stage that drives it: with that one cold the grid goes up to the rail, less the
/// plate load's drop of no current, and the cathode after it.
#[test]
fn a_warm_follower_behind_a_cold_bottle() {
    let text = "stock \"Dunlin\"\nrail B1\nsource HT 300V behind 1k plus B1 minus chassis\n\
        capacitor C1 47u 450V electrolytic plus B1 minus chassis\njack J1 \"In\" tip V1a.grid sleeve chassis\n\
        tube V1 ECC83\ntube V2 ECC83 a.grid V1a.plate\nV1b unused grid chassis cathode chassis\nV2b unused grid chassis cathode chassis\n\
        open V1b.plate\nopen V2b.plate\nresistor R1 1M from V1a.grid to chassis\nresistor R2 1k5 from V1a.cathode to chassis\n\
        resistor R3 100k from B1 to V1a.plate\nlink W2 from B1 to V2a.plate\n\
        resistor R4 100k from V2a.cathode to chassis\n";
    let worked = worked(support::stock(text));
    let cases = worked.solved.cases(Condition::UnevenWarmUp);
    let names: Vec<&str> = cases.iter().map(|c| c.solved.case.as_deref().unwrap()).collect();
    assert_eq!(names, ["V1 cold", "V2 cold"]);
    let at = |solved: &Solved| volts(&worked.circuit, solved, "V2a.cathode");
    let (rest, driver_cold, cold) = (at(idle(&worked)), at(&cases[0].solved), at(&cases[1].solved));
    // Its own current flows in the rail's 1 kΩ and, as grid current, in the plate load: below 298 V, far above its rest.
    assert!(driver_cold > rest + 30.0 && driver_cold < 298.0, "{driver_cold} V, at idle {rest} V");
    near("a cold follower", cold, 0.0, 1.0);
}

/// Standby between reservoir and the rest: the reservoir stands at its peak, the rest is empty.
#[test]
fn standby_unloads_the_reservoir() {
    let worked = worked(support::stock(&without(&example("hollin-100"), "source ")));
    let at =
        |condition: Condition, net: &str| volts(&worked.circuit, worked.solved.of(condition).unwrap(), net);
    near("RAW", at(Condition::Standby, "RAW"), 325.0 * std::f64::consts::SQRT_2, 0.01);
    assert!(at(Condition::Standby, "RAW") > at(Condition::Idle, "RAW") + 20.0);
    assert!(at(Condition::Standby, "B1").abs() < 1.0);
}

const PLAIN: &str = r#"stock "Plain"
mains 230V 50Hz
rail RAW "raw"
transformer T1 mains
winding T1.primary 230V 20R
winding T1.ht 250V current 100mA b chassis
diode D1 1N4007 anode T1.ht.a cathode RAW
capacitor C1 47u 450V electrolytic plus RAW minus chassis
"#;

/// Half wave without any load: the reservoir stands at the winding's peak, but for the diode.
#[test]
fn an_unloaded_reservoir_stands_at_the_peak() {
    let worked = worked(support::stock(PLAIN));
    let solved = idle(&worked);
    let raw = volts(&worked.circuit, solved, "RAW");
    let peak = 250.0 * std::f64::consts::SQRT_2;
    assert!(raw < peak && raw > peak - 2.0, "{raw} of {peak}");
    // 4 % of 250 V at 100 mA: said to be assumed.
    let said = "T1: resistance of winding ht not stated, 100 assumed";
    assert!(solved.assumed.iter().any(|line| line == said), "{:?}", solved.assumed);
}

/// Faults around a rectifier: each solves, and to what it does.
#[test]
fn faults_around_the_rectifier() {
    let stock = format!("{}resistor R1 4k7 20W from RAW to chassis\n", without(PLAIN, "winding T1.ht"));
    let stock = format!(
        "{stock}winding T1.ht 250V-0-250V 60R a side centre chassis\ndiode D2 1N4007 anode T1.ht.b cathode RAW\n"
    );
    let raw = |layer: &str| {
        let layer = format!("as-found \"job\" of \"stock.amp\"\n{layer}\n");
        let circuit = support::built(&[("stock.amp", &stock), ("job.amp", &layer)]).remove(1);
        let worked = worked(circuit);
        let solved = idle(&worked);
        (volts(&worked.circuit, solved, "RAW"), solved.assumed.join("; "))
    };
    let sound = raw("R1 checked").0;
    assert!(sound > 300.0);
    let half = raw("D2 missing").0;
    assert!(half < sound - 5.0 && half > 250.0, "{half}");
    let reversed = raw("D1 reversed\nD2 reversed").0;
    near("reversed", reversed, -sound, 1e-6);
    // One diode shorted: the winding's own AC on the reservoir, the other diode lifts its valleys.
    assert!(raw("D1 shorted").0 < half);
    let (open, _) = raw("C1 missing");
    near("without reservoir", open, 250.0 * std::f64::consts::SQRT_2 * 2.0 / std::f64::consts::PI, 0.03);
}

/// No way from the inlet to the primary: no volts, and it is said why.
#[test]
fn a_missing_fuse_leaves_no_mains() {
    let layer = "as-found \"job\" of \"stock.amp\"\nF1 missing\n";
    let circuit = support::built(&[("stock.amp", RUSHMERE), ("job.amp", layer)]).remove(1);
    let worked = worked(circuit);
    let solved = idle(&worked);
    assert!(volts(&worked.circuit, solved, "B1").abs() < 1e-3);
    assert!(
        solved.assumed.iter().any(|line| line.contains("not joined to both poles")),
        "{:?}",
        solved.assumed
    );
}

/// Neutral joined to the chassis is a danger to people, and the amplifier is as live as ever.
#[test]
fn a_bonded_neutral_takes_no_volts_away() {
    let text = example("fallow-18");
    let sound = worked(support::stock(&text));
    let b1 = |of: &Worked| volts(&of.circuit, idle(of), "B1");
    assert!(b1(&sound) > 250.0);
    for line in [
        "joined P1.neutral to chassis",
        "bridged P1.neutral to chassis with wire W90",
        "joined T1.primary.b to chassis",
        "bridged T1.primary.b to chassis with wire W90",
    ] {
        let layer = format!("as-found \"job\" of \"stock.amp\"\n{line}\n");
        let bonded = worked(support::built(&[("stock.amp", &text), ("job.amp", &layer)]).remove(1));
        near(line, b1(&bonded), b1(&sound), 1e-9);
    }
}

/// A rectifier's type without figures leaves its rail unfed, and the rest is still solved.
#[test]
fn an_unknown_rectifier_is_said() {
    let layer = "as-found \"job\" of \"stock.amp\"\nD1 replaced\n";
    let text = RUSHMERE.to_owned();
    let circuit =
        support::built(&[("stock.amp", &text), ("job.amp", &layer.replace("D1 replaced", "BR1 missing"))])
            .remove(1);
    let worked = worked(circuit);
    assert_eq!(idle(&worked).supplies.len(), 1);
    assert!(volts(&worked.circuit, idle(&worked), "LOW").abs() < 1e-6);
}

/// A bridge with nothing to feed stands at its winding's peak less two junctions at microamperes, and holds up nothing else.
#[test]
fn an_unloaded_bridge_settles() {
    let worked = worked(support::stock(&without(RUSHMERE, "resistor R8 ")));
    let low = volts(&worked.circuit, idle(&worked), "LOW");
    let peak = 9.0 * std::f64::consts::SQRT_2;
    assert!(low < peak - 0.2 && low > peak - 1.0, "{low} of {peak}");
}

/// Without the reservoir the rectifier feeds choke and plates straight: its rail is still the supply's.
#[test]
fn plates_on_a_rectifier_without_reservoir() {
    let sound = worked(support::stock(RUSHMERE));
    let without = worked(support::stock(&without(RUSHMERE, "capacitor C1 ")));
    let at = |worked: &Worked| volts(&worked.circuit, idle(worked), "B1");
    // Between the mean and the peak of the rectified winding: the choke is too small for so little current.
    assert!(
        at(&without) > std::f64::consts::FRAC_2_PI * 330.0 * std::f64::consts::SQRT_2,
        "{}",
        at(&without)
    );
    assert!(at(&without) < at(&sound) - 10.0, "{}", at(&without));
}

/// The same bytes from run to run.
#[test]
fn supplies_are_reproducible() {
    let circuit = support::stock(RUSHMERE);
    let text = || format!("{:?}", at_rest(&circuit, &Setup::idle()).unwrap().supplies);
    assert_eq!(text(), text());
}

/// It is linted like any other, without trouble.
#[test]
fn a_real_supply_is_audited() {
    let circuit = support::stock(RUSHMERE);
    let audit = audit(&[circuit], &RuleSet::shipped());
    let told: Vec<&String> = audit.unsolved.iter().map(|problem| &problem.message).collect();
    assert!(told.is_empty(), "{told:?}");
    assert!(audit.idle().is_some() && audit.cut_off.is_empty(), "{:?}", audit.cut_off);
}

/// Two primaries of 115 V and 20 ohm: one behind the other on 230 V they are one of 230 V and 40 ohm, side by side on 115 V
/// as well, seen from the secondary; against each other they give nothing.
#[test]
fn two_primaries_in_each_position_of_a_selector() {
    let rest = r#"rail B1 "plates"
inlet P1 live F1.1 earth chassis
fuse F1 1A 250V slow
link L1 from F1.2 to T1.primary.a
transformer T1 mains
winding T1.ht 250V-0-250V 90R a side
link W1 from T1.ht.centre to chassis
diode D1 1N4007 anode T1.ht.a cathode B1
diode D2 1N4007 anode T1.ht.b cathode B1
capacitor C1 47u 500V electrolytic plus B1 minus chassis
resistor R1 10k 20W from B1 to chassis
"#;
    let volts = |mains: &str, windings: &str| {
        let text = format!("stock \"Siskin 15\"\nmains {mains} 50Hz\n{rest}{windings}");
        let circuit = support::built(&[("stock.amp", &text)]).pop().expect("built");
        let solved = at_rest(&circuit, &Setup::idle()).expect("solves");
        solved.net_volts(circuit.find_net("B1").expect("declared")).expect("defined")
    };
    let single = "winding T1.primary 230V 40R\nlink W2 from P1.neutral to T1.primary.b\n";
    let both = "winding T1.primary 115V 20R\nwinding T1.primary2 115V 20R\n\
                switch S2 \"Mains volts\" positions 230 115 now AT\n\
                contact S2 230 joins S2.x1 to S2.x2\ncontact S2 115 joins S2.y1 to S2.y2\n\
                contact S2 115 joins S2.z1 to S2.z2\n\
                link W2 from T1.primary.b to S2.x1\nlink W3 from T1.primary2.a to S2.x2\n\
                link W4 from T1.primary.a to S2.y1\nlink W5 from T1.primary2.a to S2.y2\n\
                link W6 from T1.primary.b to S2.z1\nlink W7 from P1.neutral to S2.z2\n\
                link W8 from T1.primary2.b to P1.neutral\n";
    let right = volts("230V", single);
    assert!(right > 250.0, "{right}");
    near("in series", volts("230V", &both.replace("AT", "230")), right, 1e-9);
    near("side by side", volts("115V", &both.replace("AT", "115")), right, 1e-9);
    let wrong = volts("230V", &both.replace("AT", "115"));
    assert!(wrong > 1.9 * right, "set for 115 V on 230 V: {wrong}");
    let against = "winding T1.primary 115V 20R\nwinding T1.primary2 115V 20R\n\
                   link W2 from T1.primary.b to T1.primary2.b\nlink W3 from T1.primary2.a to P1.neutral\n";
    assert!(volts("230V", against).abs() < 1.0);
}
