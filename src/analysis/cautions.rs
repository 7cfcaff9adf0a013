//! What to mind wherever output leads someone to open, measure or power an amplifier.

use crate::analysis::supply::STING_JOULES;
use crate::circuit::Circuit;
use crate::numeric::time::discharge::Fall;
use crate::solve::decay::{Charge, HARMLESS_VOLTS, Stored};
use crate::solve::touch::{PLUG_SECONDS, PlugCharge, PulledPlug};
use crate::units::{Unit, duration, rounded};

/// All of it in one line, the end of every page that leads someone to open or probe.
pub const CAUTION: &str =
    "Chassis volts kill. Unplug, discharge, verify; local codes and licensed practice come first.";

/// Short and plain, the order in which they matter.
pub const CAUTIONS: [&str; 6] = [
    "Chassis voltages kill. Local electrical codes and licensed practice come first; if this is not your trade, \
     stop here.",
    "Pull the mains plug, wait, then discharge every filter capacitor through a resistor and verify with a meter: \
     they hold their charge for long after switch-off, bleeders fail.",
    "Measure live circuits with one hand, the other in your pocket, meter leads clipped on before power.",
    "First power-up through a lamp limiter or another current limit, speaker or dummy load connected.",
    "An isolation transformer protects you from one fault of the mains, not from the high tension inside.",
    "Figures here are predictions from what the documents say. The meter has the last word.",
];

/// What this amplifier's plug asks for: every two pins that keep more than harmless volts, however little is behind them.
pub fn at_the_plug(plug: &PulledPlug) -> Vec<String> {
    let over = plug.charges.iter().filter(|charge| charge.volts > HARMLESS_VOLTS);
    let told = |charge: &PlugCharge| {
        format!(
            "{PLUG_SECONDS} s after the plug is pulled, its pins keep {} between {}: {} on {}.",
            rounded(charge.volts, Unit::Volt, 3),
            charge.between(),
            rounded(charge.joules, Unit::Joule, 2),
            rounded(charge.farads, Unit::Farad, 2),
        )
    };
    over.map(told).chain(plug.unjudged.iter().map(|why| format!("{why}."))).collect()
}

/// What this amplifier's capacitors ask for after switching off: each that nothing discharges, the one that stays dangerous
/// the longest, each that a reading shows to be charged; and what is not known of them.
pub fn in_its_capacitors(circuit: &Circuit, charge: &Charge) -> Vec<String> {
    let holds = |stored: &Stored| {
        let name = &circuit.part(stored.part).name;
        let (joules, state) = (rounded(stored.joules, Unit::Joule, 2), &stored.state);
        let after = if state.is_empty() { String::new() } else { format!(", {state}") };
        match stored.fall {
            Fall::After(s) => {
                format!("{name} holds {joules}, above 60 V for {} after switch-off{after}.", duration(s))
            }
            _ => format!("{name} keeps {joules} after switch-off: nothing discharges it{after}."),
        }
    };
    let told = || charge.stored.iter().filter(|s| s.joules > STING_JOULES);
    let dangerous = |s: &&Stored| matches!(s.fall, Fall::After(_));
    let seconds = |s: &Stored| s.fall.seconds().unwrap_or(f64::INFINITY);
    let longest = told().filter(dangerous).max_by(|a, b| seconds(a).total_cmp(&seconds(b)));
    let kept = told().filter(|s| s.fall == Fall::Never).chain(longest).map(holds);
    let read = told().filter(|s| s.by_readings).map(|s| {
        let volts = rounded(s.volts.abs(), Unit::Volt, 3);
        format!(
            "{} is charged to {volts} by what was read; the prediction says less.",
            circuit.part(s.part).name
        )
    });
    kept.chain(read).chain(charge.unjudged.iter().map(|why| unknown_charge(why))).collect()
}

/// What to mind where it is not known what the capacitors keep.
pub fn unknown_charge(why: &str) -> String {
    format!("Take every capacitor for charged: {why}.")
}
