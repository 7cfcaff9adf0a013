//! Circuits of the other schools: cross-line controls, bridges, paraphase, post-inverter masters, other tone networks.

use asfound::recognise::StageKind;

use super::small::INPUT;
use super::{amp, assert_seen, seen};

const IDLE: &str = "V1b unused grid V1b.cathode cathode chassis\n";

/// Names of the stages.
fn stages(text: &str) -> Vec<String> {
    let (circuit, recognised) = seen(&[text]);
    super::outline(&circuit, &recognised).lines().take(recognised.stages.len()).map(str::to_owned).collect()
}

#[test]
fn a_follower_with_a_bias_resistor_and_a_coupling_capacitor() {
    let text = amp(&format!(
        "{INPUT}capacitor C2 22n from V1a.plate to V1b.grid\nresistor R5 1M from V1b.grid to R7.1\n\
         resistor R6 1k5 from V1b.cathode to R7.1\nresistor R7 47k to chassis\nlink W1 from B2 to V1b.plate\n\
         capacitor C3 1u film from V1b.cathode to J2.tip\njack J2 sleeve chassis\n"
    ));
    assert_seen(
        &text,
        &["first stage: V1a common cathode, bypassed", "cathode follower: V1b cathode follower"],
        &[
            "R5: grid leak, cathode follower",
            "R6: cathode resistor, cathode follower",
            "R7: follower load, cathode follower",
            "C3: coupling capacitor, cathode follower",
        ],
    );
}

#[test]
fn a_paraphase_inverter_is_two_stages_one_after_the_other() {
    let text = amp(&format!(
        "{INPUT}capacitor C2 22n from V1a.plate to R5.1\nresistor R5 470k to V1b.grid\n\
         resistor R6 22k from V1b.grid to chassis\nresistor R7 1k5 from V1b.cathode to chassis\n\
         resistor R8 100k from B2 to V1b.plate\ncapacitor C3 22n from V1b.plate to V5.grid\n\
         link W1 from C2.2 to V4.grid\nresistor R9 470k from V5.grid to chassis\n\
         tube V4 6V6GT screen B2 cathode KK\ntube V5 6V6GT screen B2 cathode KK\nnet KK\n\
         resistor R10 250R 5W from KK to chassis\n\
         output-transformer T2 primary 8k plates V4.plate V5.plate supply B1 common chassis taps 8R\n\
         speaker LS1 8R from T2.8R to chassis\n"
    ));
    let names = stages(&text);
    assert_eq!(names.len(), 3, "{names:?}");
    assert_eq!(names[1], "second stage: V1b common cathode, not bypassed");
    assert_eq!(names[2], "output stage: V4 V5 push-pull output, cathode bias");
}

#[test]
fn a_pair_without_bias_resistor_a_cut_control_and_a_master_after_it() {
    let text = amp(&format!(
        "{INPUT}{IDLE}tube V3 ECC83\ncapacitor C10 22n from V1a.plate to V3a.grid\n\
         resistor R20 1M from V3a.grid to chassis\nresistor R21 1M from V3b.grid to chassis\n\
         capacitor C11 100n from V3b.grid to chassis\nlink W4 from V3a.cathode to V3b.cathode\n\
         resistor R23 47k from V3a.cathode to NEG\nsource BIAS2 60V plus chassis minus NEG\nnet NEG\n\
         resistor R25 100k from B2 to V3a.plate\nresistor R26 100k from B2 to V3b.plate\n\
         capacitor C13 100n from V3a.plate to VR5.top\ncapacitor C14 100n from V3b.plate to VR6.top\n\
         pot VR5 220k bottom chassis at 100%\npot VR6 220k bottom chassis ganged with VR5 at 100%\n\
         resistor R40 1k5 from VR5.wiper to V4.grid\nresistor R41 1k5 from VR6.wiper to V5.grid\n\
         pot VR7 250k lin \"Cut\" top VR5.top wiper C15.1\ncapacitor C15 4n7 to VR6.top\n\
         tube V4 EL84 screen B1\ntube V5 EL84 screen B1\nresistor R30 130R 5W from V4.cathode to chassis\n\
         link W5 from V4.cathode to V5.cathode\n\
         output-transformer T2 primary 8k plates V4.plate V5.plate supply B1 common chassis taps 8R\n\
         speaker LS1 8R from T2.8R to chassis\n"
    ));
    assert_seen(
        &text,
        &[
            "first stage: V1a common cathode, bypassed",
            "phase inverter: V3a V3b long-tailed pair",
            "output stage: V4 V5 push-pull output, cathode bias",
        ],
        &[
            "R23: tail resistor, phase inverter",
            "R20: grid leak, phase inverter",
            "C11: inverter grid capacitor, phase inverter",
            "VR5: volume control, phase inverter",
            "VR6: volume control, phase inverter",
            "R40: grid stopper, output stage",
            "VR7: tone control, phase inverter",
            "C15: tone capacitor, phase inverter",
            "C13: coupling capacitor, phase inverter",
        ],
    );
}

#[test]
fn a_bridge_of_four_diodes_and_a_bias_control_for_each_valve() {
    let text = "stock \"Bridge\"
mains 230V 50Hz
transformer T1 mains
winding T1.primary 230V 9R
winding T1.ht 300V 40R
winding T1.bias 50V 20R
link W9 from T1.bias.b to chassis
diode D1 1N4007 anode T1.ht.a cathode RAW
diode D2 1N4007 anode T1.ht.b cathode RAW
diode D3 1N4007 anode chassis cathode T1.ht.a
diode D4 1N4007 anode chassis cathode T1.ht.b
net RAW
capacitor C50 100u 500V electrolytic plus RAW minus chassis
resistor R50 100R 10W from RAW to B1
rail B1
capacitor C51 47u 500V electrolytic plus B1 minus chassis
diode D5 1N4007 cathode T1.bias.a anode NEG
net NEG
capacitor C60 100u 100V electrolytic plus chassis minus NEG
trimmer VR8 50k top NEG bottom R60.1 at 50%
resistor R60 22k to chassis
trimmer VR9 50k top NEG bottom R60.1 at 50%
capacitor C61 10u 100V electrolytic plus chassis minus VR8.wiper
capacitor C62 10u 100V electrolytic plus chassis minus VR9.wiper
resistor R61 220k from VR8.wiper to V4.grid
resistor R62 220k from VR9.wiper to V5.grid
tube V4 EL34 cathode chassis
tube V5 EL34 cathode chassis
resistor R63 1k 5W from B1 to V4.screen
resistor R64 1k 5W from B1 to V5.screen
jack J1 sleeve chassis
jack J2 sleeve chassis
capacitor C63 100n from J1.tip to V4.grid
capacitor C64 100n from J2.tip to V5.grid
output-transformer T2 primary 3k4 plates V4.plate V5.plate supply B1 common chassis taps 8R
speaker LS1 8R from T2.8R to chassis
";
    assert_seen(
        text,
        &["output stage: V4 V5 push-pull output, fixed bias"],
        &[
            "D1: rectifier",
            "D3: rectifier",
            "D5: bias rectifier",
            "C50: reservoir",
            "C51: filter capacitor",
            "R50: dropper",
            "VR8: bias control",
            "VR9: bias control",
            "R60: bias range",
            "C61: bias filter",
            "R61: grid leak, output stage",
            "C63: coupling capacitor, output stage",
        ],
    );
}

#[test]
fn a_tone_network_on_a_plate_with_its_volume_and_a_fixed_middle() {
    let text = amp(&format!(
        "{INPUT}capacitor C2 250p ceramic from V1a.plate to VR1.top\npot VR1 250k log \"Treble\" wiper VR3.top\n\
         resistor R5 100k from V1a.plate to C3.1\ncapacitor C3 100n to VR1.bottom\n\
         pot VR2 250k log \"Bass\" top VR1.bottom wiper R6.1\ncapacitor C4 47n from R5.2 to R6.1\n\
         resistor R6 6k8 to chassis\npot VR3 1M log \"Volume\" bottom chassis\n\
         capacitor C5 120p ceramic from VR3.top to VR3.wiper\nlink W1 from VR3.wiper to V1b.grid\n\
         resistor R7 1k5 from V1b.cathode to chassis\nresistor R8 100k from B2 to V1b.plate\nopen VR2.bottom\n"
    ));
    assert_seen(
        &text,
        &["first stage: V1a common cathode, bypassed", "second stage: V1b common cathode, not bypassed"],
        &[
            "VR1: tone control, first stage",
            "VR2: tone control, first stage",
            "VR3: volume control, first stage",
            "C2: tone capacitor, first stage",
            "C3: tone capacitor, first stage",
            "C4: tone capacitor, first stage",
            "R5: tone resistor, first stage",
            "R6: tone resistor, first stage",
            "C5: bright capacitor, first stage",
        ],
    );
}

#[test]
fn treble_and_bass_on_either_side_of_the_middle() {
    let text = amp(&format!(
        "{INPUT}capacitor C2 22n from V1a.plate to R5.1\nresistor R5 100k to VR2.top\n\
         pot VR2 1M log \"Bass\" bottom R6.1 wiper R7.1\nresistor R6 10k to chassis\n\
         capacitor C3 2n2 from VR2.top to VR2.wiper\ncapacitor C4 22n from VR2.wiper to VR2.bottom\n\
         resistor R7 100k to V1b.grid\ncapacitor C5 470p from C2.2 to VR1.top\n\
         pot VR1 1M log \"Treble\" wiper V1b.grid\ncapacitor C6 4n7 from VR1.bottom to chassis\n\
         resistor R8 1k5 from V1b.cathode to chassis\nresistor R9 100k from B2 to V1b.plate\n"
    ));
    assert_seen(
        &text,
        &["first stage: V1a common cathode, bypassed", "second stage: V1b common cathode, not bypassed"],
        &[
            "VR1: tone control, first stage",
            "C2: coupling capacitor, first stage",
            "C5: tone capacitor, first stage",
            "C6: tone capacitor, first stage",
        ],
    );
}

#[test]
fn two_channels_mixed_at_the_tops_of_their_controls() {
    let text = amp(&format!(
        "{INPUT}capacitor C2 22n from V1a.plate to VR1.wiper\npot VR1 500k log bottom chassis\n\
         jack J2 sleeve chassis\nresistor R5 1M from J2.tip to chassis\nlink W1 from J2.tip to V1b.grid\n\
         resistor R6 1k5 from V1b.cathode to chassis\nresistor R7 100k from B2 to V1b.plate\n\
         capacitor C3 22n from V1b.plate to VR2.wiper\npot VR2 500k log bottom chassis\n\
         link W2 from VR1.top to VR2.top\ntube V4 6V6GT screen B2\nlink W3 from VR1.top to V4.grid\n\
         resistor R8 470R 5W from V4.cathode to chassis\n\
         output-transformer T2 primary 5k plate V4.plate supply B1 common chassis taps 8R\n\
         speaker LS1 8R from T2.8R to chassis\n"
    ));
    assert_seen(
        &text,
        &[
            "first stage, channel 1: V1a common cathode, bypassed",
            "first stage, channel 2: V1b common cathode, not bypassed",
            "output stage: V4 single-ended output, cathode bias",
        ],
        &["VR1: volume control, first stage, channel 1", "VR2: volume control, first stage, channel 2"],
    );
}

#[test]
fn two_stages_that_share_a_bypassed_cathode_resistor_are_no_pair() {
    let text = amp(&format!(
        "{INPUT}jack J2 sleeve chassis\nresistor R5 1M from J2.tip to chassis\nresistor R6 68k from J2.tip to V1b.grid\n\
         link W1 from V1a.cathode to V1b.cathode\nresistor R7 100k from B2 to V1b.plate\n"
    ));
    let (_, recognised) = seen(&[&text]);
    let kinds: Vec<StageKind> = recognised.stages.iter().map(|s| s.kind).collect();
    assert_eq!(kinds, [StageKind::CommonCathode { bypassed: true }; 2]);
}

#[test]
fn a_section_without_load_or_cathode_path_is_strange() {
    let text = amp(&format!(
        "{INPUT}resistor R5 1M from V1b.grid to chassis\nresistor R6 1k from V1b.cathode to B2\n"
    ));
    let (circuit, recognised) = seen(&[&text]);
    let strange: Vec<String> = recognised
        .strange_sections
        .iter()
        .map(|s| format!("{}{}", circuit.part(s.tube).name, s.letter))
        .collect();
    assert_eq!(strange, ["V1b"]);
    let left: Vec<&str> = recognised.unrecognised.iter().map(|p| circuit.part(*p).name.as_str()).collect();
    assert_eq!(left, ["R5", "R6"]);
}

#[test]
fn an_oscillator_that_feeds_itself_is_a_stage_and_ends() {
    let text = amp(&format!(
        "{INPUT}capacitor C2 10n from V1b.plate to R5.1\nresistor R5 1M to chassis\ncapacitor C3 10n from R5.1 to R6.1\n\
         resistor R6 1M to chassis\ncapacitor C4 10n from R6.1 to V1b.grid\nresistor R7 1M from V1b.grid to chassis\n\
         resistor R8 2k7 from V1b.cathode to chassis\ncapacitor C5 22u 25V electrolytic plus V1b.cathode minus chassis\n\
         resistor R9 220k from B2 to V1b.plate\n"
    ));
    let (circuit, recognised) = seen(&[&text]);
    assert_eq!(recognised.stages.len(), 2, "{}", super::table(&circuit, &recognised));
}
