//! One cycle of an output stage: at each step the transformer's volts are found at which the valves' currents are
//! those that the load draws.
//!
//! ```text
//! Push-pull, 5k plate to plate, at one step of the cycle: 1.25k for each half
//! asked     transformer volts v at which v = 1.25k · (i_a − i_b − mean), v up on one side and down on the other
//! v = 100   say i_a − i_b = 70 mA less 0 mean: 87.5 V, 12.5 V too high; plates' slope 0.05 mS
//! step      12.5 / (1 + 1.25k · 0.05 mS) = 11.8 V: v = 88.2, where i_a − i_b = 70.6 mA: agreed
//! load      v times the ratio is the speaker's; 48 such steps are a cycle
//! ```

use std::collections::BTreeMap;

use crate::circuit::PartId;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::{Law, Network, Node};
use crate::numeric::point::{OperatingPoint, ValvePoint};
use crate::recognise::Section;
use crate::solve::large_signal::frozen::Cutting;

/// Steps of a cycle.
const STEPS: usize = 48;
/// Cycles until the means have settled, at most.
const CYCLES: usize = 25;
/// Means that move by less than this share have settled.
const SETTLED: f64 = 1e-3;
/// The transformer's volts are found to this, in volts.
const VOLTS: f64 = 1e-4;

/// An output stage ready for cycles.
pub(in crate::solve) struct Stage {
    pub(in crate::solve) index: usize,
    pub(in crate::solve) transformer: PartId,
    pub(in crate::solve) sections: Vec<Section>,
    pub(in crate::solve) load_ohms: f64,
    pub(in crate::solve) speaker_ohms: f64,
    /// Load volts over volts of the driven winding (a half primary of a push-pull stage).
    pub(in crate::solve) ratio: f64,
    /// Transformer volts of a winding for each ampere in it.
    pub(in crate::solve) half_ohms: f64,
    pub(in crate::solve) cutting: Cutting,
    pub(in crate::solve) prepared: Prepared,
    /// Sources of the transformer's volts, with their sign.
    pub(in crate::solve) windings: Vec<(usize, f64)>,
    pub(in crate::solve) grids: Vec<Grid>,
    pub(in crate::solve) valves: Vec<Valve>,
    pub(in crate::solve) cathodes: BTreeMap<usize, Cathode>,
    pub(in crate::solve) rest: OperatingPoint,
}

pub(in crate::solve) struct Grid {
    pub(in crate::solve) source: usize,
    pub(in crate::solve) volts: f64,
    pub(in crate::solve) side: f64,
    pub(in crate::solve) cathode: Node,
}

pub(in crate::solve) struct Valve {
    pub(in crate::solve) element: usize,
    pub(in crate::solve) side: f64,
    pub(in crate::solve) cathode: Option<usize>,
}

/// A held cathode, by the position of its source: volts, and its sections' current and slope, at rest.
pub(in crate::solve) struct Cathode {
    pub(in crate::solve) volts: f64,
    pub(in crate::solve) amps: f64,
    pub(in crate::solve) gm: f64,
}

/// One cycle.
pub(in crate::solve) struct Cycle {
    pub(in crate::solve) drive: f64,
    pub(in crate::solve) load_volts: Vec<f64>,
    pub(in crate::solve) load_line: Vec<(f64, f64)>,
    /// Of each section the sums of plate amps, plate W, screen amps, screen W.
    pub(in crate::solve) sums: Vec<[f64; 4]>,
    /// Mean difference of the sides' currents.
    mean: f64,
    /// Mean cathode current of each held cathode.
    cathodes: BTreeMap<usize, f64>,
}

impl Stage {
    /// The cycle at a share of full drive, means settled.
    pub(in crate::solve) fn settle(&mut self, share: f64) -> Option<Cycle> {
        let mut mean = self.mean_at_rest();
        for (source, cathode) in &self.cathodes {
            self.cutting.set(*source, cathode.volts);
        }
        let mut cycle = self.cycle(share, mean)?;
        for _ in 0..CYCLES {
            // Over the sum at rest, since the difference of a balanced stage is next to nothing.
            let scale = self.valves.iter().map(|v| valve(&self.rest, v.element).plate_amps).sum::<f64>();
            let mut moved = (cycle.mean - mean).abs() / scale;
            // The transformer passes no direct current. Halfway: the mean follows its own shift, and whole steps
            // would overshoot.
            mean = f64::midpoint(mean, cycle.mean);
            for (source, cathode) in &self.cathodes {
                let now = volts_of(&self.cutting.network, *source);
                let wanted = cathode.volts * cycle.cathodes.get(source).copied()? / cathode.amps;
                // More volts mean less current: Newton's step by the slope at rest.
                let next = now + (wanted - now) / (1.0 + cathode.gm * cathode.volts.abs() / cathode.amps);
                moved = moved.max((next - now).abs() / cathode.volts.abs().max(1e-3));
                self.cutting.set(*source, next);
            }
            cycle = self.cycle(share, mean)?;
            if moved < SETTLED {
                break;
            }
        }
        Some(cycle)
    }

    fn mean_at_rest(&self) -> f64 {
        self.valves.iter().map(|v| v.side * valve(&self.rest, v.element).plate_amps).sum()
    }

    /// Peak drive at which the first grid reaches its cathode.
    fn full_drive(&self) -> f64 {
        let room = |grid: &Grid| {
            let held = self.cutting.fixed.values().find(|s| {
                matches!(self.cutting.network.elements[**s].law,
                    Law::VoltageSource { plus, .. } if plus == grid.cathode)
            });
            let cathode = match held {
                Some(source) => volts_of(&self.cutting.network, *source),
                None => self.rest.volts(grid.cathode).unwrap_or(0.0),
            };
            cathode - grid.volts
        };
        self.grids.iter().map(room).fold(f64::INFINITY, f64::min).max(0.0)
    }

    fn cycle(&mut self, share: f64, mean: f64) -> Option<Cycle> {
        let drive = share * self.full_drive();
        let mut cycle = Cycle {
            drive,
            load_volts: Vec::new(),
            load_line: Vec::new(),
            sums: vec![[0.0; 4]; self.valves.len()],
            mean: 0.0,
            cathodes: BTreeMap::new(),
        };
        let (mut point, mut volts) = (self.rest.clone(), 0.0);
        let steps = if share == 0.0 { 1 } else { STEPS };
        for step in 0..steps {
            // Steps at their middles: sums over them are means over the cycle, and neither crossing nor peak counts
            // twice.
            let angle = std::f64::consts::TAU * (step as f64 + 0.5) / steps as f64;
            let swing = if steps == 1 { 0.0 } else { drive * libm::sin(angle) };
            for grid in 0..self.grids.len() {
                let Grid { source, volts, side, .. } = self.grids[grid];
                self.cutting.set(source, volts + side * swing);
            }
            (point, volts) = self.balance(point, volts, mean)?;
            cycle.take(self, &point, volts);
        }
        cycle.mean /= steps as f64;
        cycle.cathodes.values_mut().for_each(|amps| *amps /= steps as f64);
        Some(cycle)
    }

    /// The transformer's volts at which valves and load agree, from those of the step before: Newton's steps by
    /// the plates' conductance, between bounds that only close in.
    fn balance(&mut self, mut point: OperatingPoint, start: f64, mean: f64) -> Option<(OperatingPoint, f64)> {
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut volts = start;
        for _ in 0..60 {
            for (source, sign) in &self.windings {
                self.cutting.set(*source, sign * volts);
            }
            point = self.prepared.solve(&self.cutting.network, Some(&point)).ok()?;
            let amps: f64 = self.valves.iter().map(|v| v.side * valve(&point, v.element).plate_amps).sum();
            let slope: f64 = self.valves.iter().map(|v| valve(&point, v.element).gp).sum();
            let miss = volts - self.half_ohms * (amps - mean);
            if miss > 0.0 {
                high = high.min(volts);
            } else {
                low = low.max(volts);
            }
            let step = miss / (1.0 + self.half_ohms * slope);
            if step.abs() < VOLTS {
                return Some((point, volts));
            }
            let next = volts - step;
            // Where a valve comes out of cut-off Newton's step may leave the bounds; halving them always arrives.
            volts = if next > low && next < high { next } else { f64::midpoint(low, high) };
        }
        Some((point, volts))
    }
}

impl Cycle {
    fn take(&mut self, stage: &Stage, point: &OperatingPoint, volts: f64) {
        self.load_volts.push(volts * stage.ratio);
        for (sum, v) in self.sums.iter_mut().zip(&stage.valves) {
            let now = valve(point, v.element);
            let parts = [now.plate_amps, now.plate_watts(), now.screen_amps, now.screen_watts()];
            sum.iter_mut().zip(parts).for_each(|(sum, part)| *sum += part);
            self.mean += v.side * now.plate_amps;
            if let Some(cathode) = v.cathode {
                *self.cathodes.entry(cathode).or_default() += now.cathode_amps();
            }
        }
        if let Some(first) = stage.valves.first() {
            let now = valve(point, first.element);
            self.load_line.push((now.plate_volts, now.plate_amps));
        }
    }
}

fn valve(point: &OperatingPoint, element: usize) -> ValvePoint {
    point.valve(element).copied().unwrap_or_default()
}

fn volts_of(network: &Network, source: usize) -> f64 {
    match network.elements[source].law {
        Law::VoltageSource { volts, .. } => volts,
        _ => 0.0,
    }
}
