//! Valves and diodes between rows of the equations: evaluation, and their place in matrix and balance.

use crate::numeric::dc::islands::Mode;
use crate::numeric::dc::valve;
use crate::numeric::network::{Law, PentodeModel, TriodeModel};
use crate::numeric::point::ValvePoint;

/// A junction may move forward this many thermal voltages a step before it is held back.
// Below half a thermal voltage exp grows by less than 1.7: Newton's step is good as it is.
const FREE_THERMAL: f64 = 0.5;

/// The largest current at which a junction starts, in amperes.
// Past what any junction here carries, so that a start near the answer is not thrown back to the knee; still far from
// overflow, were the start a wild one.
const FRESH_AMPS: f64 = 1e3;

/// A valve or diode with its rows.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Device {
    pub(crate) element: usize,
    /// Plate, screen, grid, cathode; those it lacks stand one past the unknowns.
    pub(crate) rows: [u32; 4],
    pub(crate) kind: Kind,
    pub(crate) mode: Mode,
    /// Currents and slopes as last evaluated.
    pub(crate) point: ValvePoint,
    /// A junction's volts now less those at which it was evaluated: 0 unless it was held back.
    pub(crate) behind: f64,
}

/// The law, without nodes.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Kind {
    Triode(TriodeModel),
    Pentode(PentodeModel),
    /// `zener` is volts and ohms.
    Junction {
        saturation: f64,
        thermal: f64,
        zener: Option<(f64, f64)>,
    },
    Vacuum {
        perveance: f64,
    },
}

impl Kind {
    /// The law's kind, `None` where it is none of these.
    pub(crate) fn of(law: &Law) -> Option<Self> {
        Some(match *law {
            Law::Triode { model, .. } => Self::Triode(model),
            Law::Pentode { model, .. } => Self::Pentode(model),
            Law::Diode { saturation_amps, emission, .. } => Self::Junction {
                saturation: saturation_amps,
                thermal: emission * valve::THERMAL_VOLTS,
                zener: None,
            },
            Law::Zener { saturation_amps, emission, zener_volts, zener_ohms, .. } => Self::Junction {
                saturation: saturation_amps,
                thermal: emission * valve::THERMAL_VOLTS,
                zener: Some((zener_volts, zener_ohms)),
            },
            Law::VacuumDiode { perveance, .. } => Self::Vacuum { perveance },
            _ => return None,
        })
    }
}

impl Device {
    pub(crate) fn new(element: usize, rows: [u32; 4], kind: Kind, mode: Mode) -> Self {
        Self { element, rows, kind, mode, point: ValvePoint::default(), behind: 0.0 }
    }

    /// The volts of plate, screen and grid from the cathode.
    fn volts(&self, x: &[f64]) -> [f64; 3] {
        let cathode = x[self.rows[3] as usize];
        [0, 1, 2].map(|at| x[self.rows[at] as usize] - cathode)
    }

    /// Evaluates at the nodes' volts. A junction moves along its curve to the current that its tangent
    /// predicts there, not beyond; true where it was so held back. `fresh` forgets where it was and trusts the volts up to
    /// [`FRESH_AMPS`].
    pub(crate) fn evaluate(&mut self, x: &[f64], fresh: bool) -> bool {
        let [plate, screen, grid] = self.volts(x);
        let before = self.point.plate_volts;
        // Its point stays as it was set, all zero: it carries nothing and stamps nothing.
        if self.mode == Mode::CutOff {
            return false;
        }
        let grid = if self.mode == Mode::GridAtCathode { 0.0 } else { grid };
        match self.kind {
            Kind::Triode(model) => self.point = model.at(plate, grid),
            Kind::Pentode(model) => self.point = model.at(plate, screen, grid),
            Kind::Vacuum { perveance } => {
                let (plate_amps, gp) = valve::vacuum_diode(perveance, plate);
                self.point = ValvePoint { plate_volts: plate, plate_amps, gp, ..ValvePoint::default() };
            }
            Kind::Junction { saturation, thermal, zener } => {
                let before =
                    if fresh { valve::junction_volts(saturation, thermal, FRESH_AMPS) } else { before };
                let volts = hold_back(saturation, thermal, before, plate);
                self.evaluate_junction(saturation, thermal, zener, volts);
                // The current is carried on along the tangent to the volts asked for: sums then balance what Newton's
                // step assumed, while the curve is only ever evaluated where exp is tame.
                self.behind = plate - volts;
            }
        }
        if self.mode == Mode::GridAtCathode {
            self.point.grid_amps = 0.0;
            self.point.ggrid = 0.0;
        }
        self.behind != 0.0
    }

    fn evaluate_junction(&mut self, saturation: f64, thermal: f64, zener: Option<(f64, f64)>, volts: f64) {
        let (mut plate_amps, mut gp) = valve::junction(saturation, thermal, volts);
        if let Some((zener_volts, ohms)) = zener {
            let (amps, slope) = valve::breakdown(zener_volts, ohms, volts);
            plate_amps += amps;
            gp += slope;
        }
        self.point = ValvePoint { plate_volts: volts, plate_amps, gp, ..ValvePoint::default() };
    }

    /// Currents into plate, screen and grid.
    pub(crate) fn amps(&self) -> [f64; 3] {
        let point = &self.point;
        [point.plate_amps + point.gp * self.behind, point.screen_amps, point.grid_amps]
    }

    /// Currents into each terminal that the law has, in the order of its terminals.
    pub(crate) fn terminal_amps(&self) -> impl Iterator<Item = f64> {
        let [plate, screen, grid] = self.amps();
        let all = [plate, screen, grid, -(plate + screen + grid)];
        let has = match self.kind {
            Kind::Triode(_) => [true, false, true, true],
            Kind::Pentode(_) => [true; 4],
            Kind::Junction { .. } | Kind::Vacuum { .. } => [true, false, false, true],
        };
        all.into_iter().zip(has).filter(|pair| pair.1).map(|pair| pair.0)
    }

    /// How many contributions [`Device::stamp`] makes.
    pub(crate) fn stamps(&self) -> usize {
        if self.is_diode() { 4 } else { 13 }
    }

    /// Whether it has two terminals and cannot amplify.
    pub(crate) fn is_diode(&self) -> bool {
        matches!(self.kind, Kind::Junction { .. } | Kind::Vacuum { .. })
    }

    /// Whether it conducts both ways, be it only by leakage.
    pub(crate) fn is_junction(&self) -> bool {
        matches!(self.kind, Kind::Junction { .. })
    }

    /// The slopes' contributions to the matrix. At DC a grid taken to be at the cathode has no effect.
    pub(crate) fn stamp(&self, alternating: bool, mut emit: impl FnMut(u32, u32, f64)) {
        let [p, s, g, k] = self.rows;
        let point = &self.point;
        let gp = point.gp;
        if self.is_diode() {
            emit(p, p, gp);
            emit(p, k, -gp);
            emit(k, p, -gp);
            emit(k, k, gp);
            return;
        }
        // At DC nothing defines the grid's volts, at AC capacitances may: there the valve amplifies.
        let held = self.mode == Mode::GridAtCathode && !alternating;
        let (gm, gm_to_screen) = if held { (0.0, 0.0) } else { (point.gm, point.gm_to_screen) };
        let (gm_screen, gs, ggrid) = (point.gm_screen, point.gs, point.ggrid);
        emit(p, p, gp);
        emit(p, s, gm_screen);
        emit(p, g, gm);
        emit(p, k, -(gp + gm_screen + gm));
        emit(s, s, gs);
        emit(s, g, gm_to_screen);
        emit(s, k, -(gs + gm_to_screen));
        emit(g, g, ggrid);
        emit(g, k, -ggrid);
        emit(k, p, -gp);
        emit(k, s, -(gm_screen + gs));
        emit(k, g, -(gm + gm_to_screen + ggrid));
        emit(k, k, gp + gm_screen + gm + gs + gm_to_screen + ggrid);
    }

    /// Σ|g·V| of the currents into plate, screen and grid: the scale of their rounding.
    pub(crate) fn rounding(&self, x: &[f64]) -> [f64; 3] {
        let [plate, screen, grid, cathode] = self.rows.map(|row| x[row as usize].abs());
        let point = &self.point;
        [
            // Sums of absolute terms, not the absolute sum: rounding adds up even where the terms cancel.
            point.gp * (plate + cathode)
                + point.gm_screen.abs() * (screen + cathode)
                + point.gm * (grid + cathode),
            point.gs * (screen + cathode) + point.gm_to_screen * (grid + cathode),
            point.ggrid * (grid + cathode),
        ]
    }
}

/// The volts at which a junction is taken on its way from `before` to `now`.
fn hold_back(saturation: f64, thermal: f64, before: f64, now: f64) -> f64 {
    // Downwards exp has no danger, and below one thermal voltage the curve is nearly straight.
    if now <= before + FREE_THERMAL * thermal || now <= thermal {
        return now;
    }
    // Deep in reverse the slope is 0: a tangent from there predicts −saturation, at which the logarithm has no volts.
    let from = before.max(0.0);
    let (amps, slope) = valve::junction(saturation, thermal, from);
    valve::junction_volts(saturation, thermal, amps + slope * (now - from)).min(now)
}
