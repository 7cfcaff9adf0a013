//! Frequencies to sweep over.

/// Frequencies at equal ratios.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Lowest, in hertz.
    pub low: f64,
    /// Highest, in hertz.
    pub high: f64,
    /// How many, both ends included.
    pub points: usize,
}

/// What a guitar amplifier passes and a little more.
impl Default for Range {
    fn default() -> Self {
        Range { low: 20.0, high: 20e3, points: 121 }
    }
}

impl Range {
    /// For corners: past all that coupling capacitors and valves' capacitances make.
    // Sixteen points a decade place a corner of 6 dB an octave to some percent between two of them.
    pub const WIDE: Range = Range { low: 0.5, high: 2e6, points: 106 };

    /// The frequencies.
    pub fn hertz(&self) -> Vec<f64> {
        // One point alone would have no ratio to its neighbour.
        let steps = self.points.max(2) - 1;
        let ratio = self.high / self.low;
        let at = |step: usize| self.low * libm::pow(ratio, step as f64 / steps as f64);
        (0..=steps).map(at).collect()
    }
}
