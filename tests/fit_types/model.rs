//! The valve laws and the few circuits in which published figures are given, solved by root finding; volts, amperes, ohms.

use libm::{atan, exp, log1p, pow};

/// Parameters in the order `mu ex kg1 kp kvb` for a triode, `mu ex kg1 kg2 kp kvb` for a pentode.
pub(crate) type Parameters = [f64];

/// ln(1 + e^x) without overflow.
fn softplus(x: f64) -> f64 {
    if x > 0.0 { x + log1p(exp(-x)) } else { log1p(exp(x)) }
}

/// Plate and screen current for grid, screen and plate volts to the cathode; the screen is nothing to a triode.
pub(crate) fn currents(p: &Parameters, grid: f64, screen: f64, plate: f64) -> (f64, f64) {
    match *p {
        [mu, ex, kg1, kp, kvb] if plate > 0.0 => {
            let drive = plate / kp * softplus(kp * (1.0 / mu + grid / (kvb + plate * plate).sqrt()));
            (2.0 * pow(drive, ex) / kg1, 0.0)
        }
        [mu, ex, kg1, kg2, kp, kvb] if screen > 0.0 => {
            let drive = screen / kp * softplus(kp * (1.0 / mu + grid / screen));
            let total = 2.0 * pow(drive, ex) / kg1;
            let taken = pow((grid + screen / mu).max(0.0), 1.5) / kg2;
            (if plate > 0.0 { total * atan(plate / kvb) } else { 0.0 }, taken)
        }
        _ => (0.0, 0.0),
    }
}

/// Screen current with its cut-off rounded over about a volt.
pub(crate) fn rounded_screen(p: &Parameters, grid: f64, screen: f64) -> f64 {
    match *p {
        [mu, _, _, kg2, _, _] => pow(softplus(grid + screen / mu), 1.5) / kg2,
        _ => 0.0,
    }
}

/// dI/dV of `current` at `volts`, by central difference.
pub(crate) fn slope(volts: f64, current: impl Fn(f64) -> f64) -> f64 {
    let step = 1e-4 * volts.abs().max(1.0);
    (current(volts + step) - current(volts - step)) / (2.0 * step)
}

/// The zero of a rising function between `low` and `high`: regula falsi in the Illinois form.
pub(crate) fn zero(mut low: f64, mut high: f64, value: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (value(low), value(high));
    if at_low >= 0.0 || at_high <= 0.0 {
        return if at_low >= 0.0 { low } else { high };
    }
    let mut before = f64::NAN;
    for _ in 0..200 {
        let middle = (low * at_high - high * at_low) / (at_high - at_low);
        let at_middle = value(middle);
        if at_middle == 0.0 || (middle - before).abs() <= 1e-14 * middle.abs() {
            return middle;
        }
        before = middle;
        if at_middle < 0.0 {
            let old = at_low;
            (low, at_low) = (middle, at_middle);
            at_high *= if at_middle > 0.5 * old { 0.5 } else { 1.0 };
        } else {
            let old = at_high;
            (high, at_high) = (middle, at_middle);
            at_low *= if at_middle > 0.5 * old { 0.5 } else { 1.0 };
        }
    }
    before
}

/// A resistance-coupled stage with its cathode and screen held for signals.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stage {
    /// Supply volts to chassis.
    pub(crate) supply: f64,
    /// Plate load.
    pub(crate) load: f64,
    /// Cathode resistor.
    pub(crate) cathode: f64,
    /// Screen resistor; 0 for a triode.
    pub(crate) screen: f64,
    /// Next stage's grid resistor; infinite where there is none.
    pub(crate) next: f64,
}

impl Stage {
    /// Plate current, screen current and gain.
    pub(crate) fn solve(&self, p: &Parameters) -> (f64, f64, f64) {
        let electrodes = |bias: f64| {
            let span = self.supply - bias;
            let screen = zero(0.0, span, |s| s + self.screen * currents(p, -bias, s, 1.0).1 - span);
            let plate = zero(0.0, span, |v| v + self.load * currents(p, -bias, screen, v).0 - span);
            (screen, plate)
        };
        let bias = zero(0.0, 0.5 * self.supply, |bias| {
            let (screen, plate) = electrodes(bias);
            let (ip, is) = currents(p, -bias, screen, plate);
            bias - self.cathode * (ip + is)
        });
        let (screen, plate) = electrodes(bias);
        let (ip, is) = currents(p, -bias, screen, plate);
        let transconductance = slope(-bias, |g| currents(p, g, screen, plate).0);
        let conductance =
            slope(plate, |v| currents(p, -bias, screen, v).0) + 1.0 / self.load + 1.0 / self.next;
        (ip, is, transconductance / conductance)
    }
}

/// One valve of a pair at rest: resistors the pair shares are counted twice.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Idle {
    /// Plate volts to cathode, or to chassis where `to_chassis`.
    pub(crate) plate: f64,
    /// Screen supply volts, reckoned as `plate` is.
    pub(crate) screen: f64,
    /// Grid volts to chassis.
    pub(crate) grid: f64,
    /// Twice the shared cathode resistor.
    pub(crate) cathode: f64,
    /// Twice the shared screen resistor.
    pub(crate) stopper: f64,
    /// The voltages are supplies to chassis, so the cathode's volts come off them.
    pub(crate) to_chassis: bool,
}

impl Idle {
    /// Plate current, screen current and rounded screen current of one valve.
    pub(crate) fn solve(&self, p: &Parameters) -> (f64, f64, f64) {
        let at = |bias: f64| {
            let lost = if self.to_chassis { bias } else { 0.0 };
            let (plate, grid, supply) = (self.plate - lost, self.grid - bias, self.screen - lost);
            let screen = zero(0.0, supply, |s| s + self.stopper * currents(p, grid, s, plate).1 - supply);
            let (ip, is) = currents(p, grid, screen, plate);
            (ip, is, rounded_screen(p, grid, screen))
        };
        if self.cathode == 0.0 {
            return at(0.0);
        }
        at(zero(0.0, 0.5 * self.plate, |bias| {
            let (ip, is, _) = at(bias);
            bias - self.cathode * (ip + is)
        }))
    }
}
