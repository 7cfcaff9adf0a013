//! The equations of a network: every element's contribution to the matrix and to the balance at each node.
//!
//! Modified nodal analysis (C.-W. Ho, A. E. Ruehli, P. A. Brennan, "The modified nodal approach to network
//! analysis", IEEE Trans. CAS 22(6), 1975): unknowns are the nodes' volts and the branches' currents.
//! Built once for a topology; [`Equations::reload`] takes new values without allocation.
//!
//! ```text
//! 10 V source at node 1, 1 kΩ from 1 to 2, 4 kΩ from 2 to chassis; unknowns V1, V2, i out of node 1:
//! |  1 mS  −1 mS     1 | | V1 |   |  0 |   node 1     V1 = 10 V
//! | −1 mS  1.25 mS   0 | | V2 | = |  0 |   node 2     V2 =  8 V
//! |  1      0        0 | | i  |   | 10 |   source     i = −2 mA: it flows into the source's minus
//! ```

use crate::numeric::dc::device::{Device, Kind};
use crate::numeric::dc::islands::{Islands, Mode};
use crate::numeric::dc::shorts;
use crate::numeric::dc::shorts::{Branch, Links};
use crate::numeric::dc::unknowns::Layout;
use crate::numeric::network::{Law, Network};

/// A resistor that is not a branch, or a capacitor, between two rows.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Conductor {
    pub(crate) a: u32,
    pub(crate) b: u32,
    pub(crate) siemens: f64,
    pub(crate) farads: f64,
}

/// A branch between two rows, with its own.
#[derive(Debug, Clone, Copy)]
pub(crate) struct BranchRow {
    pub(crate) a: u32,
    pub(crate) b: u32,
    pub(crate) row: u32,
    /// Redundant: its equation is that it carries nothing.
    pub(crate) idle: bool,
    pub(crate) branch: Branch,
    /// The row of its core's volts per turn (AC only), and the core's henries per turn squared.
    pub(crate) core: Option<(u32, f64)>,
}

/// An ideal current between two rows.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Injection {
    pub(crate) from: u32,
    pub(crate) to: u32,
    pub(crate) amps: f64,
    pub(crate) live: bool,
}

/// All contributions, ready to be summed.
#[derive(Debug, Clone)]
pub(crate) struct Equations {
    pub(crate) size: usize,
    pub(crate) node_rows: usize,
    alternating: bool,
    branched: Vec<bool>,
    pub(crate) conductors: Vec<Conductor>,
    pub(crate) branches: Vec<BranchRow>,
    pub(crate) injections: Vec<Injection>,
    pub(crate) devices: Vec<Device>,
}

/// The sums at one row: the imbalance, and what it may be.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Scale {
    /// Σ|I|, at a branch's row Σ|V|.
    pub(crate) size: f64,
    /// Σ|g·V|.
    pub(crate) rounding: f64,
}

fn is_conductor(ohms: f64, branched: bool) -> bool {
    ohms > 0.0 && !branched
}

impl Equations {
    /// The equations of a network for its layout; `alternating` adds capacitors and cores.
    pub(crate) fn new(
        network: &Network,
        links: &Links,
        islands: &Islands,
        layout: &Layout,
        alternating: bool,
    ) -> Self {
        let mut equations = Self {
            size: layout.size,
            node_rows: layout.node_rows,
            alternating,
            branched: links.branched.clone(),
            conductors: Vec::new(),
            branches: Vec::new(),
            injections: Vec::new(),
            devices: Vec::new(),
        };
        let mut next = layout.node_rows as u32;
        // A branch with inductance is a short at DC and may be redundant there; at AC it has a drop of its own.
        let idle = if alternating { &links.idle_ac } else { &links.idle };
        for (index, element) in network.elements.iter().enumerate() {
            let core = match element.law {
                Law::Windings { ref windings, .. } if alternating => {
                    Some((next + windings.len() as u32, 0.0))
                }
                _ => None,
            };
            shorts::branches(index, &element.law, &links.branched, |branch| {
                let (a, b) = (layout.row[branch.a], layout.row[branch.b]);
                let idle = idle[equations.branches.len()];
                equations.branches.push(BranchRow { a, b, row: next, core, idle, branch });
                next += 1;
            });
            next += u32::from(core.is_some());
            equations.add(index, &element.law, layout, islands.modes[index]);
        }
        // Values have one way in, the first time and every time after: layout and values cannot disagree.
        equations.reload(network);
        equations
    }

    /// Adds what is not a branch, values to follow.
    fn add(&mut self, element: usize, law: &Law, layout: &Layout, mode: Mode) {
        let nowhere = self.size as u32;
        let row = |node: usize| layout.row[node];
        let rows = match *law {
            Law::Resistor { a, b, ohms } if is_conductor(ohms, self.branched[element]) => {
                self.conductors.push(Conductor { a: row(a), b: row(b), ..Conductor::default() });
                return;
            }
            Law::Capacitor { a, b, .. } if self.alternating => {
                self.conductors.push(Conductor { a: row(a), b: row(b), ..Conductor::default() });
                return;
            }
            Law::CurrentSource { from, to, .. } => {
                let live = mode == Mode::Live;
                self.injections.push(Injection { from: row(from), to: row(to), amps: 0.0, live });
                return;
            }
            Law::Triode { plate, grid, cathode, .. } => [row(plate), nowhere, row(grid), row(cathode)],
            Law::Pentode { plate, screen, grid, cathode, .. } => {
                [row(plate), row(screen), row(grid), row(cathode)]
            }
            Law::Diode { anode, cathode, .. }
            | Law::Zener { anode, cathode, .. }
            | Law::VacuumDiode { anode, cathode, .. } => [row(anode), nowhere, nowhere, row(cathode)],
            _ => return,
        };
        if let Some(kind) = Kind::of(law) {
            self.devices.push(Device::new(element, rows, kind, mode));
        }
    }

    /// Takes the values of a network of the same topology.
    pub(crate) fn reload(&mut self, network: &Network) {
        let (mut conductors, mut branches) = (self.conductors.iter_mut(), self.branches.iter_mut());
        let (mut injections, mut devices) = (self.injections.iter_mut(), self.devices.iter_mut());
        for (index, element) in network.elements.iter().enumerate() {
            let law = &element.law;
            shorts::branches(index, law, &self.branched, |branch| {
                let Some(place) = branches.next() else { return };
                place.branch = branch;
                if let (Law::Windings { henries_per_turn_squared, .. }, Some(core)) = (law, &mut place.core) {
                    core.1 = *henries_per_turn_squared;
                }
            });
            match *law {
                Law::Resistor { ohms, .. } if is_conductor(ohms, self.branched[index]) => {
                    conductors.next().into_iter().for_each(|place| place.siemens = 1.0 / ohms);
                }
                Law::Capacitor { farads, .. } if self.alternating => {
                    conductors.next().into_iter().for_each(|place| place.farads = farads);
                }
                Law::CurrentSource { amps, .. } => {
                    injections
                        .next()
                        .into_iter()
                        // A source into nodes that nothing holds would charge them without end; it is left out, as
                        // `islands` says.
                        .for_each(|place| place.amps = if place.live { amps } else { 0.0 });
                }
                _ => {
                    if let Some(kind) = Kind::of(law) {
                        devices.next().into_iter().for_each(|place| place.kind = kind);
                    }
                }
            }
        }
    }

    /// The constant part of the matrix, as (row, column, real part, imaginary part per radian per second).
    pub(crate) fn stamp(&self, mut emit: impl FnMut(u32, u32, f64, f64)) {
        for &Conductor { a, b, siemens, farads } in &self.conductors {
            emit(a, a, siemens, farads);
            emit(a, b, -siemens, -farads);
            emit(b, a, -siemens, -farads);
            emit(b, b, siemens, farads);
        }
        for &BranchRow { a, b, row, idle, ref branch, core } in &self.branches {
            let across = if idle { 0.0 } else { 1.0 };
            emit(a, row, 1.0, 0.0);
            emit(b, row, -1.0, 0.0);
            emit(row, a, across, 0.0);
            emit(row, b, -across, 0.0);
            // Its own equation would repeat that of the loop and make the matrix singular. It is replaced by i = 0,
            // so that the layout stays and the others carry the loop's current.
            if idle {
                emit(row, row, 1.0, 0.0);
            } else {
                emit(row, row, -branch.ohms, -branch.henries);
            }
            if let Some((core, henries)) = core {
                emit(row, core, -branch.turns, 0.0);
                // The core's volts per turn e = jω·L/N²·Σ N·i: one unknown a core in place of a full matrix of mutual
                // inductances, which at a coupling of exactly 1 would be singular.
                emit(core, row, 0.0, -henries * branch.turns);
            }
        }
        let mut last = None;
        for core in self.branches.iter().filter_map(|branch| branch.core) {
            // Windings of one core stand next to each other, and the core's own row is stamped once for all of them.
            if last != Some(core.0) {
                emit(core.0, core.0, 1.0, 0.0);
            }
            last = Some(core.0);
        }
    }

    /// Evaluates all devices at `x`; true where one was held back.
    pub(crate) fn evaluate(&mut self, x: &[f64], fresh: bool) -> bool {
        let mut held_back = false;
        for device in &mut self.devices {
            held_back |= device.evaluate(x, fresh);
        }
        held_back
    }

    /// The currents that leave each node less those that enter, and each branch's missing volts, with sources
    /// at a share of their values.
    pub(crate) fn balance(&self, x: &[f64], sources: f64, out: &mut [f64]) {
        out.fill(0.0);
        for &Conductor { a, b, siemens, .. } in &self.conductors {
            let amps = siemens * (x[a as usize] - x[b as usize]);
            out[a as usize] += amps;
            out[b as usize] -= amps;
        }
        for &BranchRow { a, b, row, idle, ref branch, .. } in &self.branches {
            let amps = x[row as usize];
            out[a as usize] += amps;
            out[b as usize] -= amps;
            let missing = x[a as usize] - x[b as usize] - branch.ohms * amps - branch.volts * sources;
            out[row as usize] = if idle { amps } else { missing };
        }
        for &Injection { from, to, amps, .. } in &self.injections {
            out[from as usize] += amps * sources;
            out[to as usize] -= amps * sources;
        }
        for device in &self.devices {
            let amps = device.amps();
            for (row, amps) in device.rows.iter().zip(amps) {
                out[*row as usize] += amps;
            }
            out[device.rows[3] as usize] -= amps[0] + amps[1] + amps[2];
        }
    }

    /// For each row the sizes of what was summed there.
    pub(crate) fn scales(&self, x: &[f64], out: &mut [Scale]) {
        out.fill(Scale::default());
        let mut add = |row: u32, size: f64, rounding: f64| {
            out[row as usize].size += size.abs();
            out[row as usize].rounding += rounding;
        };
        for &Conductor { a, b, siemens, .. } in &self.conductors {
            let (va, vb) = (x[a as usize], x[b as usize]);
            let rounding = siemens * (va.abs() + vb.abs());
            add(a, siemens * (va - vb), rounding);
            add(b, siemens * (va - vb), rounding);
        }
        for &BranchRow { a, b, row, ref branch, .. } in &self.branches {
            let (va, vb, amps) = (x[a as usize], x[b as usize], x[row as usize]);
            add(a, amps, 0.0);
            add(b, amps, 0.0);
            add(row, 0.0, va.abs() + vb.abs() + (branch.ohms * amps).abs() + branch.volts.abs());
        }
        for &Injection { from, to, amps, .. } in &self.injections {
            add(from, amps, 0.0);
            add(to, amps, 0.0);
        }
        for device in &self.devices {
            for ((row, amps), rounding) in device.rows.iter().zip(device.amps()).zip(device.rounding(x)) {
                add(*row, amps, rounding);
                add(device.rows[3], amps, rounding);
            }
        }
    }
}
