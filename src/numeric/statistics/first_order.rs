//! Windows to first order: the slope of every quantity with every figure, and the root of the sum of squares.
//!
//! ```text
//! 100 V over two resistors of 10 kΩ ± 5 %: V = 50, slopes ∓25 V by ln R, each uniform of variance 0.1²/12
//! variance   2 · 25² · 0.000833 = 1.042 V², deviation 1.021 V
//! excess     κ₄ = −2 · 25⁴ · 0.1⁴/120 = −0.651, over variance² −0.6
//! half       1.021 · (2.326 − 0.234 · 0.6) = 2.23 V; the ends' sum 0.98 · 2 · 1.25 = 2.45 does not bind
//! window     47.8 … 52.2 V (exactly, of two uniform ones: ±2.15 V)
//! ```

use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::Network;
use crate::numeric::outcome::Unsolved;
use crate::numeric::point::OperatingPoint;
use crate::numeric::statistics::draw::NINETY_NINE;
use crate::numeric::statistics::quantity::Quantity;
use crate::numeric::statistics::tangent::{Places, Tangent};
use crate::numeric::statistics::{Varied, Within};

/// How far a sum of few uniform values falls short of a normal one at its 99 % point, for each unit of excess:
/// (z³ − 3z)/24, the term of E. A. Cornish and R. A. Fisher (1938).
const EXCESS_SHARE: f64 = (NINETY_NINE * NINETY_NINE * NINETY_NINE - 3.0 * NINETY_NINE) / 24.0;
/// Of a single uniform value, 98 % lie within this share of its reach.
const NINETY_EIGHT: f64 = 0.98;

/// A quantity with its window to first order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstOrder {
    /// At the nominal values.
    pub value: f64,
    /// Mean to first order: apart from the value only where a tolerance is not the same both ways.
    pub mean: f64,
    /// Standard deviation.
    pub deviation: f64,
    /// From 1 % to 99 %.
    pub within: Within,
    /// Share of the variance that comes from assumed tolerances, 0 … 1.
    pub assumed: f64,
}

/// What a sum of small independent deviations is known by.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    mean: f64,
    variance: f64,
    fourth: f64,
    /// Most that the uniform ones come to together.
    reach: f64,
    /// Variance of the normal ones.
    normal: f64,
    assumed: f64,
}

/// What a figure adds to a sum, for a slope of 1.
#[derive(Debug, Clone, Copy)]
struct Unit {
    mean: f64,
    variance: f64,
    fourth: f64,
    reach: f64,
    normal: f64,
    assumed: f64,
}

impl Unit {
    fn of(varied: &Varied) -> Unit {
        let (spread, variance) = (&varied.spread, varied.spread.variance());
        let reach = spread.reach();
        Unit {
            mean: spread.mean(),
            variance,
            fourth: spread.fourth(),
            reach,
            normal: if reach > 0.0 { 0.0 } else { variance },
            assumed: if varied.assumed { variance } else { 0.0 },
        }
    }
}

impl Sum {
    fn add(&mut self, slope: f64, unit: &Unit) {
        let squared = slope * slope;
        self.mean += slope * unit.mean;
        self.variance += squared * unit.variance;
        // Cumulants of independent values add, each with its power of the slope.
        self.fourth += squared * squared * unit.fourth;
        self.reach += slope.abs() * unit.reach;
        self.normal += squared * unit.normal;
        self.assumed += squared * unit.assumed;
    }

    fn about(&self, value: f64) -> FirstOrder {
        let deviation = libm::sqrt(self.variance);
        let excess = if self.variance > 0.0 { self.fourth / self.variance / self.variance } else { 0.0 };
        // Corrected: the ends of a few uniform values lie nearer than a normal's of the same deviation.
        let bent = deviation * (NINETY_NINE + EXCESS_SHARE * excess);
        // The ends of a sum lie within the sum of the ends.
        let most = NINETY_EIGHT * self.reach + NINETY_NINE * libm::sqrt(self.normal);
        let half = bent.min(most);
        let (mean, assumed) = (value + self.mean, self.assumed / self.variance);
        FirstOrder {
            value,
            mean,
            deviation,
            // With a one-sided tolerance the mean leaves the nominal value, which itself is always a possible
            // amplifier.
            within: Within { low: (mean - half).min(value), high: (mean + half).max(value) },
            assumed: if assumed.is_finite() { assumed } else { 0.0 },
        }
    }
}

/// First-order windows of quantities about `point`, which must be an answer for `network`; `None` for those
/// that are undefined there.
pub fn first_order(
    prepared: &mut Prepared,
    network: &Network,
    point: &OperatingPoint,
    varied: &[Varied],
    quantities: &[Quantity],
) -> Result<Vec<Option<FirstOrder>>, Unsolved> {
    let point = prepared.solve(network, Some(point))?;
    if let Err(end) = prepared.iteration.linearise() {
        return Err(prepared.unsolved(network, end));
    }
    let value = |of: &Quantity| if of.fits(network) { of.of(&point) } else { None };
    let values: Vec<Option<f64>> = quantities.iter().map(value).collect();
    let mut sums = vec![Sum::default(); quantities.len()];
    let mut tangent = Tangent::new(prepared, network, &point);
    for one in varied {
        let unit = Unit::of(one);
        tangent.take(prepared, network, &point, one);
        for ((sum, quantity), _) in sums.iter_mut().zip(quantities).zip(&values).filter(|of| of.1.is_some()) {
            sum.add(quantity.along(&point, &tangent), &unit);
        }
    }
    Ok(sums.iter().zip(values).map(|(sum, value)| Some(sum.about(value?))).collect())
}

/// A circuit's equations linearised where it rests, asked for the window of one quantity after the other: cheaper than
/// all windows together where only some are wanted.
#[derive(Debug)]
pub(crate) struct Linear {
    prepared: Prepared,
    point: OperatingPoint,
    places: Places,
    varied: Vec<Varied>,
    units: Vec<Unit>,
}

impl Linear {
    pub(crate) fn new(
        mut prepared: Prepared,
        network: &Network,
        point: &OperatingPoint,
        varied: Vec<Varied>,
    ) -> Result<Linear, Unsolved> {
        let (point, places) = prepared.linearised(network, point)?;
        let units = varied.iter().map(Unit::of).collect();
        Ok(Linear { prepared, point, places, varied, units })
    }

    /// The window of a quantity; `None` where it is undefined, or the current of an ideal link.
    pub(crate) fn window(&mut self, network: &Network, quantity: &Quantity) -> Option<Within> {
        let sets = self.varied.iter().map(|one| one.sets.as_slice());
        let slopes = self.prepared.slopes(network, (&self.point, &self.places), quantity, sets)?;
        let mut sum = Sum::default();
        for (slope, unit) in slopes.iter().zip(&self.units) {
            sum.add(*slope, unit);
        }
        Some(sum.about(quantity.of(&self.point)?).within)
    }
}
