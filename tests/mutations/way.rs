//! What of each stage's signal arrives at the next, by the names of their valves.

use std::collections::BTreeMap;

use asfound::analysis::Worked;
use asfound::recognise::Stage;
use asfound::solve::Setup;
use asfound::solve::signal::gain::{GAIN_HERTZ, gains};
use asfound::solve::signal::model::Rig;
use asfound::solve::signal::ports::ports;

/// Next grids over output at 1 kHz, in dB, by `V1a to V1b`; nothing where the circuit has no operating point.
pub(super) fn ways(worked: &Worked) -> BTreeMap<String, f64> {
    let (circuit, recognised) = (&worked.circuit, &worked.recognised);
    let Ok(mut rig) = Rig::new(circuit, recognised, &Setup::idle()) else { return BTreeMap::new() };
    let ports = ports(circuit, recognised, rig.output);
    let Ok(found) = gains(&mut rig, recognised, &ports, GAIN_HERTZ) else { return BTreeMap::new() };
    let valves = |stage: &Stage| {
        let name = |s: &asfound::recognise::Section| format!("{}{}", circuit.part(s.tube).name, s.letter);
        stage.sections.first().map_or(String::new(), name)
    };
    let mut ratios: BTreeMap<String, f64> = BTreeMap::new();
    for coupling in &found.couplings {
        let between = &recognised.couplings[coupling.coupling];
        let ends = [between.from, between.to].map(|stage| valves(&recognised.stages[stage]));
        *ratios.entry(ends.join(" to ")).or_default() += coupling.gain.norm();
    }
    ratios.into_iter().map(|(name, ratio)| (name, 20.0 * libm::log10(ratio))).collect()
}
