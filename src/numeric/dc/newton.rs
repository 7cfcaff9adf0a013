//! Damped Newton iteration over the equations of a network, and when it has converged.
//!
//! ```text
//! 10 V through 1 kΩ into a rectifier valve of 1 mA/V^1.5: V + V^1.5 = 10 (volts, milliamperes)
//! from   out of balance   slope   next      from     out of balance   slope   next
//! 0      −10              1       10        3.5320   0.1700           3.819   3.48751
//! 10     31.62            5.743   4.4941    3.4875   0.0004           3.801   3.487407
//! 4.4941 4.021            4.180   3.5320    the next step moves 6e-10 V: balanced, 6.51 mA
//! ```

use crate::numeric::dc::device::Device;
use crate::numeric::dc::islands::Mode;
use crate::numeric::dc::stamp::{Equations, Scale};
use crate::numeric::linear::pattern::Pattern;
use crate::numeric::linear::sparse::{Lu, SingularColumn};
use crate::numeric::point::ValvePoint;

/// Currents at a net may miss balance by this, in amperes …
// A grid leak of 10 MΩ makes 1 µV of it: far below what matters at any electrode.
const BALANCE_AMPS: f64 = 1e-13;
/// … or by this share of the sum of their sizes …
// Stiff nets need the third bound: through 10 Ω at 400 V a current is the difference of two of 40 A, whose last digit
// is 7e-15 A, and several such meet at a net.
const BALANCE_SHARE: f64 = 1e-10;
/// … or by this share of the sum of conductance times volts: the rounding of their computation.
const ROUNDING_SHARE: f64 = 16.0 * f64::EPSILON;
/// A branch's equation may miss by this, in volts.
const BRANCH_VOLTS: f64 = 1e-12;
/// The last step may move no voltage by more than this, in volts …
// Balance alone is not enough: a net on 1 GΩ balances within 0.1 pA at volts that are 0.1 mV off. The step tests
// volts.
const STEP_VOLTS: f64 = 1e-8;
/// … plus this share of it.
const STEP_SHARE: f64 = 1e-9;
/// Voltages past this have run away.
// No circuit has so many; left to run, squares of them would overflow in the valves' laws and end as a plain NaN.
const RUNAWAY_VOLTS: f64 = 1e12;
/// Steps taken whole before damping may set in.
// From 0 V the first whole step may leave more unbalanced than before and still lead straight on, as in the example
// above; damped from the start the iteration would creep.
const FREE_STEPS: usize = 8;
/// The smallest share of a step that damping leaves.
// Below this the direction is wrong, not the length: the fallbacks (`continuation`) find another way sooner.
const SMALLEST_SHARE: f64 = 1.0 / 64.0;
/// Small steps without balance after which the iteration has stalled.
const STALLED_STEPS: usize = 5;

/// Plate, screen and grid conductance, in siemens, of a valve taken as resistors.
// A small power valve at work: rp 20 kΩ, its screen a tenth of that. Only the start and a sign hang on it, no answer.
const PASSIVE: [f64; 3] = [5e-5, 5e-6, 1e-9];

/// How an iteration ended without an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    Stalled,
    Diverged,
    OutOfSteps,
    Singular { unknown: usize },
}

impl From<SingularColumn> for End {
    fn from(column: SingularColumn) -> Self {
        Self::Singular { unknown: column.0 }
    }
}

/// The iteration's matrix and vectors, allocated once.
#[derive(Debug, Clone)]
pub(crate) struct Iteration {
    pub(crate) equations: Equations,
    /// The unknowns, and a last entry that stays 0 for the chassis.
    pub(crate) x: Vec<f64>,
    /// The volts to which shunts go: 0 for the chassis.
    pub(crate) anchor: Vec<f64>,
    lu: Lu<f64>,
    /// The place among the values of each contribution, in the order in which they are emitted: the constant
    /// part, the devices, the nodes' own diagonals.
    places: Vec<u32>,
    constant: Vec<f64>,
    values: Vec<f64>,
    rest: Vec<f64>,
    step: Vec<f64>,
    scales: Vec<Scale>,
    rest_sign: Option<f64>,
    sign_known: bool,
}

impl Iteration {
    /// Lays out the matrix of the equations; starts at 0 V everywhere.
    pub(crate) fn new(equations: Equations) -> Self {
        let mut entries = Vec::new();
        equations.stamp(|row, column, _, _| entries.push((row, column)));
        for device in &equations.devices {
            device.stamp(false, |row, column, _| entries.push((row, column)));
        }
        entries.extend((0..equations.node_rows as u32).map(|row| (row, row)));
        let (pattern, places) = Pattern::new(equations.size, &entries);
        let (values, rows) = (vec![0.0; pattern.entries() + 1], equations.size + 1);
        Self {
            x: vec![0.0; rows],
            anchor: vec![0.0; rows],
            lu: Lu::new(pattern),
            places,
            constant: values.clone(),
            values,
            rest: vec![0.0; rows],
            step: vec![0.0; rows],
            scales: vec![Scale::default(); rows],
            rest_sign: None,
            sign_known: false,
            equations,
        }
    }

    /// Sums the constant part of the matrix anew; after every [`Equations::reload`].
    pub(crate) fn load(&mut self) {
        self.constant.fill(0.0);
        let mut places = self.places.iter();
        self.equations.stamp(|_, _, value, _| {
            if let Some(&place) = places.next() {
                self.constant[place as usize] += value;
            }
        });
    }

    /// The matrix at the devices' present slopes.
    fn fill(&mut self, shunt: f64) {
        self.values.copy_from_slice(&self.constant);
        let diagonals = self.places.len() - self.equations.node_rows;
        if shunt != 0.0 {
            for &place in &self.places[diagonals..] {
                self.values[place as usize] += shunt;
            }
        }
        let devices = &self.equations.devices;
        let start = diagonals - devices.iter().map(Device::stamps).sum::<usize>();
        let mut places = self.places[start..].iter();
        for device in devices {
            device.stamp(false, |_, _, value| {
                if let Some(&place) = places.next() {
                    self.values[place as usize] += value;
                }
            });
        }
    }

    /// Iterates from `x` until convergence, with sources at a share of their values and a shunt at every node.
    ///
    /// The first steps are taken whole. After them a step that leaves more unbalanced than before is taken back
    /// by halves, unless a junction is held back: then the balance is that of its tangent.
    pub(crate) fn run(&mut self, sources: f64, shunt: f64, steps: usize) -> Result<(), End> {
        let (mut share, mut norm_before): (f64, f64) = (1.0, f64::INFINITY);
        let mut small_steps = 0;
        for step in 0..=steps {
            // Only the first evaluation forgets where junctions were: `x` may have been set by another start.
            let mut held_back = self.balance(sources, shunt, step == 0);
            let mut norm = self.norm();
            while step > FREE_STEPS
                && !held_back
                && norm > norm_before
                && share > SMALLEST_SHARE
                && small_steps == 0
            {
                // `x` already stands a whole step on: half of it is given back, then a quarter, and so on.
                share *= 0.5;
                for (x, step) in self.x.iter_mut().zip(&self.step) {
                    *x += share * step;
                }
                held_back = self.balance(sources, shunt, false);
                norm = self.norm();
            }
            // A damped or held-back step is short because it was made so: being small it tells nothing of the
            // distance to go.
            if small_steps > 0 && share == 1.0 && !held_back && self.is_balanced() {
                return Ok(());
            }
            if small_steps > STALLED_STEPS {
                return Err(End::Stalled);
            }
            // With a junction held back the residual is its tangent's, no measure for the next: any residual may
            // follow it.
            norm_before = if held_back { f64::INFINITY } else { norm };
            share = 1.0;
            self.fill(shunt);
            self.lu.factor(&self.values)?;
            self.step.copy_from_slice(&self.rest);
            self.lu.solve(&mut self.step);
            // Contributions at the chassis are all added up in the last place, past the matrix: it must not move.
            self.step[self.equations.size] = 0.0;
            small_steps = if self.advance()? { small_steps + 1 } else { 0 };
        }
        Err(End::OutOfSteps)
    }

    /// Evaluates devices and sums at `x` into `rest`; true where a junction was held back.
    fn balance(&mut self, sources: f64, shunt: f64, fresh: bool) -> bool {
        let held_back = self.equations.evaluate(&self.x, fresh);
        self.equations.balance(&self.x, sources, &mut self.rest);
        if shunt != 0.0 {
            for at in 0..self.equations.node_rows {
                self.rest[at] += shunt * (self.x[at] - self.anchor[at]);
            }
        }
        held_back
    }

    /// The largest unbalanced current in `rest`.
    fn norm(&self) -> f64 {
        self.rest[..self.equations.node_rows].iter().fold(0.0, |most: f64, amps| most.max(amps.abs()))
    }

    /// Takes the step; true where it moves no voltage noticeably.
    fn advance(&mut self) -> Result<bool, End> {
        let mut small = true;
        let mut largest: f64 = 0.0;
        for (at, (x, step)) in self.x.iter_mut().zip(&self.step).take(self.equations.size).enumerate() {
            *x -= step;
            // Before any law sees it: `max` and `<` take a NaN for nothing and would let it through to the answer.
            if !x.is_finite() {
                return Err(End::Diverged);
            }
            if at < self.equations.node_rows {
                largest = largest.max(x.abs());
                small &= step.abs() <= STEP_VOLTS + STEP_SHARE * x.abs();
            }
        }
        if largest > RUNAWAY_VOLTS { Err(End::Diverged) } else { Ok(small) }
    }

    /// Whether every row balances within its tolerance.
    fn is_balanced(&mut self) -> bool {
        let rows = self.equations.node_rows;
        if self.rest[..rows].iter().all(|amps| amps.abs() <= BALANCE_AMPS)
            && self.rest[rows..self.equations.size].iter().all(|volts| volts.abs() <= BRANCH_VOLTS)
        {
            return true;
        }
        // The sizes cost a second pass over all elements: only rows that miss the plain bound ask for them.
        self.equations.scales(&self.x, &mut self.scales);
        let rests = self.rest.iter().zip(&self.scales).take(self.equations.size).enumerate();
        rests.into_iter().all(|(row, (rest, scale))| {
            let least = if row < rows { BALANCE_AMPS } else { BRANCH_VOLTS };
            rest.abs() <= least.max(BALANCE_SHARE * scale.size).max(ROUNDING_SHARE * scale.rounding)
        })
    }

    /// The largest unbalanced current at the present unknowns, with its row.
    pub(crate) fn worst(&mut self) -> Option<(usize, f64)> {
        self.equations.evaluate(&self.x, false);
        self.equations.balance(&self.x, 1.0, &mut self.rest);
        let rows = self.rest[..self.equations.node_rows].iter().enumerate();
        rows.filter(|(_, amps)| amps.is_finite())
            .map(|(row, amps)| (row, amps.abs()))
            .max_by(|one, other| one.1.total_cmp(&other.1))
    }

    /// Takes `x` to the volts with every valve replaced by a resistor: all of them conducting.
    pub(crate) fn begin_conducting(&mut self) -> Result<(), End> {
        self.x.fill(0.0);
        self.set_passive();
        self.equations.balance(&self.x, 1.0, &mut self.rest);
        self.fill(0.0);
        self.lu.factor(&self.values)?;
        self.step.copy_from_slice(&self.rest);
        self.lu.solve(&mut self.step);
        self.advance().map(|_| ())
    }

    fn set_passive(&mut self) {
        let passive =
            ValvePoint { gp: PASSIVE[0], gs: PASSIVE[1], ggrid: PASSIVE[2], ..ValvePoint::default() };
        for device in &mut self.equations.devices {
            device.point = if device.mode == Mode::CutOff { ValvePoint::default() } else { passive };
            device.behind = 0.0;
        }
    }

    /// Learns the sign that the determinant has at any point on which the circuit can rest: that without
    /// amplification. Left unknown where nothing amplifies, or the circuit without amplification is singular.
    fn learn_sign(&mut self) {
        self.sign_known = true;
        if self.equations.devices.iter().all(Device::is_diode) {
            return;
        }
        // The valves' state is the point just solved, and the next solve starts from it: the detour must leave no
        // trace.
        let points: Vec<(ValvePoint, f64)> =
            self.equations.devices.iter().map(|device| (device.point, device.behind)).collect();
        self.set_passive();
        self.fill(0.0);
        let mut lu = self.lu.clone();
        // On a copy: pivots chosen for valves as resistors would serve the real matrix badly.
        self.rest_sign = lu.factor(&self.values).ok().map(|()| lu.determinant_sign());
        for (device, (point, behind)) in self.equations.devices.iter_mut().zip(points) {
            (device.point, device.behind) = (point, behind);
        }
    }

    /// Whether the circuit would leave the present point at the least disturbance: its determinant has the
    /// other sign than without amplification, so that a natural frequency is real and positive.
    pub(crate) fn is_unstable(&mut self) -> bool {
        if !self.sign_known {
            self.learn_sign();
        }
        // det(G + s·C) has one sign for all large s, with or without amplification. Where it has the other one at s =
        // 0, it is 0 at some s > 0 between: a disturbance that grows (M. M. Green and A. N. Willson, IEEE Trans.
        // CAS-I 39(10), 1992, from memory). The same sign proves nothing: oscillation is no matter of a DC point.
        self.rest_sign.is_some_and(|sign| sign != self.lu.determinant_sign())
    }

    /// Factors the linearised equations at the present point, for [`Iteration::along`] and [`Iteration::adjoint`].
    pub(crate) fn linearise(&mut self) -> Result<(), End> {
        self.fill(0.0);
        Ok(self.lu.factor(&self.values)?)
    }

    /// Solves the linearised equations, in place: what amperes into the nodes and volts in the branches do to
    /// the unknowns.
    pub(crate) fn along(&mut self, amps: &mut [f64]) {
        self.lu.solve(amps);
        amps[self.equations.size] = 0.0;
    }

    /// Solves the transposed linearised equations, in place: what one ampere into each node, or one volt in
    /// each branch, does to a weighted sum of unknowns, given the weights.
    pub(crate) fn adjoint(&mut self, weights: &mut [f64]) {
        self.lu.solve_transposed(weights);
        weights[self.equations.size] = 0.0;
    }
}
