//! A supply over one period of the mains: the state at its end, and how that follows the state at its start.
//!
//! ```text
//! 1 V on an RC of τ, one step h = τ; γ = 0.2929, both stages divide by 1 + γ = 1.2929:
//! first stage   1 / 1.2929 = 0.7735
//! between       1 + (1 − γ)/γ · (0.7735 − 1) = 0.4531
//! second stage  0.4531 / 1.2929 = 0.3505     (e^−1 = 0.3679: 5 % off at a step of a whole τ)
//! 200 steps to a τ end 4e-7 off
//! ```

use crate::numeric::linear::dense::Dense;
use crate::numeric::time::rectifier::law::Rectifiers;
use crate::numeric::time::rectifier::mesh::{Mesh, Piece};
use crate::numeric::time::rectifier::operators::{GAMMA, Operators};

/// A supply being followed in steps of equal length.
#[derive(Debug, Clone)]
pub(crate) struct March {
    pub(crate) operators: Operators,
    pub(crate) rectifiers: Rectifiers,
    pub(crate) steps: usize,
    /// The mains at both stages of each step, as a share of its peak.
    sines: Vec<[f64; 2]>,
    /// With nothing conducting: the rectifiers' volts, the stores' values.
    open: Vec<f64>,
    hat: Vec<f64>,
    /// Values at the first stage.
    middle: Vec<f64>,
    /// Means of the inputs over the last period: stores before, mains, 1, the rectifiers' currents.
    pub(crate) means: Vec<f64>,
}

/// One stage, for whoever measures.
pub(crate) struct Moment<'a> {
    /// Inputs of [`Operators::unknown_rows`] but for the rectifiers' currents: stores before, mains, 1.
    pub(crate) hat: &'a [f64],
    pub(crate) sine: f64,
    pub(crate) rectifiers: &'a Rectifiers,
    /// Values of the stores now.
    pub(crate) values: &'a [f64],
    /// The stage's share of the step.
    pub(crate) weight: f64,
}

impl March {
    /// A march in `steps` a period from `phase` (as a share of the period) of the mains; `None` where the linear part
    /// is singular.
    pub(crate) fn new(mesh: &Mesh, steps: usize, phase: f64) -> Option<Self> {
        let operators = Operators::new(mesh, 1.0 / (mesh.hertz * steps as f64))?;
        let laws = mesh.pieces.iter().filter_map(|piece| match piece {
            Piece::Rectifier { law, .. } => Some(*law),
            _ => None,
        });
        let rectifiers = Rectifiers::new(laws.collect());
        let stores = operators.stores.len();
        let sines = vec![[0.0; 2]; steps];
        let open = vec![0.0; operators.rectifiers.len() + operators.stores.len()];
        let (hat, middle) = (vec![0.0; stores], vec![0.0; stores]);
        let means = vec![0.0; operators.inputs];
        let mut march = Self { operators, rectifiers, steps, sines, open, hat, middle, means };
        march.begin_at(phase);
        Some(march)
    }

    /// Lets the next periods begin at a phase of the mains, as a share of the period.
    pub(crate) fn begin_at(&mut self, phase: f64) {
        let steps = self.steps as f64;
        let sine = |at: f64| libm::sin(std::f64::consts::TAU * (at / steps + phase));
        for (at, sines) in self.sines.iter_mut().enumerate() {
            *sines = [sine(at as f64 + GAMMA), sine(at as f64 + 1.0)];
        }
    }

    /// Takes the stores' values through one period; false where an instant has no solution.
    pub(crate) fn period(&mut self, values: &mut [f64], mut see: impl FnMut(&Moment)) -> bool {
        self.means.fill(0.0);
        (0..self.steps).all(|step| self.step(step, values, &mut see))
    }

    /// As [`March::period`], half of it.
    pub(crate) fn half_period(&mut self, values: &mut [f64], mut see: impl FnMut(&Moment)) -> bool {
        (0..self.steps.div_ceil(2)).all(|step| self.step(step, values, &mut see))
    }

    fn step(&mut self, step: usize, values: &mut [f64], see: &mut impl FnMut(&Moment)) -> bool {
        let mut hat = std::mem::take(&mut self.hat);
        let mut middle = std::mem::take(&mut self.middle);
        let sines = self.sines[step];
        hat.copy_from_slice(values);
        let mut good = self.stage(&hat, (sines[0], 1.0 - GAMMA), &mut middle);
        if good {
            see(&self.moment(&hat, sines[0], &middle, 1.0 - GAMMA));
            for ((hat, middle), value) in hat.iter_mut().zip(&middle).zip(values.iter()) {
                // The first stage's slope, (middle − hat)/(γ·h), carried over the rest of the step: stored values
                // alone say it.
                *hat = value + (1.0 - GAMMA) / GAMMA * (middle - *hat);
            }
            good = self.stage(&hat, (sines[1], GAMMA), values);
            see(&self.moment(&hat, sines[1], values, GAMMA));
        }
        (self.hat, self.middle) = (hat, middle);
        good
    }

    fn moment<'a>(&'a self, hat: &'a [f64], sine: f64, values: &'a [f64], weight: f64) -> Moment<'a> {
        Moment { hat, sine, rectifiers: &self.rectifiers, values, weight }
    }

    /// One stage: the stores' values from what they held.
    fn stage(&mut self, hat: &[f64], (sine, weight): (f64, f64), values: &mut [f64]) -> bool {
        let operators = &self.operators;
        let (count, height) = (operators.rectifiers.len(), self.open.len());
        let mut columns = operators.columns.chunks_exact(height);
        self.open.fill(0.0);
        for (column, input) in columns.by_ref().zip(hat.iter().chain(&[sine, 1.0])) {
            self.open.iter_mut().zip(column).for_each(|(open, share)| *open += share * input);
        }
        let (open, stored) = self.open.split_at(count);
        if !self.rectifiers.settle(open, |row, column| operators.resistance(row, column)) {
            return false;
        }
        values.copy_from_slice(stored);
        let driven = &operators.columns[(hat.len() + 2) * height..];
        // Of a dozen rectifiers two conduct at a time: the other columns need no product.
        for at in self.rectifiers.active() {
            let column = &driven[at * height + count..(at + 1) * height];
            let amps = self.rectifiers.amps[*at];
            values.iter_mut().zip(column).for_each(|(value, share)| *value += share * amps);
        }
        self.count(hat, sine, weight);
        true
    }

    /// Adds a stage to the means.
    fn count(&mut self, hat: &[f64], sine: f64, weight: f64) {
        let share = weight / self.steps as f64;
        let (stores, rest) = self.means.split_at_mut(hat.len());
        stores.iter_mut().zip(hat).for_each(|(mean, hat)| *mean += share * hat);
        rest[0] += share * sine;
        rest[1] += share;
        for at in self.rectifiers.active() {
            rest[2 + at] += share * self.rectifiers.amps[*at];
        }
    }

    /// As [`March::period`], with the derivative of the end's values by the start's, by rows.
    pub(crate) fn period_with_slopes(&mut self, values: &mut [f64], slopes: &mut Vec<f64>) -> bool {
        let size = values.len();
        self.means.fill(0.0);
        slopes.clear();
        // At the start of a period each value follows itself alone.
        slopes.extend((0..size * size).map(|at| f64::from(u8::from(at / size == at % size))));
        let (mut middle, mut end) = (vec![0.0; size * size], vec![0.0; size * size]);
        for step in 0..self.steps {
            let mut hat = values.to_vec();
            let sines = self.sines[step];
            let mut first = std::mem::take(&mut self.middle);
            let mut good =
                self.stage(&hat, (sines[0], 1.0 - GAMMA), &mut first) && self.slopes(slopes, &mut middle);
            if good {
                for (at, hat) in hat.iter_mut().enumerate() {
                    *hat += (1.0 - GAMMA) / GAMMA * (first[at] - *hat);
                }
                for (slope, middle) in slopes.iter_mut().zip(&middle) {
                    *slope += (1.0 - GAMMA) / GAMMA * (middle - *slope);
                }
                good = self.stage(&hat, (sines[1], GAMMA), values) && self.slopes(slopes, &mut end);
                std::mem::swap(slopes, &mut end);
            }
            self.middle = first;
            if !good {
                return false;
            }
        }
        true
    }

    /// The slopes after the stage just made, from those before.
    fn slopes(&self, before: &[f64], after: &mut [f64]) -> bool {
        let Operators { inputs, ref store_rows, ref rectifier_rows, .. } = self.operators;
        let size = self.operators.stores.len();
        if size == 0 {
            return true;
        }
        let sum = |row: &[f64], into: &mut [f64]| {
            into.fill(0.0);
            for (share, from) in row[..size].iter().zip(before.chunks_exact(size)) {
                if *share != 0.0 {
                    into.iter_mut().zip(from).for_each(|(into, from)| *into += share * from);
                }
            }
        };
        for (row, into) in store_rows.chunks_exact(inputs).zip(after.chunks_exact_mut(size)) {
            sum(row, into);
        }
        let active = self.rectifiers.active();
        if active.is_empty() {
            return true;
        }
        let mut amps = vec![0.0; active.len() * size];
        for (into, at) in amps.chunks_exact_mut(size).zip(active) {
            sum(&rectifier_rows[at * inputs..(at + 1) * inputs], into);
        }
        if !self.close(&mut amps) {
            return false;
        }
        for (row, into) in store_rows.chunks_exact(inputs).zip(after.chunks_exact_mut(size)) {
            for (at, from) in active.iter().zip(amps.chunks_exact(size)) {
                let share = row[size + 2 + at];
                into.iter_mut().zip(from).for_each(|(into, from)| *into += share * from);
            }
        }
        true
    }

    /// Turns the slopes of the active rectifiers' open volts into those of their currents.
    fn close(&self, rows: &mut [f64]) -> bool {
        let active = self.rectifiers.active();
        let (count, size) = (active.len(), self.operators.stores.len());
        let entry = |at: &usize, by: &usize| {
            f64::from(u8::from(at == by)) + self.operators.resistance(*at, *by) * self.rectifiers.slopes[*by]
        };
        // Nearly always: one division in place of a system.
        if let [only] = active {
            let share = self.rectifiers.slopes[*only] / entry(only, only);
            for value in rows.iter_mut() {
                *value *= share;
            }
            return share.is_finite();
        }
        let entry = &entry;
        let matrix = active.iter().flat_map(|at| active.iter().map(move |by| entry(at, by)));
        let Ok(factors) = Dense::factor(count, matrix.collect()) else { return false };
        let mut column = vec![0.0; count];
        for at in 0..size {
            for (row, entry) in column.iter_mut().enumerate() {
                *entry = rows[row * size + at];
            }
            factors.solve(&mut column);
            for (row, entry) in column.iter().enumerate() {
                rows[row * size + at] = entry * self.rectifiers.slopes[active[row]];
            }
        }
        true
    }
}
