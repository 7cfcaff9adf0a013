//! Frequencies, sweeps over them, and the corners where a response has fallen by 3 dB.

use num_complex::Complex64;

use crate::numeric::network::Node;
use crate::numeric::outcome::Unsolved;
use crate::solve::signal::gain::{GAIN_HERTZ, decibels};
use crate::solve::signal::model::Rig;

/// Half the power: 10·log10(2) dB.
const CORNER_DECIBELS: f64 = 3.010_299_956_639_812;

/// A ratio over frequency.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sweep {
    /// In hertz, rising.
    pub hertz: Vec<f64>,
    /// The ratio at each.
    pub ratio: Vec<Complex64>,
}

impl Sweep {
    /// In dB.
    pub fn decibels(&self) -> Vec<f64> {
        self.ratio.iter().map(|ratio| decibels(*ratio)).collect()
    }

    /// Where it is 3 dB below its size at 1 kHz, going outwards from there.
    pub fn corners(&self) -> Corners {
        corners(&self.hertz, &self.decibels())
    }
}

/// Frequencies at which a response is 3 dB below its size at 1 kHz; `None` where it is not within the sweep.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Corners {
    /// Below 1 kHz.
    pub low: Option<f64>,
    /// Above 1 kHz.
    pub high: Option<f64>,
}

/// From the drive to `to`, or from one node to another with the drive in place; `None` where undefined.
pub fn sweep(rig: &mut Rig, from: Option<Node>, to: Node, hertz: &[f64]) -> Result<Option<Sweep>, Unsolved> {
    let mut sweep = Sweep { hertz: hertz.to_vec(), ratio: Vec::with_capacity(hertz.len()) };
    for &hertz in hertz {
        rig.linear.tune(hertz)?;
        rig.linear.excite()?;
        let Some(out) = rig.linear.phasor(to) else { return Ok(None) };
        let ratio = match from {
            None => out,
            Some(from) => match rig.linear.phasor(from) {
                Some(into) if into.norm() > 0.0 => out / into,
                _ => return Ok(None),
            },
        };
        sweep.ratio.push(ratio);
    }
    Ok(Some(sweep))
}

/// The corners of a curve in dB over rising frequencies.
pub fn corners(hertz: &[f64], curve: &[f64]) -> Corners {
    let log: Vec<f64> = hertz.iter().map(|f| libm::log(*f)).collect();
    let Some(middle) = hertz.iter().position(|f| *f >= GAIN_HERTZ).filter(|m| *m > 0) else {
        return Corners::default();
    };
    let at_reference = interpolate(&log, curve, middle - 1, libm::log(GAIN_HERTZ));
    let floor = at_reference - CORNER_DECIBELS;
    let meets = |left: usize| libm::exp(crossing(&log, curve, left, floor));
    // Outwards from 1 kHz, so that a hump or a notch further out is not taken for the corner.
    let below = (0..middle).rev().find(|at| curve[*at] < floor);
    let above = (middle..curve.len()).find(|at| curve[*at] < floor);
    Corners { low: below.map(meets), high: above.map(|at| meets(at - 1)) }
}

/// A curve's value at a frequency within it, between its points by cubics over the logarithm.
pub fn at(hertz: &[f64], curve: &[f64], wanted: f64) -> f64 {
    let log: Vec<f64> = hertz.iter().map(|f| libm::log(*f)).collect();
    let right = hertz.iter().position(|f| *f >= wanted * (1.0 - 1e-12)).unwrap_or(hertz.len() - 1);
    if libm::fabs(hertz[right] / wanted - 1.0) < 1e-9 {
        return curve[right];
    }
    interpolate(&log, curve, right.saturating_sub(1), libm::log(wanted))
}

/// Where the curve meets a level between a point and the next, by halving.
fn crossing(x: &[f64], y: &[f64], left: usize, level: f64) -> f64 {
    let (mut low, mut high) = (x[left], x[left + 1]);
    let rises = y[left + 1] > y[left];
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if (interpolate(x, y, left, middle) < level) == rises { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// Lagrange's cubic through the four points around the interval that begins at `left`.
fn interpolate(x: &[f64], y: &[f64], left: usize, at: f64) -> f64 {
    // Two points on each side; at an end the four nearest. Over log f, where responses are smooth.
    let first = left.saturating_sub(1).min(x.len().saturating_sub(4));
    let last = (first + 4).min(x.len());
    let points = first..last;
    let weight = |i: usize| -> f64 {
        points.clone().filter(|j| *j != i).map(|j| (at - x[j]) / (x[i] - x[j])).product()
    };
    points.clone().map(|i| y[i] * weight(i)).sum()
}
