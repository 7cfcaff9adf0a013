//! Rectifiers in time: current and slope at given volts, and several of them behind one network of resistances.

use crate::solve::valve;

use super::dense::Dense;

/// What a rectifier carries, anode to cathode; nothing at 0 V and below (but for a zener past its voltage).
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(missing_docs, reason = "each field is a value whose name carries its unit")]
pub enum RectifierLaw {
    /// `i = max(0, (V − volts)/ohms)`.
    Drop { volts: f64, ohms: f64 },
    /// A rectifier valve: `i = perveance·max(0, V)^1.5`.
    Vacuum { perveance: f64 },
    /// Silicon: `i = saturation_amps·(exp(V/thermal_volts) − 1)` forward.
    Junction { saturation_amps: f64, thermal_volts: f64 },
    /// A junction that conducts backwards past `zener_volts` behind `zener_ohms`.
    Zener { saturation_amps: f64, thermal_volts: f64, zener_volts: f64, zener_ohms: f64 },
}

/// Newton steps within one instant.
const STEPS: usize = 80;
/// After these a step that grows is halved: kinks may make whole steps go round in circles.
const FREE_STEPS: usize = 12;
/// The last step may move no rectifier's volts by more than this share …
const STEP_SHARE: f64 = 1e-11;
/// … and this, in volts.
const STEP_VOLTS: f64 = 1e-9;

impl RectifierLaw {
    /// Current and slope.
    pub fn at(&self, volts: f64) -> (f64, f64) {
        match *self {
            Self::Drop { volts: least, ohms } if volts > least => ((volts - least) / ohms, 1.0 / ohms),
            Self::Drop { .. } => (0.0, 0.0),
            Self::Vacuum { perveance } => valve::vacuum_diode(perveance, volts),
            Self::Junction { saturation_amps, thermal_volts } => {
                if volts > 0.0 {
                    valve::junction(saturation_amps, thermal_volts, volts)
                } else {
                    (0.0, 0.0)
                }
            }
            Self::Zener { saturation_amps, thermal_volts, zener_volts, zener_ohms } => {
                let (mut amps, mut slope) = Self::Junction { saturation_amps, thermal_volts }.at(volts);
                let (back, rise) = valve::breakdown(zener_volts, zener_ohms, volts);
                amps += back;
                slope += rise;
                (amps, slope)
            }
        }
    }

    /// Whether it surely carries nothing at these volts.
    fn rests(&self, volts: f64) -> bool {
        match *self {
            Self::Drop { volts: least, .. } => volts <= least,
            Self::Vacuum { .. } | Self::Junction { .. } => volts <= 0.0,
            Self::Zener { zener_volts, .. } => volts <= 0.0 && volts > 1.0 - zener_volts,
        }
    }

    /// The volts that a step from `before` to `now` may reach: a junction moves up its curve only to the current that
    /// its tangent predicts.
    fn hold_back(&self, before: f64, now: f64) -> f64 {
        match *self {
            Self::Junction { saturation_amps, thermal_volts }
            | Self::Zener { saturation_amps, thermal_volts, .. }
                if now > before + 0.5 * thermal_volts && now > thermal_volts =>
            {
                let from = before.max(0.0);
                let (amps, slope) = valve::junction(saturation_amps, thermal_volts, from);
                let reach = amps + slope * (now - from);
                valve::junction_volts(saturation_amps, thermal_volts, reach.max(0.0)).min(now)
            }
            _ => now,
        }
    }
}

/// All rectifiers of a supply at one instant.
#[derive(Debug, Clone)]
pub(super) struct Rectifiers {
    pub(super) laws: Vec<RectifierLaw>,
    /// Anode above cathode.
    pub(super) volts: Vec<f64>,
    pub(super) amps: Vec<f64>,
    pub(super) slopes: Vec<f64>,
    /// Those that may conduct.
    active: Vec<usize>,
    guess: Vec<f64>,
}

impl Rectifiers {
    pub(super) fn new(laws: Vec<RectifierLaw>) -> Self {
        let zero = vec![0.0; laws.len()];
        Self {
            volts: zero.clone(),
            amps: zero.clone(),
            slopes: zero.clone(),
            guess: zero,
            laws,
            active: Vec::new(),
        }
    }

    /// Those that may conduct.
    pub(super) fn active(&self) -> &[usize] {
        &self.active
    }

    /// Finds volts with `volts = open − resistance·amps(volts)`; `open` are the volts with nothing conducting and
    /// `resistance(row, column)` is how one's current lowers another's volts. False where no solution was found.
    pub(super) fn settle(&mut self, open: &[f64], resistance: impl Fn(usize, usize) -> f64) -> bool {
        let count = self.laws.len();
        let resting = (0..count).all(|at| self.laws[at].rests(open[at]));
        self.active.clear();
        if resting {
            self.volts.copy_from_slice(open);
            self.amps.fill(0.0);
            self.slopes.fill(0.0);
            return true;
        }
        let begins = |at: usize, amps: f64| amps != 0.0 || !self.laws[at].rests(open[at]);
        self.active.extend((0..count).filter(|at| begins(*at, self.amps[*at])));
        loop {
            if !self.iterate(open, &resistance) {
                return false;
            }
            for at in (0..count).filter(|at| !self.active.contains(at)) {
                let drop: f64 = self.active.iter().map(|by| resistance(at, *by) * self.amps[*by]).sum();
                self.volts[at] = open[at] - drop;
                (self.amps[at], self.slopes[at]) = (0.0, 0.0);
            }
            let more: Vec<usize> = (0..count)
                .filter(|at| !self.active.contains(at) && !self.laws[*at].rests(self.volts[*at]))
                .collect();
            if more.is_empty() {
                self.active.retain(|at| self.slopes[*at] != 0.0);
                return true;
            }
            self.active.extend(more);
            self.active.sort_unstable();
        }
    }

    /// Newton among the active ones.
    fn iterate(&mut self, open: &[f64], resistance: &impl Fn(usize, usize) -> f64) -> bool {
        let size = self.active.len();
        let mut before = f64::INFINITY;
        for step in 0..STEPS {
            for at in &self.active {
                (self.amps[*at], self.slopes[*at]) = self.laws[*at].at(self.volts[*at]);
            }
            self.guess.resize(size, 0.0);
            for (row, at) in self.active.iter().enumerate() {
                let drop: f64 = self.active.iter().map(|by| resistance(*at, *by) * self.amps[*by]).sum();
                self.guess[row] = open[*at] - drop - self.volts[*at];
            }
            if !self.solve_step(resistance) {
                return false;
            }
            let largest = self.guess.iter().fold(0.0, |most: f64, step| most.max(step.abs()));
            let share = if step > FREE_STEPS && largest > 0.5 * before { 0.5 } else { 1.0 };
            before = largest;
            let mut small = share == 1.0;
            for (row, at) in self.active.iter().enumerate() {
                let now = self.volts[*at] + share * self.guess[row];
                let held = self.laws[*at].hold_back(self.volts[*at], now);
                small &= held == now && self.guess[row].abs() <= STEP_VOLTS + STEP_SHARE * now.abs();
                self.volts[*at] = held;
            }
            if small {
                for at in &self.active {
                    (self.amps[*at], self.slopes[*at]) = self.laws[*at].at(self.volts[*at]);
                }
                return true;
            }
        }
        false
    }

    /// Turns what the volts miss into the step that mends it, among the active ones.
    fn solve_step(&mut self, resistance: &impl Fn(usize, usize) -> f64) -> bool {
        let entry = |row: usize, column: usize| {
            let (at, by) = (self.active[row], self.active[column]);
            f64::from(u8::from(row == column)) + resistance(at, by) * self.slopes[by]
        };
        match self.active.len() {
            1 => self.guess[0] /= entry(0, 0),
            2 => {
                let [a, b, c, d] = [entry(0, 0), entry(0, 1), entry(1, 0), entry(1, 1)];
                let whole = a * d - b * c;
                let (x, y) = (self.guess[0], self.guess[1]);
                self.guess[0] = (d * x - b * y) / whole;
                self.guess[1] = (a * y - c * x) / whole;
            }
            size => {
                let values = (0..size * size).map(|at| entry(at / size, at % size)).collect();
                match Dense::factor(size, values) {
                    Ok(factors) => factors.solve(&mut self.guess),
                    Err(_) => return false,
                }
            }
        }
        self.guess.iter().all(|step| step.is_finite())
    }
}
