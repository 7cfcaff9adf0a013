//! Mean, deviation and the two ends of many values, of which only those near the ends are kept.
//!
//! ```text
//! 1,000 values: the 1 % point stands at 0.01 · 999 = 9.99 from below, between the 10th and the 11th lowest
//! keep      0.01 · 1000 + 2 = 12 of each end
//! buffer    24; when full the lowest 12 stay, and no later value above the 12th can be among them
//! memory    two such buffers in place of all values; time near linear, no sort but at the end
//! ```

/// Values come in; the lowest and the highest of them stay.
#[derive(Debug, Clone)]
pub struct Gathered {
    /// Sums are of deviations from this, which keeps their digits.
    about: f64,
    count: usize,
    sum: f64,
    squares: f64,
    low: End,
    high: End,
}

/// The lowest values of all.
#[derive(Debug, Clone)]
struct End {
    keep: usize,
    values: Vec<f64>,
    /// None above this is among them.
    limit: f64,
}

/// Share of all values that lies beyond each end.
const SHARE: f64 = 0.01;

impl Gathered {
    /// For `many` values about one.
    pub fn new(about: f64, many: usize) -> Gathered {
        // Two more: one for the place's neighbour, one for counts that round up.
        let keep = (SHARE * many as f64) as usize + 2;
        let end = || End { keep, values: Vec::with_capacity(2 * keep), limit: f64::INFINITY };
        Gathered { about, count: 0, sum: 0.0, squares: 0.0, low: end(), high: end() }
    }

    /// Adds a value; one that isn't a number is none.
    pub fn add(&mut self, value: f64) {
        if value.is_nan() {
            return;
        }
        // Σx² of plate volts about 0 loses five digits to a deviation of a volt; about the nominal value it loses
        // none.
        let off = value - self.about;
        self.count += 1;
        self.sum += off;
        self.squares += off * off;
        self.low.add(value);
        // The high end is the low one of the negatives.
        self.high.add(-value);
    }

    /// How many were added.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Their mean.
    pub fn mean(&self) -> f64 {
        self.about + self.sum / self.count.max(1) as f64
    }

    /// Of the values themselves, not an estimate from a part of them.
    pub fn deviation(&self) -> f64 {
        let mean = self.sum / self.count.max(1) as f64;
        libm::sqrt((self.squares / self.count.max(1) as f64 - mean * mean).max(0.0))
    }

    /// The 1 % and 99 % points, interpolated between neighbours (type 7 of R. J. Hyndman and Y. Fan, The American
    /// Statistician 50(4), 1996).
    pub fn ends(&mut self) -> (f64, f64) {
        let place = SHARE * self.count.saturating_sub(1) as f64;
        (self.low.at(place), -self.high.at(place))
    }
}

impl End {
    fn add(&mut self, value: f64) {
        if value > self.limit {
            return;
        }
        self.values.push(value);
        // Twice what is kept: a selection is linear, and comes once in so many values.
        if self.values.len() == 2 * self.keep {
            let (_, last, _) = self.values.select_nth_unstable_by(self.keep - 1, f64::total_cmp);
            self.limit = *last;
            self.values.truncate(self.keep);
        }
    }

    /// The value at a place in ascending order, between two of them in proportion.
    fn at(&mut self, place: f64) -> f64 {
        self.values.sort_unstable_by(f64::total_cmp);
        let below = place as usize;
        let Some(&low) = self.values.get(below) else { return f64::NAN };
        let high = self.values.get(below + 1).copied().unwrap_or(low);
        low + (place - below as f64) * (high - low)
    }
}
