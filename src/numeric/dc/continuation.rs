//! Ways to an operating point: straight, and the fallbacks that approach it in stages.
//!
//! ```text
//! Source stepping, sources at a share of their values, each stage started from the last good one:
//! 0.1 converges   next stage twice as long: 0.1 + 0.2
//! 0.3 converges   0.3 + 0.4
//! 0.7 fails       back to 0.3, a quarter as far: 0.3 + 0.1
//! 0.4 converges   0.4 + 0.2 … until a stage of 1.0 converges, which is the answer
//! ```

use crate::numeric::dc::newton::{End, Iteration};

/// Newton steps of a straight attempt.
pub(crate) const STEPS: usize = 60;
/// Newton steps of each stage of source and shunt stepping.
const STAGE_STEPS: usize = 40;
/// The first stage of source stepping, as a share of the sources.
const FIRST_STAGE: f64 = 0.1;
/// Source stepping gives up below this …
const SMALLEST_STAGE: f64 = 1e-4;
/// … and after so many stages.
const SOURCE_STAGES: usize = 200;
/// Shunt stepping starts here, in siemens …
// 100 Ω from every node to chassis: less than anything beside it in a valve amplifier, so that 0 V is a good start.
const FIRST_SHUNT: f64 = 1e-2;
/// … goes down by this factor …
const SHUNT_FACTOR: f64 = 0.1;
/// … and after this it is taken away.
// Next to a grid leak of 10 MΩ this is a share of 1e-8: taking it away moves no node further than a few Newton steps
// go.
const LAST_SHUNT: f64 = 1e-15;
/// Stages of anchored stepping …
// About 44 halvings lead from the first conductance to the last; the rest is for stages taken back.
const ANCHOR_STAGES: usize = 400;
/// … the Newton steps of each …
const ANCHOR_STEPS: usize = 12;
/// … and the factor from one conductance to the next.
const ANCHOR_FACTOR: f64 = 0.5;

impl Iteration {
    /// Straight from the start, straight from cold, by source stepping, by shunt stepping, by anchored
    /// stepping: the first that converges with whole sources and without shunt.
    pub(crate) fn converge(&mut self, start: Option<&[f64]>) -> Result<(), End> {
        if let Some(start) = start
            && start.len() == self.x.len()
        {
            self.x.copy_from_slice(start);
            if self.run(1.0, 0.0, STEPS).is_ok() {
                return Ok(());
            }
        }
        self.x.fill(0.0);
        let end = match self.run(1.0, 0.0, STEPS) {
            Ok(()) => return Ok(()),
            Err(end) => end,
        };
        if self.step_sources().is_ok() {
            return Ok(());
        }
        if self.step_shunt().is_ok() {
            return Ok(());
        }
        match (self.step_anchor(), end) {
            // The straight attempt's end names the unknown that nothing determines; the fallbacks' ends tell only
            // where they were when they gave up.
            (Err(_), End::Singular { .. }) => Err(end),
            (other, _) => other,
        }
    }

    fn step_sources(&mut self) -> Result<(), End> {
        self.x.fill(0.0);
        let mut reached = 0.0;
        let mut stage = FIRST_STAGE;
        let mut good = self.x.clone();
        for _ in 0..SOURCE_STAGES {
            let next = f64::min(reached + stage, 1.0);
            match self.run(next, 0.0, STAGE_STEPS) {
                // The last stage is the whole circuit: its convergence is the answer's, no further solve.
                Ok(()) if next == 1.0 => return Ok(()),
                Ok(()) => {
                    reached = next;
                    stage *= 2.0;
                    good.copy_from_slice(&self.x);
                }
                // A singular matrix is as a rule a missing path, which no share of the sources makes up for.
                Err(end) if stage < SMALLEST_STAGE || matches!(end, End::Singular { .. }) => return Err(end),
                Err(_) => {
                    // Doubled on success and only halved on failure it would try the share that has just failed
                    // again.
                    stage /= 4.0;
                    self.x.copy_from_slice(&good);
                }
            }
        }
        Err(End::OutOfSteps)
    }

    fn step_shunt(&mut self) -> Result<(), End> {
        self.x.fill(0.0);
        let mut shunt = FIRST_SHUNT;
        while shunt >= LAST_SHUNT {
            self.run(1.0, shunt, STAGE_STEPS)?;
            shunt *= SHUNT_FACTOR;
        }
        self.run(1.0, 0.0, STEPS)
    }

    /// As if every node had charge to lose: a conductance from each to the volts it had, smaller at each stage.
    /// Pseudo-transient continuation: a time constant without a clock, backward Euler's steps growing as they succeed
    /// (C. T. Kelley and D. E. Keyes, SIAM J. Numer. Anal. 35(2), 1998, from memory). It passes folds at which a path
    /// of source or shunt stepping ends.
    fn step_anchor(&mut self) -> Result<(), End> {
        self.x.fill(0.0);
        let mut good = self.x.clone();
        let mut shunt = FIRST_SHUNT;
        for _ in 0..ANCHOR_STAGES {
            self.anchor.copy_from_slice(&good);
            let end = self.run(1.0, shunt, ANCHOR_STEPS);
            if end.is_ok() {
                good.copy_from_slice(&self.x);
                shunt *= ANCHOR_FACTOR;
            } else {
                self.x.copy_from_slice(&good);
                // Two halvings back for one forward: the failed conductance is not met again on the next try.
                shunt /= ANCHOR_FACTOR * ANCHOR_FACTOR;
            }
            if shunt < LAST_SHUNT {
                break;
            }
        }
        // For all runs after this one a shunt means one to chassis.
        self.anchor.fill(0.0);
        self.run(1.0, 0.0, STEPS)
    }
}
