//! What to mind wherever output leads someone to open, measure or power an amplifier.

use crate::solve::decay::HARMLESS_VOLTS;
use crate::solve::touch::{PLUG_SECONDS, PlugCharge, PulledPlug};
use crate::units::{Unit, rounded};

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
