//! The periodic steady state of a supply: the state that one period of the mains brings back to itself.
//!
//! Newton's iteration on that state ("shooting": T. J. Aprille and T. N. Trick, Proc. IEEE 60(1), 1972), the
//! derivative carried along by the same steps.
//!
//! ```text
//! A reservoir that one period takes from v to 0.9·v + 40 (steady at 400):
//! following it   from 0: 40, 76, 108.4 … 1e-9 away after 197 periods
//! Newton         from 0: the end misses the start by 40, slope 0.9: 40 / (1 − 0.9) = 400, one period
//! bent           with rectifiers the slope changes with v: a few such steps, each from a new slope
//! kept           or the old slope while the steps still shrink twentyfold
//! ```

use crate::numeric::linear::dense::Dense;
use crate::numeric::time::rectifier::march::March;
use crate::numeric::time::rectifier::measure::{Measured, measure};
use crate::numeric::time::rectifier::mesh::{Mesh, Piece};

/// Steps in a period of the mains.
// A pulse of a rectifier lasts some tenth of a half period: ten steps of it.
pub(crate) const STEPS: usize = 200;
/// Newton steps at most.
const NEWTON_STEPS: usize = 60;
/// Periods followed as time goes where Newton's step did not help.
// As nature does it there is no wrong step: eight periods bring the rectifiers to where the slope means something.
const NATURAL_PERIODS: usize = 8;
/// The last step may move no store by more than this share of it …
pub(crate) const FINE: f64 = 1e-9;
/// … taken for no less than this, in volts …
// A share of an empty capacitor's volts would be none at all.
const LEAST_VOLTS: f64 = 100.0;
/// … or amperes.
const LEAST_AMPS: f64 = 1.0;
/// A step with a kept derivative is the last only where it comes to this share of the one before.
const PROVEN_SHARE: f64 = 0.3;
/// A step that comes to this share of the last may be followed by one with the same derivative.
const KEEP_SHARE: f64 = 0.05;

/// Why a supply has no steady state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unsettled {
    /// Its linear part is singular.
    Singular,
    /// Within one instant its rectifiers' equations found no answer.
    NoInstant,
    /// No state was found that a period brings back to itself.
    NotPeriodic,
}

/// A supply's steady state, kept as the start for the next one like it.
#[derive(Debug, Clone, Default)]
pub struct Steady {
    /// Volts of capacitors and currents of inductors at the period's start, in order of pieces.
    pub(crate) values: Vec<f64>,
    /// Factors of Newton's matrix when it was last made.
    factors: Option<Dense>,
}

impl Steady {
    /// A first guess.
    pub(crate) fn at(values: Vec<f64>) -> Self {
        Self { values, factors: None }
    }
}

/// Means over one period of a steady state.
#[derive(Debug, Clone, PartialEq)]
pub struct Means {
    /// Volts of each node to chassis.
    pub volts: Vec<f64>,
    /// Forward current of each rectifier, in order of pieces, with its leakage.
    pub rectifier_amps: Vec<f64>,
    /// Volts of each rectifier, anode above cathode.
    pub rectifier_volts: Vec<f64>,
    /// Σ ratio·i of each transformer's windings.
    pub direct_amps: Vec<f64>,
}

/// Finds the steady state and measures it; `start` gives the first guess and is left at the state found.
pub fn steady_state(mesh: &Mesh, start: &mut Steady) -> Result<Measured, Unsettled> {
    settle(mesh, start, FINE)?;
    observe(mesh, start)
}

/// Measures one period from a steady state that was found before.
pub(crate) fn observe(mesh: &Mesh, found: &Steady) -> Result<Measured, Unsettled> {
    let mut march = March::new(mesh, STEPS, 0.0).ok_or(Unsettled::Singular)?;
    measure(mesh, &mut march, &mut found.values.clone()).ok_or(Unsettled::NoInstant)
}

/// Finds the steady state, its stores within a `share` of their values ([`FINE`] at the finest); `start` gives the first
/// guess and is left at the state found. Where no way leads on from the guess, once more from everything empty: a supply
/// with a short in it is far from what it would hold without.
pub(crate) fn settle(mesh: &Mesh, start: &mut Steady, share: f64) -> Result<Means, Unsettled> {
    let mut march = March::new(mesh, STEPS, 0.0).ok_or(Unsettled::Singular)?;
    let empty = Steady::at(vec![0.0; march.operators.stores.len()]);
    if start.values.len() == empty.values.len() {
        match shoot(mesh, &mut march, start, share) {
            Err(Unsettled::NotPeriodic | Unsettled::NoInstant) => {}
            other => return other,
        }
    }
    *start = empty;
    let mut march = March::new(mesh, STEPS, 0.0).ok_or(Unsettled::Singular)?;
    shoot(mesh, &mut march, start, share)
}

/// Newton's iteration from a start.
fn shoot(mesh: &Mesh, march: &mut March, start: &mut Steady, share: f64) -> Result<Means, Unsettled> {
    let least: Vec<f64> = march.operators.stores.iter().map(|at| least_value(&mesh.pieces[*at])).collect();
    let mut before = f64::INFINITY;
    for _ in 0..NEWTON_STEPS {
        let (step, fresh) = newton_step(march, start)?;
        let size = size(&step, &start.values, &least);
        for (value, step) in start.values.iter_mut().zip(&step) {
            *value += step;
        }
        // A small step tells of a near end only where the derivative is good: where it is new, or where it has shortened
        // the steps.
        if size <= share && (fresh || size <= PROVEN_SHARE * before) {
            return Ok(means(mesh, march));
        }
        if size > KEEP_SHARE * before || !size.is_finite() {
            start.factors = None;
        }
        if fresh && size > before {
            let reset = !size.is_finite();
            for _ in 0..NATURAL_PERIODS {
                if reset {
                    start.values.fill(0.0);
                }
                if !march.period(&mut start.values, |_| {}) {
                    return Err(Unsettled::NoInstant);
                }
            }
        }
        before = size;
    }
    Err(Unsettled::NotPeriodic)
}

/// Means over the period just marched.
fn means(mesh: &Mesh, march: &March) -> Means {
    let operators = &march.operators;
    let unknowns = operators.unknowns(&march.means);
    // Means obey the resistive equations exactly: found from the inputs' means, not summed step by step.
    let volts: Vec<f64> = std::iter::once(0.0).chain(unknowns[..mesh.nodes - 1].iter().copied()).collect();
    let across = |at: &usize| {
        let (a, b) = mesh.pieces[*at].ends();
        volts[a] - volts[b]
    };
    let rectifier_volts: Vec<f64> = operators.rectifiers.iter().map(across).collect();
    let forward = &march.means[operators.stores.len() + 2..];
    let leaks = operators.rectifiers.iter().map(|at| match mesh.pieces[*at] {
        Piece::Rectifier { law, .. } => law.leak(),
        _ => 0.0,
    });
    let passing = forward.iter().zip(&rectifier_volts).zip(leaks);
    let rectifier_amps = passing.map(|((amps, volts), leak)| amps + leak * volts);
    let mut direct_amps = vec![0.0; mesh.transformers.len()];
    for (piece, row) in mesh.pieces.iter().zip(&operators.branch_row) {
        if let (Piece::Winding { ratio, transformer, .. }, Some(row)) = (piece, row) {
            direct_amps[*transformer] += ratio * unknowns[*row];
        }
    }
    Means { rectifier_amps: rectifier_amps.collect(), rectifier_volts, direct_amps, volts }
}

/// Newton's step, and whether its derivative was made anew for it.
fn newton_step(march: &mut March, start: &mut Steady) -> Result<(Vec<f64>, bool), Unsettled> {
    let size = start.values.len();
    let mut end = start.values.clone();
    let fresh = start.factors.is_none();
    if fresh {
        let mut slopes = Vec::new();
        if !march.period_with_slopes(&mut end, &mut slopes) {
            return Err(Unsettled::NoInstant);
        }
        for (at, slope) in slopes.iter_mut().enumerate() {
            // I − dΦ/dv: singular where a period brings a store back as it was, which has no steady state of its own.
            *slope = f64::from(u8::from(at / size == at % size)) - *slope;
        }
        start.factors = Some(Dense::factor(size, slopes).map_err(|_| Unsettled::NotPeriodic)?);
    } else if !march.period(&mut end, |_| {}) {
        return Err(Unsettled::NoInstant);
    }
    for (end, value) in end.iter_mut().zip(&start.values) {
        *end -= value;
    }
    if let Some(factors) = &start.factors {
        factors.solve(&mut end);
    }
    Ok((end, fresh))
}

/// The largest part of a step as a share of its store's value.
fn size(step: &[f64], values: &[f64], least: &[f64]) -> f64 {
    let parts = step.iter().zip(values).zip(least);
    parts.fold(0.0, |most: f64, ((step, value), least)| {
        let part = step.abs() / value.abs().max(*least);
        // `max` would drop it and end the search at a state without figures.
        if part.is_nan() { f64::INFINITY } else { most.max(part) }
    })
}

fn least_value(piece: &Piece) -> f64 {
    match piece {
        Piece::Inductor { .. } => LEAST_AMPS,
        _ => LEAST_VOLTS,
    }
}
