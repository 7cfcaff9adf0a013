//! The output stage with a signal in it: power into the load, what plates and screens dissipate, distortion.
//!
//! Quasi-static: one cycle in steps, supplies and bias held, the transformer ideal at this frequency but for its
//! resistances. A bypassed cathode settles to its mean current. Power is what the load takes, class AB or A.

use crate::circuit::{Circuit, PartId};
use crate::numeric::outcome::Unsolved;
use crate::recognise::{Recognised, Section};
use crate::solve::large_signal::cycle::{Cycle, Stage};
use crate::solve::large_signal::stage::output_stage;
use crate::solve::signal::gain::GAIN_HERTZ;
use crate::solve::signal::model::Rig;
use crate::solve::signal::ports::Port;

/// Shares of the drive to the onset of grid current at which the stage is worked out.
// To where a grid reaches its cathode: beyond it the driver decides, and class AB2 is not asked.
pub const DRIVES: [f64; 6] = [0.0, 0.2, 0.4, 0.6, 0.8, 1.0];

/// An output stage's large-signal behaviour.
#[derive(Debug, Clone, PartialEq)]
pub struct Power {
    /// Index into [`Recognised::stages`].
    pub stage: usize,
    /// The output transformer.
    pub transformer: PartId,
    /// What the plates see at 1 kHz without the winding's own resistance: plate to plate of a push-pull stage.
    pub load_ohms: f64,
    /// At [`DRIVES`].
    pub points: Vec<PowerPoint>,
    /// Plate volts and plate current of the first section over one cycle at full drive: its load line.
    pub load_line: Vec<(f64, f64)>,
}

/// One level of drive.
#[derive(Debug, Clone, PartialEq)]
pub struct PowerPoint {
    /// Share of the drive at which a grid reaches its cathode's volts.
    pub share: f64,
    /// Peak volts at each grid.
    pub drive: f64,
    /// Into the load, W.
    pub watts: f64,
    /// Of each section: mean plate current, A; plate W; screen current, A; screen W.
    pub sections: Vec<SectionPower>,
    /// Second to fifth harmonic over the fundamental, rms; `None` at rest.
    pub distortion: Option<f64>,
}

/// Means over a cycle of one valve section.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionPower {
    /// The section.
    pub section: Section,
    /// Plate current, A.
    pub plate_amps: f64,
    /// Plate dissipation, W.
    pub plate_watts: f64,
    /// Screen current, A.
    pub screen_amps: f64,
    /// Screen dissipation, W.
    pub screen_watts: f64,
}

impl Power {
    /// At full drive.
    pub fn full(&self) -> Option<&PowerPoint> {
        self.points.last()
    }
}

/// Works out the first output stage with a load; `None` where there is none.
pub fn power(
    rig: &Rig,
    circuit: &Circuit,
    recognised: &Recognised,
    ports: &[Port],
) -> Result<Option<Power>, Unsolved> {
    let Some(mut stage) = output_stage(rig, circuit, recognised, ports, GAIN_HERTZ)? else { return Ok(None) };
    let mut points = Vec::new();
    let mut load_line = Vec::new();
    for share in DRIVES {
        let Some(cycle) = stage.settle(share) else { return Ok(None) };
        points.push(point(&stage, share, &cycle));
        load_line.clone_from(&cycle.load_line);
    }
    let (index, transformer, load_ohms) = (stage.index, stage.transformer, stage.load_ohms);
    Ok(Some(Power { stage: index, transformer, load_ohms, points, load_line }))
}

fn point(stage: &Stage, share: f64, cycle: &Cycle) -> PowerPoint {
    let steps = cycle.load_volts.len() as f64;
    let square: f64 = cycle.load_volts.iter().map(|v| v * v).sum();
    let sections = stage.sections.iter().zip(&cycle.sums).map(|(section, sum)| SectionPower {
        section: section.clone(),
        plate_amps: sum[0] / steps,
        plate_watts: sum[1] / steps,
        screen_amps: sum[2] / steps,
        screen_watts: sum[3] / steps,
    });
    PowerPoint {
        share,
        drive: cycle.drive,
        watts: square / steps / stage.speaker_ohms,
        sections: sections.collect(),
        distortion: (share > 0.0).then(|| distortion(&cycle.load_volts)).flatten(),
    }
}

/// Second to fifth harmonic over the fundamental of one cycle's equal steps.
fn distortion(volts: &[f64]) -> Option<f64> {
    let size = |order: usize| {
        let angle =
            |step: usize| std::f64::consts::TAU * order as f64 * (step as f64 + 0.5) / volts.len() as f64;
        let sum = |f: fn(f64) -> f64| volts.iter().enumerate().map(|(i, v)| v * f(angle(i))).sum::<f64>();
        libm::hypot(sum(libm::cos), sum(libm::sin))
    };
    let rest: f64 = (2..=5).map(|order| size(order) * size(order)).sum();
    (size(1) > 0.0).then(|| rest.sqrt() / size(1))
}
