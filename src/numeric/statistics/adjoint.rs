//! Sensitivities of one quantity to every value: one solve of the transposed equations.
//!
//! ```text
//! 100 V over 10 kΩ (upper) and 10 kΩ, the middle at 50 V; asked: dV/d ln of both resistors
//! transposed   1 A's worth at the middle: weight 5 kΩ on that node (both resistors in parallel)
//! upper        +1 % takes 1 % of its 5 mA from the node: 5 kΩ · −50 µA = −0.25 V
//! lower        +1 % takes 50 µA less out: +0.25 V
//! one solve for any number of resistors; `tangent` needs one each, but gives every quantity
//! ```

use crate::numeric::dc::device::Kind;
use crate::numeric::dc::islands::Mode;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::{Law, Network};
use crate::numeric::outcome::Unsolved;
use crate::numeric::point::{OperatingPoint, ValvePoint};
use crate::numeric::statistics::quantity::{Figure, Quantity};
use crate::numeric::statistics::tangent::{Places, directly, is_conductor};
use crate::numeric::statistics::{Change, Varied};

impl Prepared {
    /// How the volts of `node` change with each element's value: dV/d(ln ohms) of resistors, inductors and
    /// windings, dV/d(ln volts) of voltage sources, dV/d(ln amps) of current sources, dV/d(ln strength) of
    /// valves (the scale of plate and screen current), dV/d(ln volts) of zeners' breakdown; 0 for the rest.
    /// First order, about `point`, which must be an answer for `network`.
    pub fn sensitivities(
        &mut self,
        network: &Network,
        point: &OperatingPoint,
        node: usize,
    ) -> Result<Vec<f64>, Unsolved> {
        let own = |law: &Law| match law {
            Law::VoltageSource { .. } => Change::Volts,
            Law::CurrentSource { .. } => Change::Amps,
            Law::Triode { .. } | Law::Pentode { .. } | Law::VacuumDiode { .. } => Change::Strength,
            Law::Zener { .. } => Change::Breakdown,
            _ => Change::Ohms,
        };
        let changes: Vec<(usize, Change)> =
            network.elements.iter().map(|element| own(&element.law)).enumerate().collect();
        let sets = changes.iter().map(std::slice::from_ref);
        Ok(self.adjoint(network, point, &Quantity::Volts(node), sets)?.unwrap_or_default())
    }

    /// How a quantity changes with the natural logarithm of each figure that varies; `None` where the quantity
    /// is undefined, or is the current of an ideal link.
    pub fn sensitivities_of(
        &mut self,
        network: &Network,
        point: &OperatingPoint,
        quantity: &Quantity,
        varied: &[Varied],
    ) -> Result<Option<Vec<f64>>, Unsolved> {
        self.adjoint(network, point, quantity, varied.iter().map(|one| one.sets.as_slice()))
    }

    fn adjoint<'s>(
        &mut self,
        network: &Network,
        point: &OperatingPoint,
        quantity: &Quantity,
        sets: impl Iterator<Item = &'s [(usize, Change)]>,
    ) -> Result<Option<Vec<f64>>, Unsolved> {
        let (point, places) = self.linearised(network, point)?;
        Ok(self.slopes(network, (&point, &places), quantity, sets))
    }

    /// Factors the equations linearised about a point, which must be an answer for `network`: the point they then stand
    /// at, and where each element stands in them.
    pub(crate) fn linearised(
        &mut self,
        network: &Network,
        point: &OperatingPoint,
    ) -> Result<(OperatingPoint, Places), Unsolved> {
        // The factors last made may be another network's: solved again from the answer, one step.
        let point = self.solve(network, Some(point))?;
        match self.iteration.linearise() {
            Ok(()) => Ok((point, Places::new(self, network))),
            Err(end) => Err(self.unsolved(network, end)),
        }
    }

    /// How a quantity changes with each of the sets' logarithms; the equations must be [`Prepared::linearised`].
    pub(crate) fn slopes<'s>(
        &mut self,
        network: &Network,
        (point, places): (&OperatingPoint, &Places),
        quantity: &Quantity,
        sets: impl Iterator<Item = &'s [(usize, Change)]>,
    ) -> Option<Vec<f64>> {
        if !quantity.fits(network) || quantity.of(point).is_none() {
            return None;
        }
        let mut weights = vec![0.0; self.iteration.x.len()];
        let asked = Asked { prepared: self, network, point, places };
        asked.weigh(quantity, &mut weights)?;
        // A quantity may be measured against the chassis, which does not move.
        let chassis = weights.len() - 1;
        weights[chassis] = 0.0;
        self.iteration.adjoint(&mut weights);
        let asked = Asked { prepared: self, network, point, places };
        let slope = |sets: &[(usize, Change)]| {
            let mut sum = 0.0;
            for &set in sets {
                // Two ways to act: by the unknowns (a weight on each row it upsets), and on the quantity itself at
                // the same volts.
                sum += asked.directly(quantity, set);
                places.disturb(self, network, set, |row, amps| sum += weights[row as usize] * amps);
            }
            sum
        };
        Some(sets.map(slope).collect())
    }
}

/// A quantity asked of a point.
struct Asked<'a> {
    prepared: &'a Prepared,
    network: &'a Network,
    point: &'a OperatingPoint,
    places: &'a Places,
}

impl Asked<'_> {
    /// The quantity's slopes with the unknowns.
    fn weigh(&self, quantity: &Quantity, weights: &mut [f64]) -> Option<()> {
        let row = &self.prepared.layout.row;
        match quantity {
            Quantity::Volts(node) => weights[row[*node] as usize] += 1.0,
            Quantity::Between(a, b) => {
                weights[row[*a] as usize] += 1.0;
                weights[row[*b] as usize] -= 1.0;
            }
            Quantity::Amps(terminals) => {
                for &(element, terminal) in terminals {
                    self.weigh_amps(element, terminal, 1.0, weights)?;
                }
            }
            Quantity::Watts(elements) => {
                for &element in elements {
                    self.weigh_watts(element, weights)?;
                }
            }
            Quantity::Valve(element, figure) => self.weigh_valve(*element, *figure, 1.0, weights),
        }
        Some(())
    }

    /// Adds a share of a terminal's current.
    fn weigh_amps(&self, element: usize, terminal: usize, share: f64, weights: &mut [f64]) -> Option<()> {
        let row = &self.prepared.layout.row;
        // Terminals come in pairs, and what goes into the one comes out of the other.
        let into = if terminal.is_multiple_of(2) { share } else { -share };
        match self.network.elements[element].law {
            Law::Resistor { a, b, ohms } if is_conductor(self.prepared, element, ohms) => {
                weights[row[a] as usize] += into / ohms;
                weights[row[b] as usize] -= into / ohms;
            }
            // What a link carries is a sum of others' currents: it has no weight of its own on the unknowns.
            Law::Resistor { ohms: 0.0, .. } => return None,
            // A source's current is its value and no unknown moves it; what its own change does is counted in
            // `directly`.
            Law::Capacitor { .. } | Law::CurrentSource { .. } => {}
            Law::Triode { .. } => {
                let of = [Figure::PlateAmps, Figure::GridAmps, Figure::CathodeAmps][terminal];
                self.weigh_valve(element, of, if terminal == 2 { -share } else { share }, weights);
            }
            Law::Pentode { .. } => {
                let of = [Figure::PlateAmps, Figure::ScreenAmps, Figure::GridAmps, Figure::CathodeAmps];
                self.weigh_valve(element, of[terminal], if terminal == 3 { -share } else { share }, weights);
            }
            Law::Diode { .. } | Law::Zener { .. } | Law::VacuumDiode { .. } => {
                self.weigh_valve(element, Figure::PlateAmps, into, weights);
            }
            _ => {
                let branch = self.places.branches(self.prepared, element).nth(terminal / 2)?;
                weights[branch.row as usize] += into;
            }
        }
        Some(())
    }

    fn weigh_watts(&self, element: usize, weights: &mut [f64]) -> Option<()> {
        let (row, amps) = (&self.prepared.layout.row, self.point.amps(element));
        match self.network.elements[element].law {
            Law::Resistor { ohms, .. } | Law::Inductor { ohms, .. } => {
                self.weigh_amps(element, 0, 2.0 * amps[0] * ohms, weights)?;
            }
            Law::VoltageSource { volts, .. } => self.weigh_amps(element, 0, volts, weights)?,
            Law::CurrentSource { from, to, .. } => {
                weights[row[from] as usize] += amps[0];
                weights[row[to] as usize] -= amps[0];
            }
            Law::Windings { ref windings, .. } => {
                for (at, (winding, amps)) in windings.iter().zip(amps.chunks(2)).enumerate() {
                    self.weigh_amps(element, 2 * at, 2.0 * amps[0] * winding.ohms, weights)?;
                }
            }
            Law::Capacitor { .. } => {}
            _ => {
                self.weigh_valve(element, Figure::PlateWatts, 1.0, weights);
                self.weigh_valve(element, Figure::ScreenWatts, 1.0, weights);
                let grid = self.point.valve(element).copied().unwrap_or_default();
                // d(V·I) = I·dV + V·dI, the grid's share of what a valve takes.
                self.weigh_valve(element, Figure::GridVolts, grid.grid_amps, weights);
                self.weigh_valve(element, Figure::GridAmps, grid.grid_volts, weights);
            }
        }
        Some(())
    }

    /// Adds a share of a valve's figure: what a volt on each electrode does to it.
    fn weigh_valve(&self, element: usize, figure: Figure, share: f64, weights: &mut [f64]) {
        let Some(device) = self.places.device(self.prepared, element) else { return };
        let of = &device.point;
        let held = device.mode == Mode::GridAtCathode;
        let with_grid = if held { 0.0 } else { 1.0 };
        // A triode's screen row is the chassis': a weight there would count the cathode twice.
        let with_screen = if matches!(device.kind, Kind::Pentode(_)) { 1.0 } else { 0.0 };
        let volts = [
            ValvePoint { plate_volts: 1.0, plate_amps: of.gp, ..ValvePoint::default() },
            ValvePoint {
                screen_volts: with_screen,
                plate_amps: of.gm_screen * with_screen,
                screen_amps: of.gs * with_screen,
                ..ValvePoint::default()
            },
            ValvePoint {
                grid_volts: if device.is_diode() { 0.0 } else { 1.0 },
                plate_amps: of.gm * with_grid,
                screen_amps: of.gm_to_screen * with_grid,
                grid_amps: of.ggrid * with_grid,
                ..ValvePoint::default()
            },
        ];
        let valve = self.point.valve(element).copied().unwrap_or_default();
        for (row, volt) in device.rows.iter().zip(&volts) {
            let slope = share * figure.change(&valve, volt);
            weights[*row as usize] += slope;
            weights[device.rows[3] as usize] -= slope;
        }
    }

    /// The quantity's slope with a value, the unknowns unchanged.
    fn directly(&self, quantity: &Quantity, (element, change): (usize, Change)) -> f64 {
        let own = || {
            let device = self.places.device(self.prepared, element);
            let [plate_amps, screen_amps] = device.map_or([0.0; 2], |device| directly(device, change));
            ValvePoint { plate_amps, screen_amps, ..ValvePoint::default() }
        };
        match quantity {
            Quantity::Amps(terminals) => {
                let here = terminals.iter().filter(|(of, _)| *of == element);
                here.map(|(_, terminal)| self.amps_directly(element, *terminal, &own())).sum()
            }
            Quantity::Watts(elements) if elements.contains(&element) => {
                let (watts, valve) = (self.point.watts(element), self.point.valve(element));
                match self.network.elements[element].law {
                    // V²/R at the same volts falls with R; of a branch the current is the unknown, and I²·R rises
                    // with it.
                    Law::Resistor { ohms, .. } if is_conductor(self.prepared, element, ohms) => -watts,
                    _ => valve.map_or(watts, |valve| {
                        Figure::PlateWatts.change(valve, &own()) + Figure::ScreenWatts.change(valve, &own())
                    }),
                }
            }
            Quantity::Valve(of, figure) if *of == element => {
                self.point.valve(element).map_or(0.0, |valve| figure.change(valve, &own()))
            }
            Quantity::Volts(_) | Quantity::Between(..) | Quantity::Watts(_) | Quantity::Valve(..) => 0.0,
        }
    }

    fn amps_directly(&self, element: usize, terminal: usize, own: &ValvePoint) -> f64 {
        let amps = self.point.amps(element)[terminal];
        match self.network.elements[element].law {
            Law::Resistor { ohms, .. } if is_conductor(self.prepared, element, ohms) => -amps,
            Law::CurrentSource { .. } => amps,
            Law::Triode { .. } => [own.plate_amps, 0.0, -own.cathode_amps()][terminal],
            Law::Pentode { .. } => [own.plate_amps, own.screen_amps, 0.0, -own.cathode_amps()][terminal],
            Law::Zener { .. } | Law::VacuumDiode { .. } => [own.plate_amps, -own.plate_amps][terminal],
            _ => 0.0,
        }
    }
}
