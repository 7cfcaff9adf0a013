//! The resistance that a grid's current finds, as its impedance so near DC that every capacitor is open.

use asfound::analysis::Worked;
use asfound::circuit::CHASSIS;
use asfound::recognise::{Stage, StageKind};
use asfound::solve::Setup;
use asfound::solve::signal::model::Rig;
use asfound::solve::signal::ports::ports;

use super::hazard::{Hazard, OVER};

/// Low enough that megohms and microfarads don't meet.
const NEAR_DC: f64 = 1e-7;

/// Stages whose grids return through more than their valves' type allows, by the name of the first valve.
pub(super) fn grid_circuits(worked: &Worked) -> Vec<Hazard> {
    let Ok(mut rig) = Rig::new(&worked.circuit, &worked.recognised, &Setup::idle()) else {
        return Vec::new();
    };
    if rig.linear.tune(NEAR_DC).is_err() {
        return Vec::new();
    }
    let ports = ports(&worked.circuit, &worked.recognised, rig.output);
    let mut found = Vec::new();
    for (index, stage) in worked.recognised.stages.iter().enumerate() {
        // All grids of a stage carry the same, so that what they share counts for each.
        let own = ports.iter().filter(|p| p.stage == index).flat_map(|p| &p.grids);
        let nodes: Vec<usize> = own.filter_map(|net| rig.node(*net)).collect();
        let all: Vec<(usize, f64)> = nodes.iter().map(|node| (*node, 1.0)).collect();
        if all.is_empty() || rig.linear.inject(&all).is_err() {
            continue;
        }
        let ohms = nodes
            .iter()
            .filter_map(|node| rig.linear.phasor(*node))
            .map(num_complex::Complex::norm)
            .fold(0.0, f64::max);
        if limit(worked, stage).is_some_and(|most| ohms > OVER * most) {
            found.push((name(worked, stage), "grid circuit"));
        }
    }
    found
}

/// Whichever half the signal comes in by, so that a stage keeps its name where that changes.
fn name(worked: &Worked, stage: &Stage) -> String {
    let names = stage.sections.iter().map(|s| format!("{}{}", worked.circuit.part(s.tube).name, s.letter));
    names.min().unwrap_or_default()
}

fn limit(worked: &Worked, stage: &Stage) -> Option<f64> {
    let tube = stage.sections.first()?.tube;
    let of = worked.circuit.types.tube(worked.circuit.part(tube).component.body.type_name.as_deref()?)?;
    let fixed = matches!(
        stage.kind,
        StageKind::SingleEndedOutput { fixed_bias: true } | StageKind::PushPullOutput { fixed_bias: true }
    );
    let leg = if stage.sections[0].letter.is_empty() {
        "cathode".into()
    } else {
        format!("{}.cathode", stage.sections[0].letter)
    };
    // Biased by its own grid current over megohms, for which data sheets allow many times more.
    if !stage.kind.is_output() && worked.circuit.leg_net(tube, &leg) == Some(CHASSIS) {
        return None;
    }
    of.limit(if fixed { "grid-circuit-fixed-bias" } else { "grid-circuit-cathode-bias" })
}
