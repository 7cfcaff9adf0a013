//! A network's natural response in time.
//!
//! Steps by the L-stable SDIRK method of order 4 with an embedded one of order 3 (E. Hairer and G. Wanner, "Solving
//! Ordinary Differential Equations II", section IV.6, table 6.5, coefficients from memory; they meet the
//! conditions of their order, and the tests hold the results to closed forms). Lengths of step are powers of two times the first, so that the factors of each are made once.
//!
//! ```text
//! 47 µF at 400 V on 220 kΩ (10.34 s), harmless below 50 V:
//! steps       10 µs, then twice as long each time the error allows; some tens to the end
//! crossing    within the step that comes below 50 V, on the cubic by both ends and slopes
//! falls       10.34 s · ln(400/50) = 21.50 s
//! over        when every capacitor is below 0.4 · 50 = 20 V, at 31.0 s
//! ```

use std::collections::BTreeMap;

use crate::numeric::network::Network;
use crate::numeric::outcome::{Outcome, Unsolved};
use crate::numeric::time::discharge::equations::{Equations, Factored, apply};
use crate::numeric::time::discharge::{Fall, Valves};

/// The method's diagonal.
const GAMMA: f64 = 0.25;
/// Its rows below the diagonal.
const BELOW: [&[f64]; 5] = [
    &[],
    &[1.0 / 2.0],
    &[17.0 / 50.0, -1.0 / 25.0],
    &[371.0 / 1360.0, -137.0 / 2720.0, 15.0 / 544.0],
    &[25.0 / 24.0, -49.0 / 48.0, 125.0 / 16.0, -85.0 / 12.0],
];
/// Weights of the last row less those of the embedded method.
const ERROR: [f64; 5] = [-3.0 / 16.0, -27.0 / 32.0, 25.0 / 32.0, 0.0, 1.0 / 4.0];

/// The first step, in seconds.
// Far below the fastest discharge that hands could meet; lengths double, so that a short start costs twenty steps.
const FIRST_STEP: f64 = 1e-5;
/// The shortest, as a power of two of the first.
const SHORTEST: i32 = -24;
/// Error of a step, as a share of a capacitor's volts, taken for no less than the threshold. Capacitors are good to some
/// percent; the tests hold whole responses to a ten-thousandth.
const SHARE: f64 = 1e-6;
/// The same of the first step.
// Its curve is known from one slope only, a parabola: kept this much shorter it is as exact as the cubics after it.
const FIRST_SHARE: f64 = 1e-10;
/// A step whose error is below this share of what it may be is followed by one twice as long.
// Twice the step makes 2⁴ = 16 times the error; at a fortieth the next one fits with some room and is not tried in
// vain.
const LENGTHEN: f64 = 1.0 / 40.0;
/// Ten days: what is not down by then does not come down by itself.
const HORIZON: f64 = 864_000.0;
/// Steps of a walk at most. Whole amplifiers take some hundreds; where rounding stands for error, as with a capacitance
/// that no part has, the steps would stay short for good.
const MOST_STEPS: usize = 20_000;
/// When all are below this share of the threshold none can rise above it again.
// Between the ends of a capacitor two others in series can hold the sum of theirs, 0.8. Not proven for more in
// series, nor for a choke that rings.
const SAFE_SHARE: f64 = 0.4;
/// Newton steps of a stage, where valves are hot.
const NEWTON_STEPS: usize = 40;
/// The last of them may move no voltage by more than this, in volts.
const NEWTON_VOLTS: f64 = 1e-8;

/// The smallest share of a step that is taken.
const SMALLEST_SHARE: f64 = 1e-3;

/// What to look for.
#[derive(Debug, Clone, PartialEq)]
pub struct Watch {
    /// Volts across capacitors below which they are harmless.
    pub threshold: f64,
    /// Seconds, rising, at which to take all stores' values.
    pub instants: Vec<f64>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    /// The elements that are stores: capacitors and inductors, in order.
    pub stores: Vec<usize>,
    /// For each store when it falls below the threshold for good; of no meaning for inductors.
    pub falls: Vec<Fall>,
    /// For each instant the stores' values: volts and amperes.
    pub samples: Vec<Vec<f64>>,
}

/// Follows a network whose sources are gone and whose diodes block, from the capacitors' volts and inductors' amperes in
/// `start` (by element), until every capacitor is harmless for good or ten days have passed; an error past `MOST_STEPS`.
pub fn natural_response(
    network: &Network,
    start: &[f64],
    valves: Valves,
    watch: &Watch,
) -> Result<Response, Unsolved> {
    Discharge::new(network, valves).from(start, watch)
}

/// A network that discharges, whatever from: the factors of each length of step are made once.
pub(crate) struct Discharge {
    equations: Equations,
    by_length: BTreeMap<i32, Factored>,
}

impl Discharge {
    pub(crate) fn new(network: &Network, valves: Valves) -> Discharge {
        Discharge { equations: Equations::new(network, valves), by_length: BTreeMap::new() }
    }

    /// As [`natural_response`].
    pub(crate) fn from(&mut self, start: &[f64], watch: &Watch) -> Result<Response, Unsolved> {
        let values: Vec<f64> = self.equations.stores.iter().map(|store| start[store.element]).collect();
        let mut walk = Walk::new(self, values, watch);
        for _ in 0..MOST_STEPS {
            if walk.is_over() {
                return Ok(walk.finish());
            }
            walk.step()?;
        }
        Err(Unsolved::before(Outcome::OutOfSteps))
    }
}

/// A step that is tried: the values after it, and each stage's change over the whole step.
#[derive(Default)]
struct Tried {
    values: Vec<f64>,
    slopes: [Vec<f64>; BELOW.len()],
    before: Vec<f64>,
    drive: Vec<f64>,
}

struct Walk<'a> {
    equations: &'a mut Equations,
    by_length: &'a mut BTreeMap<i32, Factored>,
    watch: &'a Watch,
    length: i32,
    seconds: f64,
    values: Vec<f64>,
    /// Change of each value over the last step's length at its end.
    slopes: Option<(f64, Vec<f64>)>,
    unknowns: Vec<f64>,
    tried: Tried,
    crossed: Vec<Option<f64>>,
    above: Vec<bool>,
    samples: Vec<Vec<f64>>,
}

impl<'a> Walk<'a> {
    fn new(discharge: &'a mut Discharge, values: Vec<f64>, watch: &'a Watch) -> Self {
        let Discharge { equations, by_length } = discharge;
        Self {
            by_length,
            length: 0,
            seconds: 0.0,
            slopes: None,
            unknowns: vec![0.0; equations.size + 1],
            tried: Tried { drive: vec![0.0; equations.size + 1], ..Tried::default() },
            crossed: vec![None; values.len()],
            above: values.iter().map(|value| value.abs() > watch.threshold).collect(),
            samples: Vec::new(),
            equations,
            values,
            watch,
        }
    }

    fn is_over(&self) -> bool {
        let stores = self.equations.stores.iter().zip(&self.values);
        let mut capacitors = stores.filter(|(store, _)| store.is_capacitor());
        let safe = capacitors.all(|(_, volts)| volts.abs() <= SAFE_SHARE * self.watch.threshold);
        (safe && self.samples.len() == self.watch.instants.len()) || self.seconds > HORIZON
    }

    /// One step, shortened until its error is small enough.
    fn step(&mut self) -> Result<(), Unsolved> {
        // Each pass halves the step, down to the shortest.
        loop {
            let step = FIRST_STEP * libm::scalbn(1.0, self.length);
            let found = self.attempt(step)?;
            let error = if found { self.error() } else { f64::INFINITY };
            if found && (error <= 1.0 || self.length <= SHORTEST) {
                let mut tried = std::mem::take(&mut self.tried);
                let last = std::mem::take(&mut tried.slopes[BELOW.len() - 1]);
                self.look(step, &tried.values, &last);
                std::mem::swap(&mut self.values, &mut tried.values);
                if let Some((_, spare)) = self.slopes.replace((step, last)) {
                    tried.slopes[BELOW.len() - 1] = spare;
                }
                self.tried = tried;
                self.seconds += step;
                // One doubling at a time: the estimate is good for the step just made, not for one much longer.
                self.length += i32::from(error < LENGTHEN);
                return Ok(());
            }
            if self.length <= SHORTEST {
                return Err(Unsolved::before(Outcome::Stalled));
            }
            self.length -= 1;
        }
    }

    /// Tries a step; false where valves found no answer.
    fn attempt(&mut self, step: f64) -> Result<bool, Unsolved> {
        let mut factored = match self.by_length.remove(&self.length) {
            Some(factored) => factored,
            None => self.equations.factored(1.0 / (GAMMA * step)).ok_or_else(|| {
                Unsolved::before(Outcome::Singular { unknown: "the discharging network".to_owned() })
            })?,
        };
        let Tried { values, slopes, before, drive } = &mut self.tried;
        let linear = self.equations.devices.is_empty();
        // Newton's start for the next try: stages that failed may have left it anywhere.
        let kept = if linear { Vec::new() } else { self.unknowns.clone() };
        let mut good = true;
        for (stage, below) in BELOW.iter().enumerate() {
            before.clone_from(&self.values);
            for (share, slopes) in below.iter().zip(&*slopes) {
                before.iter_mut().zip(slopes).for_each(|(before, slope)| *before += share * slope);
            }
            if let Some(map) = &factored.map {
                apply(map, before, values);
            } else {
                self.equations.drive(factored.rate, before, drive);
                good = solve(self.equations, &mut factored, drive, &mut self.unknowns);
                if !good {
                    break;
                }
                values.clear();
                values.extend(self.equations.stores.iter().map(|store| store.value(&self.unknowns)));
            }
            // By the implicit stage itself, (values − before)/γ, and not by evaluating: no cancellation, and the
            // stiff parts stay damped.
            let change = values.iter().zip(&*before).map(|(value, before)| (value - before) / GAMMA);
            slopes[stage].clear();
            slopes[stage].extend(change);
        }
        self.by_length.insert(self.length, factored);
        if !good {
            self.unknowns = kept;
        }
        Ok(good)
    }

    /// The largest error of a capacitor over what it may be.
    fn error(&self) -> f64 {
        let mut most = 0.0_f64;
        for (at, _) in self.equations.stores.iter().enumerate().filter(|(_, s)| s.is_capacitor()) {
            let error: f64 =
                ERROR.iter().zip(&self.tried.slopes).map(|(share, slopes)| share * slopes[at]).sum();
            // Chokes' currents are left out: they are no danger to hands and follow the capacitors' volts.
            most = most.max(error.abs() / (self.watch.threshold + self.values[at].abs()));
        }
        // Where the first step crosses the threshold only its end's slope is known.
        most / if self.slopes.is_some() { SHARE } else { FIRST_SHARE }
    }

    /// Looks for crossings and instants within a step about to be taken.
    fn look(&mut self, step: f64, values: &[f64], slopes: &[f64]) {
        let threshold = self.watch.threshold;
        let curve = |at: usize| {
            let first = match &self.slopes {
                Some((before, slopes)) => slopes[at] * step / before,
                // Of the first step only its end's slope is known: a parabola.
                // The slope at the start of a parabola through both ends with the slope at the second.
                None => 2.0 * (values[at] - self.values[at]) - slopes[at],
            };
            Curve { ends: [self.values[at], values[at]], slopes: [first, slopes[at]] }
        };
        for (at, value) in values.iter().enumerate() {
            if value.abs() > threshold {
                self.above[at] = true;
                // Above once more, after it was below: what was found is no fall for good.
                self.crossed[at] = None;
            } else if self.values[at].abs() > threshold {
                self.crossed[at] = Some(self.seconds + step * curve(at).reaches(threshold));
            }
        }
        while let Some(instant) = self.watch.instants.get(self.samples.len())
            && *instant <= self.seconds + step
        {
            let share = (instant - self.seconds) / step;
            self.samples.push((0..values.len()).map(|at| curve(at).at(share)).collect());
        }
    }

    fn finish(self) -> Response {
        let fall = |at: usize| match (self.crossed[at], self.above[at]) {
            (_, false) => Fall::Below,
            (Some(seconds), true) => Fall::After(seconds),
            (None, true) => Fall::Never,
        };
        Response {
            falls: (0..self.values.len()).map(fall).collect(),
            stores: self.equations.stores.iter().map(|store| store.element).collect(),
            samples: self.samples,
        }
    }
}

/// Solves one stage; false where hot valves found no answer. A step is shortened until the next with the same slopes
/// would be smaller (P. Deuflhard, "Newton Methods for Nonlinear Problems", 2004, natural monotonicity, from memory): valves
/// whose rails are all but empty have kinks at 0 V between which whole steps go to and fro.
fn solve(equations: &mut Equations, factored: &mut Factored, drive: &[f64], unknowns: &mut [f64]) -> bool {
    let size = equations.size;
    if equations.devices.is_empty() {
        unknowns.copy_from_slice(drive);
        factored.lu.solve(unknowns);
        unknowns[size] = 0.0;
        return true;
    }
    let mut rest = vec![0.0; size + 1];
    evaluate(equations, factored.rate, unknowns, drive, &mut rest);
    for _ in 0..NEWTON_STEPS {
        let values = equations.with_slopes(&factored.values);
        if factored.lu.factor(&values).is_err() {
            return false;
        }
        factored.lu.solve(&mut rest);
        rest[size] = 0.0;
        let step = rest.clone();
        let whole = largest(&step);
        if !whole.is_finite() {
            return false;
        }
        let from = unknowns.to_vec();
        let mut share = 1.0;
        // Halved ten times at most.
        loop {
            let moved = from.iter().zip(&step).map(|(unknown, step)| unknown - share * step);
            unknowns.iter_mut().zip(moved).for_each(|(unknown, moved)| *unknown = moved);
            evaluate(equations, factored.rate, unknowns, drive, &mut rest);
            // After the step it judged, which is taken whole: unknowns and devices are then at the same point.
            if whole <= NEWTON_VOLTS {
                return true;
            }
            let mut next = rest.clone();
            factored.lu.solve(&mut next);
            if largest(&next[..size]) <= (1.0 - 0.25 * share) * whole || share < SMALLEST_SHARE {
                break;
            }
            share *= 0.5;
        }
    }
    false
}

/// Evaluates the valves and what does not balance.
fn evaluate(equations: &mut Equations, rate: f64, unknowns: &[f64], drive: &[f64], rest: &mut [f64]) {
    for device in &mut equations.devices {
        device.evaluate(unknowns, false);
    }
    equations.balance(rate, unknowns, drive, rest);
}

fn largest(step: &[f64]) -> f64 {
    // `max` would drop a NaN and call the step small.
    step.iter().fold(0.0, |most, step| if step.is_nan() { f64::INFINITY } else { most.max(step.abs()) })
}

/// A value within a step: a cubic by its ends and their slopes.
struct Curve {
    ends: [f64; 2],
    slopes: [f64; 2],
}

impl Curve {
    fn at(&self, s: f64) -> f64 {
        let [a, b] = self.ends;
        let [p, q] = self.slopes;
        let r = 1.0 - s;
        a * (1.0 + 2.0 * s) * r * r + p * s * r * r + b * s * s * (3.0 - 2.0 * s) - q * s * s * r
    }

    /// Where its size comes down to a threshold between the ends.
    fn reaches(&self, threshold: f64) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        // Halved to the last digit of the step: sixty evaluations of a cubic are cheaper than thinking about its
        // roots.
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.at(middle).abs() > threshold {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }
}
