//! Supplies of every kind from the mains, each with the roles and rails that a bench hand reads off its drawing.

use asfound::analysis::judge;
use asfound::rules::RuleSet;

use super::{circuit, roles, seen};

/// A mains side and one triode, with a supply between them that ends in the rail `B2`.
fn amplifier(supply: &str) -> String {
    format!(
        "stock \"Siskin 3\"\nmains 230V 50Hz\ninsulation class-I\nrail B1 \"reservoir\"\nrail B2 \"plates\"\n\
         inlet P1 250V 10A live F1.1 earth chassis\nfuse F1 500mA 250V slow\n\
         link W1 from F1.2 to T1.primary.a\nlink W2 from P1.neutral to T1.primary.b\ntransformer T1 mains 60W\n\
         winding T1.primary 230V 20R current 300mA\n{supply}\n\
         resistor R10 10k 2W 500V from B1 to B2\ncapacitor C10 22u 450V electrolytic plus B2 minus chassis\n\
         resistor R19 220k 2W 500V from B2 to chassis\njack J1 \"In\" sleeve chassis\n\
         tube V1 ECC83\nV1b unused grid chassis cathode chassis\nresistor R1 1M 0.5W from J1.tip to chassis\n\
         resistor R2 33k 0.5W from J1.tip to V1a.grid\nresistor R3 1k5 0.5W from V1a.cathode to chassis\n\
         resistor R4 100k 1W 500V from B2 to V1a.plate\ncapacitor C4 22n 630V film from V1a.plate to J2.tip\n\
         jack J2 \"Out\" sleeve chassis\nresistor R5 1M 0.5W from J2.tip to chassis\ndrive J1 behind 10k\n"
    )
}

/// Asserts rails (`net depth [capacitors]`) and roles; that nothing is left without one; and that no rule warns.
fn assert_supply(supply: &str, rails: &[&str], expected: &[&str]) {
    let text = amplifier(supply);
    let (circuit, recognised) = seen(&[&text]);
    let name = |part: &asfound::circuit::PartId| circuit.part(*part).name.as_str();
    let found: Vec<String> = recognised
        .rails
        .iter()
        .map(|r| {
            let capacitors: Vec<&str> = r.capacitors.iter().map(name).collect();
            let fed = if r.fed { "" } else { " not fed" };
            format!("{} {} [{}]{fed}", circuit.net(r.net).name, r.depth, capacitors.join(" "))
        })
        .collect();
    assert_eq!(found, rails, "{}", super::table(&circuit, &recognised));
    let roles = roles(&circuit, &recognised);
    for line in expected {
        assert!(roles.iter().any(|r| r == line), "no `{line}` in {roles:#?}");
    }
    let left: Vec<&str> = recognised.unrecognised.iter().map(name).collect();
    assert!(left.is_empty(), "{left:?} in {roles:#?}");
    let warnings = warnings(&text);
    assert!(warnings.is_empty(), "{warnings:#?}");
}

/// Findings at warning level and above, and what could not be solved.
pub(super) fn warnings(text: &str) -> Vec<String> {
    let (rules, _) = RuleSet::load(&shipped());
    let audit = judge(&[circuit(&[text])], &rules);
    let worst = audit.verdicts.findings.iter().filter(|f| f.level >= asfound::rules::Level::Warning);
    let unsolved = audit.unsolved.iter().map(|p| p.message.clone());
    worst.map(|f| format!("{}: {}", f.rule, f.message)).chain(unsolved).collect()
}

fn shipped() -> Vec<(asfound::source::FileId, &'static str)> {
    let texts = asfound::rules::SHIPPED.iter().enumerate();
    texts.map(|(i, (_, text))| (asfound::source::FileId(i as u32), *text)).collect()
}

#[test]
fn half_wave() {
    assert_supply(
        "winding T1.ht 230V 60R current 60mA b chassis\ndiode D1 1000V 1A anode T1.ht.a cathode B1\n\
         capacitor C11 47u 450V electrolytic plus B1 minus chassis",
        &["B1 0 [C11]", "B2 1 [C10]"],
        &["D1: rectifier", "C11: reservoir", "R10: dropper", "C10: filter capacitor", "R19: bleeder"],
    );
}

#[test]
fn full_wave_with_a_fuse_in_the_centre() {
    assert_supply(
        "winding T1.ht 230V-0-230V 60R a side current 60mA\ndiode D1 1000V 1A anode T1.ht.a cathode B1\n\
         diode D2 1000V 1A anode T1.ht.b cathode B1\nfuse F2 200mA 250V slow from T1.ht.centre to chassis\n\
         capacitor C11 47u 450V electrolytic plus B1 minus chassis",
        &["B1 0 [C11]", "B2 1 [C10]"],
        &["D1: rectifier", "D2: rectifier", "F2: HT fuse", "C11: reservoir"],
    );
}

#[test]
fn bridge_with_a_fuse_in_its_return() {
    assert_supply(
        "winding T1.ht 230V 60R current 100mA\nbridge BR1 1000V 2A ac T1.ht.a T1.ht.b plus B1 minus F2.1\n\
         fuse F2 200mA 250V slow to chassis\ncapacitor C11 47u 450V electrolytic plus B1 minus chassis",
        &["B1 0 [C11]", "B2 1 [C10]"],
        &["BR1: rectifier", "F2: HT fuse", "C11: reservoir"],
    );
}

/// Upper diode from the winding, lower diode to it; the winding's other end in the middle of two reservoirs.
const DOUBLER: &str = "winding T1.ht 115V 20R current 200mA\ndiode D1 1000V 1A anode T1.ht.a cathode B1\n\
    diode D2 1000V 1A anode chassis cathode T1.ht.a\nnet MID\nlink W3 from T1.ht.b to MID\n\
    capacitor C11 47u 250V electrolytic plus B1 minus MID\ncapacitor C12 47u 250V electrolytic plus MID minus chassis\n\
    resistor R11 150k 1W 350V from B1 to MID\nresistor R12 150k 1W 350V from MID to chassis";

#[test]
fn full_wave_doubler() {
    assert_supply(
        DOUBLER,
        &["B1 0 [C11 C12]", "B2 1 [C10]"],
        &[
            "D1: rectifier",
            "D2: rectifier",
            "C11: reservoir",
            "C12: reservoir",
            "R11: balancing resistor",
            "R12: balancing resistor",
            "R10: dropper",
            "W3: wire",
        ],
    );
}

#[test]
fn full_wave_doubler_with_a_surge_resistor_and_a_rail_from_its_middle() {
    assert_supply(
        &format!(
            "{}\nrail B3 \"half\"\nresistor R13 22k 1W 350V from MID to B3\n\
             capacitor C13 22u 250V electrolytic plus B3 minus chassis\nresistor R14 470k 0.5W 350V from B3 to chassis",
            DOUBLER
                .replace("anode T1.ht.a cathode B1", "anode R15.2 cathode B1")
                .replace("cathode T1.ht.a", "cathode R15.2\nresistor R15 10R 5W 350V from T1.ht.a")
        ),
        &["MID 0 [C12]", "B1 0 [C11]", "B3 1 [C13]", "B2 1 [C10]"],
        &[
            "D1: rectifier",
            "D2: rectifier",
            "R15: inrush limiter",
            "C11: reservoir",
            "C12: reservoir",
            "R11: balancing resistor",
            "R12: bleeder",
            "R13: dropper",
            "C13: filter capacitor",
            "R14: bleeder",
        ],
    );
}

#[test]
fn half_wave_doubler() {
    assert_supply(
        "winding T1.ht 115V 20R current 200mA b chassis\ncapacitor C11 47u 250V electrolytic plus D1.cathode minus T1.ht.a\n\
         diode D1 1000V 1A anode chassis\ndiode D2 1000V 1A anode D1.cathode cathode B1\n\
         capacitor C12 47u 450V electrolytic plus B1 minus chassis",
        &["B1 0 [C12]", "B2 1 [C10]"],
        &["C11: reservoir", "D1: rectifier", "D2: rectifier", "C12: reservoir"],
    );
}

#[test]
fn two_bridges_one_on_the_others_reservoir() {
    assert_supply(
        "winding T1.low 110V 20R current 100mA\nwinding T1.high 110V 20R current 100mA\nrail BL \"lower half\"\n\
         bridge BR1 1000V 2A ac T1.low.a T1.low.b plus BL minus chassis\n\
         bridge BR2 1000V 2A ac T1.high.a T1.high.b plus B1 minus BL\n\
         capacitor C11 47u 250V electrolytic plus BL minus chassis\ncapacitor C12 47u 250V electrolytic plus B1 minus BL\n\
         resistor R11 150k 1W 350V from B1 to BL\nresistor R12 150k 1W 350V from BL to chassis",
        &["B1 0 [C12]", "BL 0 [C11]", "B2 1 [C10]"],
        &[
            "BR1: rectifier",
            "BR2: rectifier",
            "C11: reservoir",
            "C12: reservoir",
            "R11: balancing resistor",
            "R12: bleeder",
        ],
    );
}

#[test]
fn a_bridge_whose_winding_has_a_centre_for_half_the_volts() {
    assert_supply(
        "winding T1.ht 115V-0-115V 20R a side current 100mA\nrail BL \"half\"\n\
         bridge BR1 1000V 2A ac T1.ht.a T1.ht.b plus B1 minus chassis\nlink W3 from T1.ht.centre to BL\n\
         capacitor C11 47u 250V electrolytic plus BL minus chassis\ncapacitor C12 47u 250V electrolytic plus B1 minus BL\n\
         resistor R11 150k 1W 350V from B1 to BL\nresistor R12 150k 1W 350V from BL to chassis",
        &["BL 0 [C11]", "B1 0 [C12]", "B2 1 [C10]"],
        &["BR1: rectifier", "C11: reservoir", "C12: reservoir", "R11: balancing resistor", "R12: bleeder"],
    );
}
