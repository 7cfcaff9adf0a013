//! Valves and diodes: volts in, currents and their derivatives out.
//!
//! Plate and screen: N. Koren, "Improved vacuum tube models", Glass Audio 8(5), 1996. Grid: K. Dempwolf and
//! U. Zölzer, "A physically-motivated triode model", DAFx-11, without the constant offset. All forms are
//! safe from overflow: a deep cut-off gives exactly 0, never NaN.

use libm::{atan, exp, expm1, log1p, pow, sqrt, tanh};

use crate::numeric::network::{GridModel, PentodeModel, TriodeModel};
use crate::numeric::point::ValvePoint;

/// kT/q as the reference cases have it, in volts (about 27 °C).
pub(crate) const THERMAL_VOLTS: f64 = 0.025_852;
/// Up to this share of the screen's volts those of the control grid drive a pentode as its law has it.
const FREE_SHARE: f64 = 0.5;
/// Past this share nothing changes any more; it keeps a screen at next to no volts from overflow.
const FAR_SHARE: f64 = 1e9;
/// Width of a zener's knee, in volts: the current reaches 0.7 of it over the slope's ohms at `zener_volts`.
const KNEE_VOLTS: f64 = 0.05;
/// Past this exponent a junction is continued along its tangent: no circuit settles there.
const LARGEST_EXPONENT: f64 = 200.0;

/// `ln(1 + exp(x))` and its derivative.
fn softplus(x: f64) -> (f64, f64) {
    if x > 0.0 {
        // Each half is taken with the exponential of the negative size: neither overflows, and no digits are lost to
        // 1 + tiny.
        let e = exp(-x);
        (x + log1p(e), 1.0 / (1.0 + e))
    } else {
        let e = exp(x);
        (log1p(e), e / (1.0 + e))
    }
}

/// `x^p` and its derivative for x ≥ 0, p > 1; both 0 at 0.
fn power(x: f64, p: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 0.0);
    }
    // The slope first and the value from it: one `pow` for both, half the cost of a valve.
    let slope = pow(x, p - 1.0);
    (slope * x, p * slope)
}

impl GridModel {
    /// Grid current in amperes and dIg/dVgk in siemens at `volts` grid to cathode.
    pub fn at(&self, volts: f64) -> (f64, f64) {
        let (soft, rise) = softplus(self.cg * volts);
        let (amps, slope) = power(soft / self.cg, self.xi);
        (self.gg * amps, self.gg * slope * rise)
    }
}

impl TriodeModel {
    /// Currents and slopes at the given volts from the cathode. No plate current for a plate at or below it.
    pub fn at(&self, plate_volts: f64, grid_volts: f64) -> ValvePoint {
        let (grid_amps, ggrid) = self.grid.at(grid_volts);
        let mut point = ValvePoint { plate_volts, grid_volts, grid_amps, ggrid, ..ValvePoint::default() };
        if plate_volts > 0.0 {
            let knee = self.kvb + plate_volts * plate_volts;
            let root = sqrt(knee);
            let (soft, rise) = softplus(self.kp * (1.0 / self.mu + grid_volts / root));
            let (amps, slope) = power(plate_volts / self.kp * soft, self.ex);
            let scale = 2.0 / self.kg1;
            let bend = plate_volts * rise / root;
            point.plate_amps = scale * amps;
            point.gm = scale * slope * bend;
            point.gp = scale * slope * (soft / self.kp - bend * grid_volts * plate_volts / knee);
        }
        point
    }
}

impl PentodeModel {
    /// Currents and slopes at the given volts from the cathode. Nothing flows to a plate or screen at or
    /// below the cathode, nor to the plate without screen volts.
    pub fn at(&self, plate_volts: f64, screen_volts: f64, grid_volts: f64) -> ValvePoint {
        let (grid_amps, ggrid) = self.grid.at(grid_volts);
        let mut point =
            ValvePoint { plate_volts, screen_volts, grid_volts, grid_amps, ggrid, ..ValvePoint::default() };
        if screen_volts <= 0.0 {
            return point;
        }
        let ratio = (grid_volts / screen_volts).clamp(-FAR_SHARE, FAR_SHARE);
        let (share, rise) = bounded_share(ratio);
        // What a volt on the screen does to `screen_volts * share`.
        let kept = share - rise * ratio;
        // The two powers differ on purpose: Koren has the plate's exponent free and the screen's at 3/2.
        let (drawn, draw) = power(screen_volts * (1.0 / self.mu + share), 1.5);
        point.screen_amps = drawn / self.kg2;
        point.gm_to_screen = draw * rise / self.kg2;
        point.gs = draw * (1.0 / self.mu + kept) / self.kg2;
        if plate_volts > 0.0 {
            let (soft, bend) = softplus(self.kp * (1.0 / self.mu + share));
            let (amps, slope) = power(screen_volts / self.kp * soft, self.ex);
            let scale = 2.0 / self.kg1;
            let x = plate_volts / self.kvb;
            let knee = atan(x);
            point.plate_amps = scale * amps * knee;
            point.gp = scale * amps / (self.kvb * (1.0 + x * x));
            point.gm = scale * slope * bend * rise * knee;
            point.gm_screen = scale * slope * knee * (soft / self.kp - bend * rise * ratio);
        }
        point
    }
}

/// The control grid's volts over the screen's, as far as they drive the valve, with the slope: the share itself up to
/// [`FREE_SHARE`], then bending to 1. The laws as published go on in a straight line, so that a grid above its screen would
/// drive the same current into a screen at 0 V and none below: with a load that starves the screen there would then be
/// no operating point. The bend is common sense, no source: a screen draws nothing that its own volts do not.
fn bounded_share(share: f64) -> (f64, f64) {
    if share <= FREE_SHARE {
        return (share, 1.0);
    }
    let rest = 1.0 - FREE_SHARE;
    let bent = tanh((share - FREE_SHARE) / rest);
    (FREE_SHARE + rest * bent, 1.0 - bent * bent)
}

/// A silicon junction: current and slope at `volts`; `thermal` is emission times kT/q.
pub(crate) fn junction(saturation: f64, thermal: f64, volts: f64) -> (f64, f64) {
    let x = volts / thermal;
    if x <= LARGEST_EXPONENT {
        // `expm1`, since at microvolts exp(x) − 1 has no digits left and a junction in reverse would leak by
        // rounding.
        return (saturation * expm1(x), saturation / thermal * exp(x));
    }
    // Continued with the same value and slope at the edge: Newton's iteration sees no kink.
    let edge = saturation * exp(LARGEST_EXPONENT);
    (edge * (1.0 + x - LARGEST_EXPONENT) - saturation, edge / thermal)
}

/// The volts at which a junction carries `amps` (above −saturation).
pub(crate) fn junction_volts(saturation: f64, thermal: f64, amps: f64) -> f64 {
    thermal * log1p(amps / saturation)
}

/// What a zener carries in reverse beyond its junction: current (negative) and slope.
pub(crate) fn breakdown(zener_volts: f64, ohms: f64, volts: f64) -> (f64, f64) {
    // The sign: volts are anode over cathode, breakdown is at −zener_volts and its current negative.
    let (soft, rise) = softplus((-volts - zener_volts) / KNEE_VOLTS);
    (-soft * KNEE_VOLTS / ohms, rise / ohms)
}

/// A rectifier valve: current and slope.
pub(crate) fn vacuum_diode(perveance: f64, volts: f64) -> (f64, f64) {
    if volts <= 0.0 {
        return (0.0, 0.0);
    }
    let root = sqrt(volts);
    (perveance * volts * root, 1.5 * perveance * root)
}
