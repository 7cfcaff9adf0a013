//! Documents whose rails come from the mains: solved with what draws on them, in every condition.

#![allow(clippy::unwrap_used, reason = "a test that cannot solve its circuit has failed")]

use asfound::analysis::{Worked, work_out};
use asfound::circuit::Circuit;
use asfound::solve::{Condition, Solved};

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
    work_out(circuit, 0, &Condition::ALL).unwrap_or_else(|trouble| panic!("{trouble:?}"))
}

pub(crate) fn volts(circuit: &Circuit, solved: &Solved, net: &str) -> f64 {
    solved.net_volts(circuit.find_net(net).unwrap()).unwrap_or(f64::NAN)
}

#[test]
fn a_whole_amplifier_from_the_socket_stands_in_order_in_every_condition() {
    let worked = worked(support::stock(RUSHMERE));
    let at = |condition: Condition, net: &str| {
        volts(&worked.circuit, &worked.solved.by_condition[&condition], net)
    };
    let (idle, high) = (at(Condition::Idle, "B1"), at(Condition::HighMains, "B1"));
    assert!(at(Condition::LowMains, "B1") < idle && idle < high, "{idle} {high}");
    // Nothing draws yet at a cold start, and the mains is at its high limit.
    assert!(at(Condition::ColdStart, "B1") > high);
    assert!(at(Condition::Idle, "B2") < idle && at(Condition::Idle, "BIAS") < -5.0);
    let solved = &worked.solved.by_condition[&Condition::Idle];
    assert!(!solved.supplies.is_empty());
    for supply in &solved.supplies {
        for rectifier in &supply.rectifiers {
            let amps = &rectifier.amps;
            assert!(amps.greatest >= amps.rms && amps.rms >= amps.mean);
        }
    }
}
