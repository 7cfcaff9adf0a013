//! The equations of a network after switch-off, for one length of step.
//!
//! ```text
//! 47 µF at 400 V on 220 kΩ, backward Euler's stage of 1 s (rate 1/s):
//! node      (1/220k + 47µ·1)·V = 47µ·1·400     4.545 µS + 47 µS against 18.8 mA
//! V         18.8 mA / 51.545 µS = 364.7 V      (exactly: 400·e^(−1/10.34) = 363.1 V)
//! map       a store of 1 V becomes 0.9118 V: with no valve in it a stage is this product alone
//! ```

use petgraph::unionfind::UnionFind;

use crate::numeric::dc::device::{Device, Kind};
use crate::numeric::dc::islands::Mode;
use crate::numeric::linear::pattern::Pattern;
use crate::numeric::linear::sparse::Lu;
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::numeric::time::discharge::Valves;

/// Holds at 0 V one node of each group that nothing ties to chassis, in siemens; it carries nothing.
// A gigaohm at one node alone has no way back: it fixes the potential and takes no charge.
const HOLD: f64 = 1e-9;

/// A capacitor or an inductor between two rows.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Store {
    pub(crate) element: usize,
    a: u32,
    b: u32,
    /// Farads or henries.
    size: f64,
    /// Of an inductor: its current's row and its resistance.
    coil: Option<(u32, f64)>,
}

impl Store {
    /// Its volts, or its current.
    pub(crate) fn value(&self, x: &[f64]) -> f64 {
        match self.coil {
            Some((row, _)) => x[row as usize],
            None => x[self.a as usize] - x[self.b as usize],
        }
    }

    /// Whether it is a capacitor.
    pub(crate) fn is_capacitor(&self) -> bool {
        self.coil.is_none()
    }
}

/// The network's linear part and its valves.
#[derive(Debug, Clone)]
pub(crate) struct Equations {
    /// Unknowns: nodes' volts, inductors' currents. One past them stands the chassis.
    pub(crate) size: usize,
    pub(crate) stores: Vec<Store>,
    conductors: Vec<(u32, u32, f64)>,
    pub(crate) devices: Vec<Device>,
    pattern: Pattern,
    places: Vec<u32>,
    /// Ordered once; its pivots serve every length of step.
    lu: Lu<f64>,
}

/// The equations for one length of step, factored where nothing in them depends on the volts.
#[derive(Debug, Clone)]
pub(crate) struct Factored {
    pub(crate) lu: Lu<f64>,
    /// Values of the linear part.
    pub(crate) values: Vec<f64>,
    /// One over the stage's length, 1/s.
    pub(crate) rate: f64,
    /// What a stage makes of the stores' values, a column a store, where that is all there is to know.
    pub(crate) map: Option<Vec<f64>>,
}

/// Of more stores than this the stage's map is not written out.
// The map costs n² a stage, the sparse factors some n: past some hundred stores the factors win.
const MAPPED: usize = 128;

impl Equations {
    /// Lays out a network without its sources and diodes, and without its valves where they are cold.
    pub(crate) fn new(network: &Network, valves: Valves) -> Self {
        let merged = merged(network);
        let mut layout = Rows { row: vec![u32::MAX; network.nodes.len()], size: 0 };
        let rows = number(network, &merged, valves, &mut layout);
        let mut equations = Self {
            size: 0,
            stores: Vec::new(),
            conductors: Vec::new(),
            devices: Vec::new(),
            pattern: Pattern::new(0, &[]).0,
            places: Vec::new(),
            lu: Lu::new(Pattern::new(0, &[]).0),
        };
        let mut next = layout.size;
        for (element, part) in network.elements.iter().enumerate() {
            equations.add(element, &part.law, &rows, &mut next, valves);
        }
        equations.size = next as usize;
        // The number of unknowns is known only now; a row of `u32::MAX` means the chassis until here.
        let end = next;
        equations.hold(layout.size as usize);
        let fix = |row: &mut u32| *row = (*row).min(end);
        for store in &mut equations.stores {
            fix(&mut store.a);
            fix(&mut store.b);
        }
        for (a, b, _) in &mut equations.conductors {
            fix(a);
            fix(b);
        }
        for device in &mut equations.devices {
            device.rows.iter_mut().for_each(fix);
        }
        let mut entries = Vec::new();
        equations.stamp(1.0, |row, column, _| entries.push((row, column)));
        for device in &equations.devices {
            device.stamp(false, |row, column, _| entries.push((row, column)));
        }
        (equations.pattern, equations.places) = Pattern::new(equations.size, &entries);
        equations.lu = Lu::new(equations.pattern.clone());
        equations
    }

    fn add(&mut self, element: usize, law: &Law, rows: &[u32], next: &mut u32, valves: Valves) {
        let row = |node: Node| rows[node];
        match *law {
            Law::Resistor { a, b, ohms } if ohms > 0.0 => {
                self.conductors.push((row(a), row(b), 1.0 / ohms));
            }
            // A capacitor whose ends are linked holds nothing and would be a store that no equation moves.
            Law::Capacitor { a, b, farads } if row(a) != row(b) && farads > 0.0 => {
                self.stores.push(Store { element, a: row(a), b: row(b), size: farads, coil: None });
            }
            Law::Inductor { a, b, henries, ohms } if row(a) != row(b) => {
                let coil = Some((*next, ohms));
                self.stores.push(Store { element, a: row(a), b: row(b), size: henries, coil });
                *next += 1;
            }
            // Resistances alone: what a core stores is gone within milliseconds, reservoirs take seconds.
            Law::Windings { ref windings, .. } => {
                for winding in windings.iter().filter(|winding| winding.ohms > 0.0) {
                    self.conductors.push((row(winding.a), row(winding.b), 1.0 / winding.ohms));
                }
            }
            Law::Triode { plate, grid, cathode, .. } if valves == Valves::Hot => {
                let rows = [row(plate), u32::MAX, row(grid), row(cathode)];
                self.devices.extend(Kind::of(law).map(|kind| Device::new(element, rows, kind, Mode::Live)));
            }
            Law::Pentode { plate, screen, grid, cathode, .. } if valves == Valves::Hot => {
                let rows = [row(plate), row(screen), row(grid), row(cathode)];
                self.devices.extend(Kind::of(law).map(|kind| Device::new(element, rows, kind, Mode::Live)));
            }
            _ => {}
        }
    }

    /// Holds groups of nodes that nothing ties to chassis.
    fn hold(&mut self, nodes: usize) {
        let mut union = UnionFind::<usize>::new(nodes + 1);
        let at = |row: u32| (row as usize).min(nodes);
        for (a, b, _) in &self.conductors {
            union.union(at(*a), at(*b));
        }
        for store in &self.stores {
            union.union(at(store.a), at(store.b));
        }
        for row in 0..nodes {
            if union.union(row, nodes) {
                self.conductors.push((row as u32, u32::MAX, HOLD));
            }
        }
    }

    /// The linear part's contributions for stages of 1/`rate` seconds.
    fn stamp(&self, rate: f64, mut emit: impl FnMut(u32, u32, f64)) {
        let mut conduct = |a: u32, b: u32, siemens: f64| {
            emit(a, a, siemens);
            emit(b, b, siemens);
            emit(a, b, -siemens);
            emit(b, a, -siemens);
        };
        for (a, b, siemens) in &self.conductors {
            conduct(*a, *b, *siemens);
        }
        for store in self.stores.iter().filter(|store| store.is_capacitor()) {
            conduct(store.a, store.b, store.size * rate);
        }
        for store in &self.stores {
            if let Some((row, ohms)) = store.coil {
                emit(store.a, row, 1.0);
                emit(store.b, row, -1.0);
                emit(row, store.a, 1.0);
                emit(row, store.b, -1.0);
                emit(row, row, -(ohms + store.size * rate));
            }
        }
    }

    /// The equations for stages of 1/`rate` seconds; `None` where they are singular.
    pub(crate) fn factored(&mut self, rate: f64) -> Option<Factored> {
        let mut values = vec![0.0; self.pattern.entries() + 1];
        let mut places = self.places.iter();
        self.stamp(rate, |_, _, value| {
            if let Some(place) = places.next() {
                values[*place as usize] += value;
            }
        });
        let linear = self.devices.is_empty();
        if linear {
            // With valves the slopes change at every Newton step, and there is nothing to factor ahead.
            self.lu.factor(&values).ok()?;
        }
        let map = (linear && self.stores.len() <= MAPPED).then(|| self.map(rate));
        Some(Factored { lu: self.lu.clone(), values, rate, map })
    }

    /// What a stage makes of each store's value alone.
    fn map(&mut self, rate: f64) -> Vec<f64> {
        let count = self.stores.len();
        let mut map = Vec::with_capacity(count * count);
        let (mut one, mut x) = (vec![0.0; count], vec![0.0; self.size + 1]);
        for at in 0..count {
            one[at] = 1.0;
            self.drive(rate, &one, &mut x);
            self.lu.solve(&mut x);
            x[self.size] = 0.0;
            map.extend(self.stores.iter().map(|store| store.value(&x)));
            one[at] = 0.0;
        }
        map
    }

    /// What the stores' values before put into the equations.
    pub(crate) fn drive(&self, rate: f64, before: &[f64], into: &mut [f64]) {
        into.fill(0.0);
        for (store, before) in self.stores.iter().zip(before) {
            let push = store.size * rate * before;
            if let Some((row, _)) = store.coil {
                into[row as usize] -= push;
            } else {
                into[store.a as usize] += push;
                into[store.b as usize] -= push;
            }
        }
        into[self.size] = 0.0;
    }

    /// Adds the devices' slopes to the linear part's values.
    pub(crate) fn with_slopes(&self, linear: &[f64]) -> Vec<f64> {
        let mut values = linear.to_vec();
        let count: usize = self.devices.iter().map(Device::stamps).sum();
        let mut places = self.places[self.places.len() - count..].iter();
        for device in &self.devices {
            device.stamp(false, |_, _, value| {
                if let Some(place) = places.next() {
                    values[*place as usize] += value;
                }
            });
        }
        values
    }

    /// Linear part times `x` less `drive`, plus the devices' currents: what does not balance.
    pub(crate) fn balance(&self, rate: f64, x: &[f64], drive: &[f64], into: &mut [f64]) {
        into.iter_mut().zip(drive).for_each(|(into, drive)| *into = -drive);
        self.stamp(rate, |row, column, value| into[row as usize] += value * x[column as usize]);
        for device in &self.devices {
            let [plate, screen, grid] = device.amps();
            let amps = [plate, screen, grid, -(plate + screen + grid)];
            for (row, amps) in device.rows.iter().zip(amps) {
                into[*row as usize] += amps;
            }
        }
        into[self.size] = 0.0;
    }
}

/// A stage's map of the stores' values before it.
pub(crate) fn apply(map: &[f64], before: &[f64], values: &mut Vec<f64>) {
    let count = before.len().max(1);
    values.clear();
    values.resize(before.len(), 0.0);
    // Four columns a pass: this is where a walk spends its time, most of it on reading and writing the sums.
    let (fours, rest) = map.split_at(before.len() / 4 * 4 * before.len());
    for (columns, before) in fours.chunks_exact(4 * count).zip(before.chunks_exact(4)) {
        let (a, b) = columns.split_at(2 * count);
        let ((a, b), (c, d)) = (a.split_at(count), b.split_at(count));
        for ((((value, a), b), c), d) in values.iter_mut().zip(a).zip(b).zip(c).zip(d) {
            *value = *value + a * before[0] + b * before[1] + c * before[2] + d * before[3];
        }
    }
    for (column, before) in rest.chunks(count).zip(before.chunks_exact(4).remainder()) {
        values.iter_mut().zip(column).for_each(|(value, share)| *value += share * before);
    }
}

/// Rows of the nodes.
struct Rows {
    row: Vec<u32>,
    size: u32,
}

/// Nodes joined by links and windings without resistance are one.
pub(crate) fn merged(network: &Network) -> Vec<Node> {
    let mut union = UnionFind::<Node>::new(network.nodes.len());
    for element in &network.elements {
        match element.law {
            Law::Resistor { a, b, ohms: 0.0 } => drop(union.union(a, b)),
            Law::Windings { ref windings, .. } => {
                for winding in windings.iter().filter(|winding| winding.ohms == 0.0) {
                    union.union(winding.a, winding.b);
                }
            }
            _ => {}
        }
    }
    union.into_labeling()
}

/// Gives a row to every node that something kept sits on; the chassis has the largest number there is.
fn number(network: &Network, merged: &[Node], valves: Valves, layout: &mut Rows) -> Vec<u32> {
    for element in &network.elements {
        let kept = match element.law {
            Law::Resistor { .. } | Law::Capacitor { .. } | Law::Inductor { .. } | Law::Windings { .. } => {
                true
            }
            Law::Triode { .. } | Law::Pentode { .. } => valves == Valves::Hot,
            _ => false,
        };
        if kept {
            element.law.each_terminal(|node| {
                let group = merged[node];
                if group != merged[CHASSIS] && layout.row[group] == u32::MAX {
                    layout.row[group] = layout.size;
                    layout.size += 1;
                }
            });
        }
    }
    merged.iter().map(|group| layout.row[*group]).collect()
}
