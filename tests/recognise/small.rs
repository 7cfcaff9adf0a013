//! Small invented circuits, one for each kind of stage and group of roles.

use std::collections::BTreeSet;

use asfound::model::RoleKind;

use super::{amp, assert_seen, seen};

pub(crate) const INPUT: &str = "jack J1 sleeve chassis
tube V1 ECC83
resistor R1 1M from J1.tip to chassis
resistor R2 56k from J1.tip to V1a.grid
resistor R3 1k8 from V1a.cathode to chassis
resistor R4 100k from B2 to V1a.plate
capacitor C1 22u 25V electrolytic plus V1a.cathode minus chassis
";

const VOLUME: &str = "capacitor C2 15n film from V1a.plate to VR1.top
pot VR1 1M log bottom chassis at 60%
capacitor C3 330p ceramic from VR1.top to VR1.wiper
resistor R5 330k from VR1.wiper to V1b.grid
resistor R6 2k7 from V1b.cathode to chassis
resistor R7 100k from B2 to V1b.plate
";

const FOLLOWER: &str = "tube V2 ECC83
resistor R8 100k from V2a.cathode to chassis
link W1 from V1b.plate to V2a.grid
link W2 from B2 to V2a.plate
";

const TONE: &str = "capacitor C5 470p from V2a.cathode to VR2.top
pot VR2 250k lin \"Treble\"
resistor R9 47k from V2a.cathode to C6.1
capacitor C6 22n to VR3.top
pot VR3 1M log \"Bass\" wiper VR2.bottom
link W3 from VR2.bottom to VR3.top
capacitor C7 22n from C6.1 to VR4.wiper
pot VR4 25k lin \"Middle\" top VR3.bottom bottom chassis
capacitor C8 22n from VR2.wiper to V2b.grid
resistor R10 1M from V2b.grid to chassis
resistor R11 1k5 from V2b.cathode to chassis
resistor R12 220k from B2 to V2b.plate
";

const PAIR: &str = "tube V3 ECC81
capacitor C10 22n from V1a.plate to V3a.grid
resistor R20 1M from V3a.grid to R22.2
resistor R21 1M from V3b.grid to R22.2
resistor R22 470R from V3a.cathode to R23.1
link W4 from V3a.cathode to V3b.cathode
resistor R23 22k to FB
net FB
resistor R24 100R from FB to chassis
capacitor C11 100n from V3b.grid to FB
resistor R25 82k from B2 to V3a.plate
resistor R26 100k from B2 to V3b.plate
resistor R27 820R from T2.8R to FB
capacitor C12 1n from T2.8R to FB
";

const PUSH_PULL: &str = "capacitor C13 100n from V3a.plate to V4.grid
capacitor C14 100n from V3b.plate to V5.grid
resistor R30 220k from V4.grid to chassis
resistor R31 220k from V5.grid to chassis
tube V4 EL84
tube V5 EL84
resistor R32 130R 5W from V4.cathode to chassis
link W5 from V4.cathode to V5.cathode
capacitor C15 100u 25V electrolytic plus V4.cathode minus chassis
resistor R33 100R from B1 to V4.screen
resistor R34 100R from B1 to V5.screen
output-transformer T2 primary 8k plates V4.plate V5.plate supply B1 common chassis taps 8R
speaker LS1 8R from T2.8R to chassis
";

const SINGLE_ENDED: &str = "capacitor C10 22n from V1a.plate to V4.grid
resistor R30 470k from V4.grid to chassis
tube V4 EL84
resistor R32 150R 5W from V4.cathode to chassis
capacitor C15 100u 25V electrolytic plus V4.cathode minus chassis
resistor R33 1k from B1 to V4.screen
capacitor C16 10u 450V electrolytic plus V4.screen minus chassis
output-transformer T2 primary 5k plate V4.plate supply B1 common chassis taps 8R
capacitor C17 2n2 from V4.plate to C17.2
resistor R35 10k from C17.2 to B1
resistor R36 220R 5W from T2.8R to chassis
capacitor C18 100n from T2.8R to R37.1
resistor R37 10R to chassis
speaker LS1 8R from T2.8R to chassis
";

const FIXED_QUAD: &str = "tube V3 ECC81
capacitor C10 22n from V1a.plate to V3a.grid
resistor R20 1M from V3a.grid to chassis
resistor R22 470R from V3a.cathode to R23.1
resistor R23 56k to chassis
resistor R25 56k from B2 to V3a.plate
capacitor C13 100n from V3a.plate to R40.1
capacitor C14 100n from R23.1 to R41.1
V3b unused grid V3b.cathode cathode chassis
net BIAS
source NEG 55V plus chassis minus BRAW
net BRAW
resistor R43 10k from BRAW to BIAS
resistor R44 56k from BIAS to chassis
capacitor C44 47u 100V electrolytic plus chassis minus BIAS
resistor R40 100k to BIAS
resistor R41 100k to BIAS
resistor R45 2k2 from R40.1 to V4.grid
resistor R46 2k2 from R40.1 to V5.grid
resistor R47 2k2 from R41.1 to V6.grid
resistor R48 2k2 from R41.1 to V7.grid
tube V4 6L6GC cathode chassis screen B1 
tube V5 6L6GC cathode chassis screen B1
tube V6 6L6GC cathode chassis screen B1
tube V7 6L6GC cathode chassis screen B1
link W10 from V4.plate to V5.plate
link W11 from V6.plate to V7.plate
output-transformer T2 primary 2k plates V4.plate V6.plate supply B1 common chassis taps 8R
speaker LS1 8R from T2.8R to chassis
";

const PENTODE: &str = "jack J1 sleeve chassis
tube V1 EF86
resistor R1 1M from J1.tip to chassis
link W1 from J1.tip to V1.grid
resistor R3 2k2 from V1.cathode to chassis
capacitor C1 25u 25V electrolytic plus V1.cathode minus chassis
resistor R4 220k from B2 to V1.plate
resistor R5 1M from B2 to V1.screen
capacitor C2 100n from V1.screen to chassis
capacitor C3 22n from V1.plate to VR1.top
pot VR1 1M bottom chassis
jack J2 \"Line out\" tip VR1.wiper sleeve chassis
";

const LOCAL: &str = "jack J1 sleeve chassis
tube V1 ECC83
V1b unused grid V1b.cathode cathode chassis
resistor R1 1M from J1.tip to V1a.grid
led D1 LED anode V1a.cathode cathode chassis
resistor R4 100k from B2 to V1a.plate
resistor R5 4M7 from V1a.plate to C2.1
capacitor C2 10n to V1a.grid
capacitor C3 22n from V1a.plate to J2.tip
jack J2 sleeve chassis
resistor R6 1M from J2.tip to chassis
";

const REVERB: &str = "tube V2 ECC81
capacitor C20 500p from V1a.plate to V2a.grid
resistor R20 1M from V2a.grid to chassis
link W20 from V2a.grid to V2b.grid
link W21 from V2a.cathode to V2b.cathode
link W22 from V2a.plate to V2b.plate
resistor R21 2k2 from V2a.cathode to chassis
capacitor C21 25u 25V electrolytic plus V2a.cathode minus chassis
transformer T3 reverb primary 22k 1k1 taps 8R plate V2a.plate supply B1 common chassis 8R J5.tip
jack J5 \"Tank in\" sleeve chassis
jack J6 \"Tank out\" sleeve chassis
resistor R22 220k from J6.tip to chassis
tube V3 ECC83
V3b unused grid V3b.cathode cathode chassis
link W23 from J6.tip to V3a.grid
resistor R23 1k5 from V3a.cathode to chassis
resistor R24 100k from B2 to V3a.plate
";

const SUPPLY: &str = "stock \"Supply\"
mains 230V 50Hz
inlet P1 earth chassis
fuse F1 1A slow from P1.live to NTC.1
thermistor NTC 50R to T1.primary.a
link W1 from P1.neutral to T1.primary.b
varistor MOV 275V from P1.live to P1.neutral
transformer T1 mains
winding T1.primary 230V 12R
winding T1.ht 330V-0-330V 60R a side
winding T1.heat 6.3V 0R05
heater T1.heat feeds V1 reference b to ELEV
net ELEV
link W2 from T1.ht.centre to chassis
tube V8 GZ34 plates T1.ht.a T1.ht.b cathode RAW
net RAW
capacitor C50 100u 350V electrolytic plus RAW minus STK
net STK
capacitor C51 100u 350V electrolytic plus STK minus chassis
resistor R50 220k from RAW to STK
resistor R51 220k from STK to chassis
choke L1 10H 105R from RAW to B1
rail B1
capacitor C52 47u 450V electrolytic plus B1 minus chassis
resistor R52 22k from B1 to B2
rail B2
capacitor C53 22u 450V electrolytic plus B2 minus chassis
resistor R53 330k from B1 to ELEV
resistor R54 68k from ELEV to chassis
capacitor C54 22u 100V electrolytic plus ELEV minus chassis
capacitor C55 47n from T1.ht.a to D2.cathode
diode D1 1N4007 anode D2.cathode cathode chassis
diode D2 1N4007 anode NEG
net NEG
capacitor C56 47u 100V electrolytic plus chassis minus NEG
resistor R55 100k from NEG to chassis
";

const SWITCHED: &str = "capacitor C2 22n from V1a.plate to VR1.top
pot VR1 1M log \"Volume\" bottom chassis
switch S1 \"Bright\" positions off on now off
capacitor C3 120p from VR1.top to S1.1
contact S1 on joins S1.1 to VR1.wiper
link W1 from VR1.wiper to V1b.grid
resistor R6 1k5 from V1b.cathode to chassis
resistor R7 100k from B2 to V1b.plate
capacitor C4 22n from V1b.plate to J2.tip
jack J2 \"Send\" sleeve chassis
jack J3 \"Return\" sleeve chassis normals tip-contact to J2.tip
resistor R8 1M from J3.tip to chassis
resistor R9 10k from J3.tip to V2a.grid
tube V2 ECC83
V2b unused grid V2b.cathode cathode chassis
resistor R10 1k5 from V2a.cathode to chassis
resistor R11 100k from B2 to V2a.plate
pot VR2 250k log \"Tone\" wiper C5.1
capacitor C5 10n to chassis
link W2 from J3.tip to VR2.top
";

/// Every circuit of this page, for the tests over all of them.
pub(crate) fn all() -> Vec<String> {
    vec![
        amp(&format!("{INPUT}{VOLUME}{FOLLOWER}{TONE}")),
        amp(&format!("{INPUT}{PAIR}{PUSH_PULL}V1b unused grid V1b.cathode cathode chassis")),
        amp(&format!("{INPUT}{SINGLE_ENDED}V1b unused grid V1b.cathode cathode chassis")),
        amp(&format!("{INPUT}{FIXED_QUAD}V1b unused grid V1b.cathode cathode chassis")),
        amp(PENTODE),
        amp(LOCAL),
        amp(&format!("{INPUT}{REVERB}V1b unused grid V1b.cathode cathode chassis")),
        format!("{SUPPLY}{INPUT}V1b unused grid V1b.cathode cathode chassis"),
        amp(&format!("{INPUT}{SWITCHED}")),
    ]
}

#[test]
fn a_follower_drives_a_tone_network_between_common_cathode_stages() {
    assert_seen(
        &all()[0],
        &[
            "first stage: V1a common cathode, bypassed",
            "second stage: V1b common cathode, not bypassed",
            "cathode follower: V2a cathode follower, direct-coupled",
            "third stage: V2b common cathode, not bypassed",
        ],
        &[
            "HT: supply source",
            "C80: reservoir",
            "R80: dropper",
            "C81: filter capacitor",
            "J1: input jack, first stage",
            "R1: grid leak, first stage",
            "R2: grid stopper, first stage",
            "R3: cathode resistor, first stage",
            "R4: plate load, first stage",
            "C1: cathode bypass, first stage",
            "C2: coupling capacitor, first stage",
            "VR1: volume control, first stage",
            "C3: bright capacitor, first stage",
            "R5: grid stopper, second stage",
            "R8: follower load, cathode follower",
            "C5: tone capacitor, cathode follower",
            "C6: tone capacitor, cathode follower",
            "C7: tone capacitor, cathode follower",
            "R9: tone resistor, cathode follower",
            "VR2: tone control, cathode follower",
            "VR3: tone control, cathode follower",
            "VR4: tone control, cathode follower",
            "C8: coupling capacitor, cathode follower",
            "R10: grid leak, third stage",
        ],
    );
}

#[test]
fn a_long_tailed_pair_drives_cathode_biased_valves_with_feedback() {
    assert_seen(
        &all()[1],
        &[
            "first stage: V1a common cathode, bypassed",
            "phase inverter: V3a V3b long-tailed pair",
            "output stage: V4 V5 push-pull output, cathode bias",
        ],
        &[
            "R20: grid leak, phase inverter",
            "R21: grid leak, phase inverter",
            "R22: cathode resistor, phase inverter",
            "R23: tail resistor, phase inverter",
            "R24: feedback shunt, phase inverter",
            "R27: feedback resistor, phase inverter",
            "C12: feedback capacitor, phase inverter",
            "C11: inverter grid capacitor, phase inverter",
            "R25: plate load, phase inverter",
            "C13: coupling capacitor, phase inverter",
            "R30: grid leak, output stage",
            "R32: cathode resistor, output stage",
            "C15: cathode bypass, output stage",
            "R33: screen resistor, output stage",
            "V4: output valve, output stage",
            "T2: output transformer",
            "LS1: speaker",
        ],
    );
}

#[test]
fn a_single_ended_output_stage() {
    assert_seen(
        &all()[2],
        &["first stage: V1a common cathode, bypassed", "output stage: V4 single-ended output, cathode bias"],
        &[
            "R33: screen resistor, output stage",
            "C16: screen bypass, output stage",
            "C17: snubber",
            "R35: snubber",
            "R36: load resistor",
            "C18: snubber",
            "R37: snubber",
            "C10: coupling capacitor, first stage",
        ],
    );
}

#[test]
fn a_split_load_inverter_drives_four_valves_with_fixed_bias() {
    assert_seen(
        &all()[3],
        &[
            "first stage: V1a common cathode, bypassed",
            "phase inverter: V3a split-load inverter",
            "output stage: V4 V5 V6 V7 push-pull output, fixed bias",
        ],
        &[
            "R22: cathode load, phase inverter",
            "R23: cathode load, phase inverter",
            "R25: plate load, phase inverter",
            "R40: grid leak, output stage",
            "R45: grid stopper, output stage",
            "R43: bias dropper",
            "R44: bias range",
            "C44: bias filter",
            "NEG: supply source",
        ],
    );
}

#[test]
fn a_pentode_input_and_a_line_out() {
    assert_seen(
        &all()[4],
        &["first stage: V1 common cathode, bypassed"],
        &[
            "R5: screen resistor, first stage",
            "C2: screen bypass, first stage",
            "C3: coupling capacitor, first stage",
            "VR1: volume control, first stage",
            "J2: jack",
        ],
    );
}

#[test]
fn local_feedback_and_a_cathode_on_a_diode() {
    assert_seen(
        &all()[5],
        &["first stage: V1a common cathode, not bypassed"],
        &[
            "D1: cathode diode, first stage",
            "R5: feedback resistor, first stage",
            "C2: feedback capacitor, first stage",
            "C3: coupling capacitor, first stage",
            "R1: grid stopper, first stage",
        ],
    );
}

#[test]
fn a_reverb_driver_of_two_sections_and_its_recovery_stage() {
    assert_seen(
        &all()[6],
        &[
            "first stage, channel 1: V1a common cathode, bypassed",
            "first stage, channel 2: V3a common cathode, not bypassed",
            "reverb driver: V2a V2b reverb driver",
        ],
        &[
            "T3: reverb transformer",
            "R20: grid leak, reverb driver",
            "C20: coupling capacitor, first stage, channel 1",
        ],
    );
}

#[test]
fn a_real_supply_from_inlet_to_rails() {
    let text = &all()[7];
    assert_seen(
        text,
        &["first stage: V1a common cathode, bypassed"],
        &[
            "P1: mains inlet",
            "F1: mains fuse",
            "NTC: inrush limiter",
            "MOV: surge arrester",
            "T1: mains transformer",
            "V8: rectifier",
            "C50: reservoir",
            "C51: reservoir",
            "R50: balancing resistor",
            "R51: balancing resistor",
            "L1: filter choke",
            "R52: dropper",
            "R53: heater reference",
            "R54: heater reference",
            "C54: heater reference",
            "C55: bias dropper",
            "D1: bias rectifier",
            "D2: bias rectifier",
            "C56: bias filter",
            "R55: bias range",
        ],
    );
    let (circuit, recognised) = seen(&[text]);
    let rails: Vec<(&str, u32)> =
        recognised.rails.iter().map(|r| (circuit.net(r.net).name.as_str(), r.depth)).collect();
    assert_eq!(rails, [("RAW", 0), ("B1", 1), ("B2", 2)]);
    assert_eq!(recognised.rails[2].why, "V8 — RAW — L1 — B1 — R52 — B2");
}

#[test]
fn a_bright_switch_an_effects_loop_and_a_single_tone_control() {
    assert_seen(
        &all()[8],
        &[
            "first stage: V1a common cathode, bypassed",
            "second stage: V1b common cathode, not bypassed",
            "third stage: V2a common cathode, not bypassed",
        ],
        &[
            "C3: bright capacitor, first stage",
            "S1: signal switch",
            "C4: coupling capacitor, second stage",
            "J2: jack",
            "J3: jack",
            "R8: grid leak, third stage",
            "VR2: tone control, second stage",
            "C5: tone capacitor, second stage",
        ],
    );
}

#[test]
fn every_role_is_found_in_at_least_one_circuit() {
    let mut found = BTreeSet::new();
    for text in all().iter().map(String::as_str).chain([super::full::FENNICK]) {
        found.extend(seen(&[text]).1.roles.values().map(|r| r.kind));
    }
    let empty: Vec<&str> =
        RoleKind::ALL.into_iter().filter(|r| !found.contains(r)).map(RoleKind::word).collect();
    assert!(empty.is_empty(), "no circuit has {empty:?}");
}

#[test]
fn every_path_that_proves_a_role_is_told() {
    for text in all() {
        let (circuit, recognised) = seen(&[&text]);
        for (part, role) in &recognised.roles {
            assert!(
                role.why.contains(&circuit.part(*part).name),
                "{}: {}",
                circuit.part(*part).name,
                role.why
            );
        }
    }
}

#[test]
fn a_stated_role_goes_before_what_is_recognised() {
    let text =
        amp(&format!("{INPUT}V1b unused grid V1b.cathode cathode chassis\nrole R2 attenuator \"by ear\""));
    let (circuit, recognised) = seen(&[&text]);
    let role = recognised.role(circuit.find("R2").unwrap()).unwrap();
    assert_eq!((role.kind, role.stated, role.why.as_str()), (RoleKind::Attenuator, true, "by ear"));
}
