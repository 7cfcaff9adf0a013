//! A quantity over one period: mean, rms and peaks as the steps go by.

/// A quantity over one period.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// Mean; the equations of the circuit at rest hold between means to rounding.
    pub mean: f64,
    /// Root of the mean square.
    pub rms: f64,
    /// Least value.
    pub least: f64,
    /// Greatest value.
    pub greatest: f64,
}

impl Course {
    /// Greatest less least.
    pub fn swing(&self) -> f64 {
        self.greatest - self.least
    }

    /// Greatest distance from 0.
    pub fn peak(&self) -> f64 {
        self.greatest.max(-self.least)
    }

    /// Root of the mean square of what is left without the mean.
    pub fn ripple_rms(&self) -> f64 {
        (self.rms * self.rms - self.mean * self.mean).max(0.0).sqrt()
    }
}

/// One quantity's sums, and its last values for the peaks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sum {
    mean: f64,
    square: f64,
    last: [f64; 2],
    course: [f64; 2],
}

impl Sum {
    pub(crate) fn new() -> Self {
        Self { mean: 0.0, square: 0.0, last: [f64::NAN; 2], course: [f64::INFINITY, f64::NEG_INFINITY] }
    }

    /// Adds a value that stands for a share of the period. Peaks are looked for where a step `ends`, between steps by a
    /// parabola.
    pub(crate) fn add(&mut self, value: f64, share: f64, ends: bool) {
        self.mean += share * value;
        self.square += share * value * value;
        // The first stage of a step is accurate to first order only: good in a mean, by its weight, but not as a
        // peak.
        if !ends {
            return;
        }
        // NaN at the start of a period: comparisons with it are false, so that no peak is seen before there are three
        // values.
        let [first, middle] = self.last;
        let bend = 8.0 * (2.0 * middle - first - value);
        // Only a step between two lower or two higher ones has a peak inside; a parabola through others peaks
        // anywhere.
        let inner = (middle > first && middle > value) || (middle < first && middle < value);
        let peak = if inner { middle + (value - first) * (value - first) / bend } else { value };
        self.course[0] = self.course[0].min(peak).min(value);
        self.course[1] = self.course[1].max(peak).max(value);
        self.last = [middle, value];
    }

    pub(crate) fn course(&self) -> Course {
        Course { mean: self.mean, rms: self.square.sqrt(), least: self.course[0], greatest: self.course[1] }
    }
}

/// For how many steps a quantity is above 0. Where it crosses 0 its course below is taken on as a straight line, since a
/// rectifier's volts bend where it begins to conduct.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct TimeAbove {
    pub(crate) steps: f64,
    last: Option<f64>,
    before: Option<f64>,
    /// The first value below after some above.
    fallen: Option<f64>,
}

impl TimeAbove {
    /// The value at the end of a step.
    pub(crate) fn add(&mut self, value: f64) {
        if let Some(first) = self.fallen.take() {
            self.steps += 1.0 - reach(first, first - value);
        }
        match self.last {
            Some(last) if last > 0.0 && value > 0.0 => self.steps += 1.0,
            Some(last) if value > 0.0 => {
                self.steps += 1.0 - reach(last, self.before.map_or(0.0, |before| last - before));
            }
            // Its slope below needs one more value: reckoned with at the next call.
            Some(last) if last > 0.0 => self.fallen = Some(value),
            None if value > 0.0 => self.steps += 1.0,
            _ => {}
        }
        (self.before, self.last) = (self.last, Some(value));
    }
}

/// The share of a step that a value below 0 takes to reach it.
fn reach(value: f64, slope: f64) -> f64 {
    // No slope known: half a step is the mean of what it can be.
    if slope > 0.0 { (-value / slope).min(1.0) } else { 0.5 }
}
