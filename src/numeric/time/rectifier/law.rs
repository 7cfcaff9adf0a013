//! Rectifiers in time: current and slope at given volts, and several of them behind one network of resistances.
//!
//! ```text
//! Two valve plates of 1 mA/V^1.5, open volts 50 and 10, 100 Ω in each feed, 200 Ω common to both:
//! tried     both, since both are above 0 V open
//! settled   V₁ = 50 − 300 Ω·I₁ = 21.0 V with I₁ = 96.5 mA; V₂ = 10 − 200 Ω·I₁ = −9.3 V: nothing
//! dropped   the second, at its slope of 0: the next instant begins with the first alone
//! checked   whoever was not tried, at the volts found: one above 0 V joins, and all are settled anew
//! ```

use crate::numeric::dc::valve;

use crate::numeric::linear::dense::eliminate;

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
const STEP_VOLTS: f64 = 1e-7;
/// No junction settles past this exponent.
const LARGEST_EXPONENT: f64 = 200.0;
/// Leakage of silicon, in siemens: some microamperes at several hundred volts, as a 1N4007 at room temperature (memory).
const SILICON_LEAK: f64 = 1e-8;
/// Leakage of a valve's insulation: far below what any reading could show.
const VALVE_LEAK: f64 = 1e-10;

impl RectifierLaw {
    /// Current and slope.
    pub fn at(&self, volts: f64) -> (f64, f64) {
        match *self {
            Self::Drop { volts: least, ohms } if volts > least => ((volts - least) / ohms, 1.0 / ohms),
            Self::Drop { .. } => (0.0, 0.0),
            Self::Vacuum { perveance } => valve::vacuum_diode(perveance, volts),
            Self::Junction { saturation_amps, thermal_volts } => {
                if volts > 0.0 {
                    // Capped where it would overflow; the step that got there is held back below.
                    let grown = libm::exp((volts / thermal_volts).min(LARGEST_EXPONENT));
                    (saturation_amps * (grown - 1.0), saturation_amps / thermal_volts * grown)
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

    /// Conductance beside it. It also ties a winding to the rest while nothing conducts.
    pub(crate) fn leak(&self) -> f64 {
        match self {
            Self::Drop { .. } | Self::Vacuum { .. } => VALVE_LEAK,
            Self::Junction { .. } | Self::Zener { .. } => SILICON_LEAK,
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

    /// The volts that a step from `before` to `now` may reach: a junction, which carries `amps` at `before` with `slope`,
    /// moves up its curve only to the current that its tangent predicts.
    fn hold_back(&self, before: f64, now: f64, (amps, slope): (f64, f64)) -> f64 {
        match *self {
            Self::Junction { saturation_amps, thermal_volts }
            | Self::Zener { saturation_amps, thermal_volts, .. }
                // As in `dc::device`: along the current, since volts of an exponential tell nothing of how far to go.
                if now > before + 0.5 * thermal_volts && now > thermal_volts =>
            {
                let slope = if before > 0.0 { slope } else { saturation_amps / thermal_volts };
                let reach = amps.max(0.0) + slope * (now - before.max(0.0));
                valve::junction_volts(saturation_amps, thermal_volts, reach).min(now)
            }
            _ => now,
        }
    }
}

/// All rectifiers of a supply at one instant.
#[derive(Debug, Clone)]
pub(crate) struct Rectifiers {
    pub(crate) laws: Vec<RectifierLaw>,
    /// Anode above cathode.
    pub(crate) volts: Vec<f64>,
    pub(crate) amps: Vec<f64>,
    pub(crate) slopes: Vec<f64>,
    /// Those that may conduct.
    active: Vec<usize>,
    guess: Vec<f64>,
    matrix: Vec<f64>,
}

impl Rectifiers {
    pub(crate) fn new(laws: Vec<RectifierLaw>) -> Self {
        let zero = vec![0.0; laws.len()];
        Self {
            volts: zero.clone(),
            amps: zero.clone(),
            slopes: zero.clone(),
            guess: zero,
            laws,
            active: Vec::new(),
            matrix: Vec::new(),
        }
    }

    /// Those that may conduct.
    pub(crate) fn active(&self) -> &[usize] {
        &self.active
    }

    /// Finds volts with `volts = open − resistance·amps(volts)`; `open` are the volts with nothing conducting and
    /// `resistance(row, column)` is how one's current lowers another's volts. False where no solution was found.
    pub(crate) fn settle(&mut self, open: &[f64], resistance: impl Fn(usize, usize) -> f64) -> bool {
        let count = self.laws.len();
        // Most of a period nothing conducts: one comparison for each, no iteration.
        let resting = (0..count).all(|at| self.laws[at].rests(open[at]));
        self.active.clear();
        if resting {
            self.volts.copy_from_slice(open);
            self.amps.fill(0.0);
            self.slopes.fill(0.0);
            return true;
        }
        // Those that carried something an instant ago are tried first: most instants are like the last.
        let begins = |at: usize, amps: f64| amps != 0.0 || !self.laws[at].rests(open[at]);
        self.active.extend((0..count).filter(|at| begins(*at, self.amps[*at])));
        // Each pass adds one that was resting at least: there are no more of them than rectifiers.
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
                // Who was tried and carries nothing is out of the derivative as well, and needs no try at the next
                // instant.
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
            // A halved step is small because it was halved.
            let mut small = share == 1.0;
            for (row, at) in self.active.iter().enumerate() {
                let now = self.volts[*at] + share * self.guess[row];
                let held = self.laws[*at].hold_back(self.volts[*at], now, (self.amps[*at], self.slopes[*at]));
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
        self.matrix.clear();
        for at in &self.active {
            let row = self
                .active
                .iter()
                // I + R·G, not G⁻¹ + R: slopes of 0 do no harm.
                .map(|by| f64::from(u8::from(at == by)) + resistance(*at, *by) * self.slopes[*by]);
            self.matrix.extend(row);
        }
        eliminate(&mut self.matrix, &mut self.guess) && self.guess.iter().all(|step| step.is_finite())
    }
}
