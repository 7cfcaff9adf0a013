//! How a whole operating point moves with one value: one solve of the linearised equations.
//!
//! ```text
//! 100 V over 10 kΩ (upper) and 10 kΩ, 5 mA, middle at 50 V; all changes for each unit of the upper's ln
//! upset      at the same volts its current falls by 5 mA: the node lacks them
//! solved     5 kΩ (both in parallel) · −5 mA = −25 V at the middle
//! currents   upper: by volts +2.5 mA, by itself −5 mA: −2.5 mA; lower −2.5 mA: they balance
//! power      upper, 0.25 W: 2·I·dI·R = −0.25 W, by itself +0.25 W: 0, at its largest when matched
//! ```

use crate::numeric::dc::answer::carry_links;
use crate::numeric::dc::device::{Device, Kind};
use crate::numeric::dc::islands::Mode;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::dc::stamp::BranchRow;
use crate::numeric::dc::valve;
use crate::numeric::network::{Law, Network};
use crate::numeric::point::{OperatingPoint, ValvePoint};
use crate::numeric::statistics::{Change, Varied};

/// The change of every figure of a point, for each unit of a value's natural logarithm.
#[derive(Debug, Clone)]
pub(crate) struct Tangent {
    /// Of the unknowns; while it is being made, the disturbance of their equations.
    x: Vec<f64>,
    pub(crate) volts: Vec<f64>,
    /// By terminal, as the point's.
    pub(crate) amps: Vec<f64>,
    pub(crate) watts: Vec<f64>,
    /// Changes of volts and currents; the slopes are not used.
    pub(crate) valves: Vec<Option<ValvePoint>>,
    places: Places,
}

/// Where each element stands among the devices, and first among the branches.
#[derive(Debug, Clone)]
pub(crate) struct Places {
    device_of: Vec<Option<u32>>,
    branch_of: Vec<u32>,
}

impl Places {
    pub(crate) fn new(prepared: &Prepared, network: &Network) -> Places {
        let equations = &prepared.iteration.equations;
        let mut device_of = vec![None; network.elements.len()];
        for (place, device) in equations.devices.iter().enumerate() {
            device_of[device.element] = Some(place as u32);
        }
        let mut branch_of = vec![u32::MAX; network.elements.len()];
        for (place, branch) in equations.branches.iter().enumerate().rev() {
            // Backwards, so that the first of an element's branches is what stays.
            branch_of[branch.branch.element] = place as u32;
        }
        Places { device_of, branch_of }
    }

    /// The valve or diode that an element is.
    pub(crate) fn device<'a>(&self, prepared: &'a Prepared, element: usize) -> Option<&'a Device> {
        let place = self.device_of[element]?;
        prepared.iteration.equations.devices.get(place as usize)
    }

    /// The branches that an element has.
    pub(crate) fn branches<'a>(
        &self,
        prepared: &'a Prepared,
        element: usize,
    ) -> impl Iterator<Item = &'a BranchRow> {
        let all = &prepared.iteration.equations.branches;
        let first = (self.branch_of[element] as usize).min(all.len());
        all[first..].iter().take_while(move |row| row.branch.element == element)
    }

    /// What a relative change of a value upsets in the equations: rows, each with what it takes to cure it.
    pub(crate) fn disturb(
        &self,
        prepared: &Prepared,
        network: &Network,
        (element, change): (usize, Change),
        mut emit: impl FnMut(u32, f64),
    ) {
        let (x, row) = (&prepared.iteration.x, &prepared.layout.row);
        if let Some(device) = self.device(prepared, element) {
            let [plate, screen] = directly(device, change);
            emit(device.rows[0], -plate);
            emit(device.rows[1], -screen);
            emit(device.rows[3], plate + screen);
            return;
        }
        match network.elements[element].law {
            Law::Resistor { a, b, ohms } if is_conductor(prepared, element, ohms) => {
                let (a, b) = (row[a], row[b]);
                let amps = (x[a as usize] - x[b as usize]) / ohms;
                emit(a, amps);
                emit(b, -amps);
            }
            Law::CurrentSource { from, to, amps } if prepared.islands.modes[element] == Mode::Live => {
                emit(row[from], -amps);
                emit(row[to], amps);
            }
            _ => {
                // A branch's equation lacks what its own ohms and volts drop more: their logarithm's unit is the
                // whole of them.
                for branch in self.branches(prepared, element).filter(|branch| !branch.idle) {
                    let amps = x[branch.row as usize];
                    emit(branch.row, branch.branch.ohms * amps + branch.branch.volts);
                }
            }
        }
    }
}

/// Whether a resistor stands in the equations by its conductance.
pub(crate) fn is_conductor(prepared: &Prepared, element: usize, ohms: f64) -> bool {
    ohms > 0.0 && !prepared.links.branched[element]
}

impl Tangent {
    /// Room for the tangents of a network.
    pub(crate) fn new(prepared: &Prepared, network: &Network, point: &OperatingPoint) -> Tangent {
        Tangent {
            x: vec![0.0; prepared.iteration.x.len()],
            volts: vec![0.0; network.nodes.len()],
            amps: vec![0.0; point.amps.len()],
            watts: vec![0.0; network.elements.len()],
            valves: vec![None; network.elements.len()],
            places: Places::new(prepared, network),
        }
    }

    /// Works out the tangent along a figure. The equations must stand factored at `point`.
    pub(crate) fn take(
        &mut self,
        prepared: &mut Prepared,
        network: &Network,
        point: &OperatingPoint,
        varied: &Varied,
    ) {
        self.x.fill(0.0);
        for &set in &varied.sets {
            let x = &mut self.x;
            self.places.disturb(prepared, network, set, |row, amps| x[row as usize] += amps);
        }
        prepared.iteration.along(&mut self.x);
        for (volts, &row) in self.volts.iter_mut().zip(&prepared.layout.row) {
            *volts = self.x[row as usize];
        }
        for (element, of) in network.elements.iter().enumerate() {
            self.element(prepared, point, element, &of.law);
        }
        for &(element, change) in &varied.sets {
            self.directly(prepared, point, (element, change), &network.elements[element].law);
        }
        // Last, as for the point itself: links carry what all others leave over.
        carry_links(prepared, network, &point.first_terminal, &mut self.amps);
        for (element, of) in network.elements.iter().enumerate() {
            self.watts[element] = self.power(point, element, &of.law);
        }
        for &(element, change) in &varied.sets {
            self.power_directly(point, element, &network.elements[element].law, change);
        }
    }

    /// Changes of the currents of one element, from those of the unknowns.
    fn element(&mut self, prepared: &Prepared, point: &OperatingPoint, element: usize, law: &Law) {
        let first = point.first_terminal[element] as usize;
        let last = point.first_terminal[element + 1] as usize;
        let amps = &mut self.amps[first..last];
        if let Some(device) = self.places.device(prepared, element) {
            let change = with_volts(device, &self.x);
            self.valves[element] = Some(change);
            into_terminals(law, &change, amps);
            return;
        }
        match *law {
            Law::Resistor { a, b, ohms } if is_conductor(prepared, element, ohms) => {
                let change = (self.volts[a] - self.volts[b]) / ohms;
                amps.copy_from_slice(&[change, -change]);
            }
            Law::Resistor { ohms: 0.0, .. } | Law::Capacitor { .. } | Law::CurrentSource { .. } => {
                amps.fill(0.0);
            }
            _ => {
                for (pair, branch) in amps.chunks_mut(2).zip(self.places.branches(prepared, element)) {
                    let change = self.x[branch.row as usize];
                    pair.copy_from_slice(&[change, -change]);
                }
            }
        }
    }

    /// Adds the change of an element's currents with the value itself, at the same volts.
    fn directly(
        &mut self,
        prepared: &Prepared,
        point: &OperatingPoint,
        (element, change): (usize, Change),
        law: &Law,
    ) {
        let first = point.first_terminal[element] as usize;
        match (law, change) {
            (Law::Resistor { ohms, .. }, Change::Ohms) if is_conductor(prepared, element, *ohms) => {
                // I = V/R at the same volts: dI/d ln R = −I.
                self.amps[first] -= point.amps[first];
                self.amps[first + 1] -= point.amps[first + 1];
            }
            (Law::CurrentSource { .. }, Change::Amps) => {
                self.amps[first] += point.amps[first];
                self.amps[first + 1] += point.amps[first + 1];
            }
            (_, Change::Strength | Change::Screen | Change::Breakdown) => {
                let device = self.places.device(prepared, element);
                if let (Some(moved), Some(device)) = (&mut self.valves[element], device) {
                    let [plate, screen] = directly(device, change);
                    moved.plate_amps += plate;
                    moved.screen_amps += screen;
                    let last = point.first_terminal[element + 1] as usize;
                    into_terminals(law, moved, &mut self.amps[first..last]);
                }
            }
            _ => {}
        }
    }

    /// Change of an element's power, its own value unchanged.
    fn power(&self, point: &OperatingPoint, element: usize, law: &Law) -> f64 {
        let (amps, change) = (point.amps(element), &self.amps[point.first_terminal[element] as usize..]);
        match *law {
            Law::Resistor { ohms, .. } | Law::Inductor { ohms, .. } => 2.0 * amps[0] * change[0] * ohms,
            Law::VoltageSource { volts, .. } => change[0] * volts,
            Law::CurrentSource { from, to, .. } => {
                change[0] * (point.volts[from] - point.volts[to])
                    + amps[0] * (self.volts[from] - self.volts[to])
            }
            Law::Windings { ref windings, .. } => {
                let pairs = amps.chunks(2).zip(change.chunks(2));
                windings.iter().zip(pairs).map(|(w, (i, di))| 2.0 * i[0] * di[0] * w.ohms).sum()
            }
            Law::Capacitor { .. } => 0.0,
            _ => match (&point.valves[element], &self.valves[element]) {
                (Some(valve), Some(change)) => {
                    valve.plate_volts * change.plate_amps
                        + change.plate_volts * valve.plate_amps
                        + valve.screen_volts * change.screen_amps
                        + change.screen_volts * valve.screen_amps
                        + valve.grid_volts * change.grid_amps
                        + change.grid_volts * valve.grid_amps
                }
                _ => 0.0,
            },
        }
    }

    /// Adds the change of power with the value itself, at the same current.
    fn power_directly(&mut self, point: &OperatingPoint, element: usize, law: &Law, change: Change) {
        let scales = match change {
            Change::Ohms => matches!(law, Law::Resistor { .. } | Law::Inductor { .. } | Law::Windings { .. }),
            Change::Volts => matches!(law, Law::VoltageSource { .. }),
            _ => false,
        };
        if scales {
            self.watts[element] += point.watts[element];
        }
    }
}

/// The changes of a device's volts and currents with those of the unknowns.
fn with_volts(device: &Device, x: &[f64]) -> ValvePoint {
    let cathode = x[device.rows[3] as usize];
    let [plate_volts, screen_volts, grid_volts] = [0, 1, 2].map(|at| x[device.rows[at] as usize] - cathode);
    let (of, held) = (&device.point, device.mode == Mode::GridAtCathode);
    if device.is_diode() {
        return ValvePoint { plate_volts, plate_amps: of.gp * plate_volts, ..ValvePoint::default() };
    }
    let grid = if held { 0.0 } else { grid_volts };
    let screen = if matches!(device.kind, Kind::Pentode(_)) { screen_volts } else { 0.0 };
    ValvePoint {
        plate_volts,
        screen_volts: screen,
        grid_volts,
        plate_amps: of.gp * plate_volts + of.gm_screen * screen + of.gm * grid,
        screen_amps: of.gs * screen + of.gm_to_screen * grid,
        grid_amps: of.ggrid * grid,
        ..ValvePoint::default()
    }
}

/// Change of a device's plate and screen current with a value of its own.
pub(crate) fn directly(device: &Device, change: Change) -> [f64; 2] {
    let point = &device.point;
    match (device.kind, change) {
        (Kind::Junction { zener: Some((volts, ohms)), .. }, Change::Breakdown) => {
            [volts * valve::breakdown(volts, ohms, point.plate_volts).1, 0.0]
        }
        (Kind::Pentode(_), Change::Screen) => [0.0, point.screen_amps],
        (Kind::Triode(_) | Kind::Pentode(_) | Kind::Vacuum { .. }, Change::Strength) => {
            [point.plate_amps, point.screen_amps]
        }
        _ => [0.0, 0.0],
    }
}

fn into_terminals(law: &Law, valve: &ValvePoint, amps: &mut [f64]) {
    match law {
        Law::Triode { .. } => {
            amps.copy_from_slice(&[valve.plate_amps, valve.grid_amps, -valve.cathode_amps()]);
        }
        Law::Pentode { .. } => amps.copy_from_slice(&[
            valve.plate_amps,
            valve.screen_amps,
            valve.grid_amps,
            -valve.cathode_amps(),
        ]),
        _ => amps.copy_from_slice(&[valve.plate_amps, -valve.plate_amps]),
    }
}
