//! Small-signal response: complex nodal analysis about an operating point.
//!
//! The matrix is G + jω·B with both parts constant over frequency, so a sweep only adds and factors.
//!
//! ```text
//! 1 V behind 10 kΩ on 10 nF, at 1591.5 Hz (ωRC = 1), the node's row alone:
//! G + jωB    0.1 mS + j 0.1 mS              right side   1 V · 0.1 mS
//! V          0.1 / (0.1 + j 0.1) = 0.5 − j 0.5: 0.707 V, 45° behind
//! at 15.9 kHz only ωB changes: 0.1 + j 1.0 → 0.0099 − j 0.099, 20 dB down
//! ```

use std::sync::Arc;

use num_complex::Complex64;

use crate::numeric::dc::islands::{Islands, Mode};
use crate::numeric::dc::shorts::Links;
use crate::numeric::dc::solver::same_shape;
use crate::numeric::dc::stamp::Equations;
use crate::numeric::dc::unknowns::Layout;
use crate::numeric::dc::{islands, shorts};
use crate::numeric::linear::pattern::Pattern;
use crate::numeric::linear::sparse::Lu;
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::numeric::outcome::{Outcome, Unsolved};
use crate::numeric::point::{OperatingPoint, ValvePoint};

/// Phasors at one frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    volts: Vec<Complex64>,
    island_of: Vec<u32>,
}

impl Response {
    /// The phasor from the chassis; `None` where no path for alternating current defines it.
    pub fn volts(&self, node: Node) -> Option<Complex64> {
        (*self.island_of.get(node)? == 0).then(|| self.volts[node])
    }

    /// The phasor from `b` to `a`; `None` where undefined.
    pub fn volts_between(&self, a: Node, b: Node) -> Option<Complex64> {
        (*self.island_of.get(a)? == *self.island_of.get(b)?).then(|| self.volts[a] - self.volts[b])
    }
}

/// What drives the circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drive {
    /// The network's own voltage sources, at their `ac_volts`.
    Sources,
    /// An ideal 1 V from the chassis at this node; all other sources at 0.
    Volt(Node),
    /// An ideal 1 A from the chassis into this node, all sources at 0: its phasor is the impedance there.
    Ampere(Node),
}

/// A network linearised at an operating point, ready for many frequencies.
#[derive(Debug, Clone)]
pub struct Linearised {
    network: Arc<Network>,
    equations: Equations,
    /// The place among the values of each contribution, in the order in which they are emitted.
    places: Vec<u32>,
    /// Loops of sources are laid out by their values.
    looped: bool,
    layout: Layout,
    island_of: Vec<u32>,
    lu: Lu<Complex64>,
    real: Vec<f64>,
    imaginary: Vec<f64>,
    values: Vec<Complex64>,
    drive: Vec<Complex64>,
    unknowns: Vec<Complex64>,
}

/// The response to the network's own sources at one frequency, in hertz. At 0 Hz capacitors are open.
pub fn response(network: &Network, point: &OperatingPoint, hertz: f64) -> Result<Response, Unsolved> {
    if hertz == 0.0 {
        // jω·0 leaves capacitors in as zeros: nodes behind them would be singular. They have to be out.
        return Linearised::open(network, point, Drive::Sources)?.at(0.0);
    }
    Linearised::new(network, point, Drive::Sources)?.at(hertz)
}

impl Linearised {
    /// Lays out the equations for frequencies above 0.
    pub fn new(network: &Network, point: &OperatingPoint, drive: Drive) -> Result<Self, Unsolved> {
        Self::build(network, &point.valves, drive, true)
    }

    /// Lays out the equations of a network in which nothing has an operating point: no valves, no diodes.
    pub fn passive(network: &Network, drive: Drive) -> Result<Self, Unsolved> {
        Self::build(network, &[], drive, true)
    }

    /// Lays out the equations for 0 Hz, with capacitors open.
    pub fn open(network: &Network, point: &OperatingPoint, drive: Drive) -> Result<Self, Unsolved> {
        Self::build(network, &point.valves, drive, false)
    }

    fn build(
        network: &Network,
        valves: &[Option<ValvePoint>],
        drive: Drive,
        capacitors: bool,
    ) -> Result<Self, Unsolved> {
        let network = driven(network, drive);
        let links = shorts::join(&network)?;
        let islands = islands(&network, &links, valves, capacitors);
        let layout = Layout::new(&network, &links, &islands.island_of, true);
        let equations = Equations::new(&network, &links, &islands, &layout, true);
        let (pattern, places) = pattern(&equations);
        let zero = Complex64::new(0.0, 0.0);
        let mut own = Self {
            real: vec![0.0; pattern.entries() + 1],
            imaginary: vec![0.0; pattern.entries() + 1],
            values: vec![zero; pattern.entries() + 1],
            unknowns: vec![zero; layout.size + 1],
            drive: vec![zero; layout.size + 1],
            lu: Lu::new(pattern),
            island_of: islands.island_of,
            looped: links.looped,
            network: Arc::new(network),
            equations,
            places,
            layout,
        };
        own.load(valves);
        if let Drive::Ampere(node) = drive {
            own.drive[own.layout.row[node] as usize] += 1.0;
        }
        // A drive at the chassis drives nothing, and the solve never writes this place.
        own.drive[own.layout.size] = zero;
        Ok(own)
    }

    /// The equations of a network much like this one at its operating point, driven by its sources; `None` where it
    /// takes a layout of its own.
    pub(crate) fn near(&self, network: &Network, point: &OperatingPoint) -> Option<Self> {
        if self.looped || !self.fits(network, &point.valves) {
            return None;
        }
        let mut own = self.clone();
        own.equations.reload(network);
        own.load(&point.valves);
        own.drive[own.layout.size] = Complex64::new(0.0, 0.0);
        Some(own)
    }

    /// Whether the equations have a place for every value of a network, and the same nodes joined.
    fn fits(&self, network: &Network, valves: &[Option<ValvePoint>]) -> bool {
        let alike = |one: &Law, other: &Law| match (one, other) {
            (Law::Capacitor { farads, .. }, Law::Capacitor { farads: others, .. }) => {
                (*farads > 0.0) == (*others > 0.0) && one.ends() == other.ends()
            }
            _ => same_shape(one, other),
        };
        let pairs = network.elements.iter().zip(&self.network.elements);
        let conducts =
            |valve: Option<&Option<ValvePoint>>| valve.copied().flatten().is_some_and(|v| v.gp > 0.0);
        network.nodes.len() == self.network.nodes.len()
            && network.elements.len() == self.network.elements.len()
            && pairs.into_iter().all(|(one, other)| alike(&one.law, &other.law))
            && self
                .equations
                .devices
                .iter()
                .all(|device| conducts(valves.get(device.element)) == (device.point.gp > 0.0))
    }

    /// Sums the matrix and what drives it.
    fn load(&mut self, valves: &[Option<ValvePoint>]) {
        for device in &mut self.equations.devices {
            // Slopes come from the point, not from evaluating here: what the DC solve said is what small signals see.
            device.point = valves.get(device.element).copied().flatten().unwrap_or_default();
        }
        self.real.fill(0.0);
        self.imaginary.fill(0.0);
        let mut places = self.places.iter();
        let mut add = |re: f64, im: f64| {
            if let Some(&place) = places.next() {
                self.real[place as usize] += re;
                self.imaginary[place as usize] += im;
            }
        };
        self.equations.stamp(|_, _, re, im| add(re, im));
        for device in &self.equations.devices {
            device.stamp(true, |_, _, value| add(value, 0.0));
        }
        self.drive.fill(Complex64::new(0.0, 0.0));
        for branch in self.equations.branches.iter().filter(|branch| !branch.idle) {
            self.drive[branch.row as usize] += branch.branch.ac_volts;
        }
    }

    /// Solves at one frequency, in hertz.
    pub fn at(&mut self, hertz: f64) -> Result<Response, Unsolved> {
        let mut response = Response { volts: Vec::new(), island_of: self.island_of.clone() };
        self.solve(hertz)?;
        response.volts.extend(self.layout.row.iter().map(|&row| self.unknowns[row as usize]));
        Ok(response)
    }

    /// The phasors of one node over many frequencies, without allocation but for the answer; `None` where
    /// nothing defines them.
    pub fn sweep(&mut self, node: Node, hertz: &[f64]) -> Result<Option<Vec<Complex64>>, Unsolved> {
        if self.island_of.get(node) != Some(&0) {
            return Ok(None);
        }
        let row = self.layout.row[node] as usize;
        let phasors = hertz.iter().map(|&hertz| self.solve(hertz).map(|()| self.unknowns[row]));
        phasors.collect::<Result<_, _>>().map(Some)
    }

    /// Factors the equations at a frequency, in hertz, for [`Linearised::excite`] and [`Linearised::inject`].
    pub fn tune(&mut self, hertz: f64) -> Result<(), Unsolved> {
        let omega = std::f64::consts::TAU * hertz;
        for (value, (re, im)) in self.values.iter_mut().zip(self.real.iter().zip(&self.imaginary)) {
            *value = Complex64::new(*re, omega * im);
        }
        // One order and one choice of pivots serve the whole sweep; `Lu` chooses anew where they have gone bad.
        self.lu.factor(&self.values).map_err(|column| {
            let unknown = self.layout.name(&self.network, column.0);
            Unsolved::before(Outcome::Singular { unknown })
        })
    }

    /// Solves for what drives the network, at the frequency tuned to; [`Linearised::phasor`] reads the answer.
    pub fn excite(&mut self) -> Result<(), Unsolved> {
        self.unknowns.copy_from_slice(&self.drive);
        self.finish()
    }

    /// Solves for amperes from the chassis into nodes with all sources at 0, at the frequency tuned to.
    pub fn inject(&mut self, amps: &[(Node, f64)]) -> Result<(), Unsolved> {
        self.unknowns.fill(Complex64::new(0.0, 0.0));
        for &(node, amps) in amps {
            let row = self.layout.row[node] as usize;
            if row < self.layout.size {
                self.unknowns[row] += amps;
            }
        }
        self.finish()
    }

    /// The phasor of a node as last solved; `None` where undefined.
    pub fn phasor(&self, node: Node) -> Option<Complex64> {
        (*self.island_of.get(node)? == 0).then(|| self.unknowns[self.layout.row[node] as usize])
    }

    /// The phasor from `b` to `a` as last solved; `None` where no path for alternating current joins them.
    pub fn phasor_between(&self, a: Node, b: Node) -> Option<Complex64> {
        let unknown = |node: Node| self.unknowns[self.layout.row[node] as usize];
        (self.island_of.get(a)? == self.island_of.get(b)?).then(|| unknown(a) - unknown(b))
    }

    fn solve(&mut self, hertz: f64) -> Result<(), Unsolved> {
        self.tune(hertz)?;
        self.excite()
    }

    fn finish(&mut self) -> Result<(), Unsolved> {
        self.lu.solve(&mut self.unknowns);
        // A resonance without loss has no finite answer at its frequency; that is an end, not a large number.
        if self.unknowns.iter().all(|phasor| phasor.is_finite()) {
            Ok(())
        } else {
            Err(Unsolved::before(Outcome::Diverged))
        }
    }
}

/// The network with the drive asked for; valves keep their positions.
fn driven(network: &Network, drive: Drive) -> Network {
    let mut network = network.clone();
    if drive == Drive::Sources {
        return network;
    }
    for element in &mut network.elements {
        if let Law::VoltageSource { ac_volts, .. } = &mut element.law {
            // Shorted for signals, not taken out: a supply holds its node at 0 V of signal.
            *ac_volts = 0.0;
        }
    }
    if let Drive::Volt(node) = drive {
        network
            // At the end of the list: positions of elements are what answers are asked by.
            .add("test source", Law::VoltageSource { plus: node, minus: CHASSIS, volts: 0.0, ac_volts: 1.0 });
    }
    network
}

/// Nodes that no path for alternating current joins to the chassis.
pub(crate) fn islands(
    network: &Network,
    links: &Links,
    valves: &[Option<ValvePoint>],
    capacitors: bool,
) -> Islands {
    let conducts =
        // A valve that is cut off has slope 0 and stamps nothing: its nodes would be joined by an element that isn't
        // there.
        |element: usize| valves.get(element).copied().flatten().is_some_and(|valve| valve.gp > 0.0);
    let groups = islands::groups(network, links, |element, law, join| match *law {
        Law::Capacitor { a, b, farads } if capacitors && farads > 0.0 => join(a, b),
        Law::Triode { plate: a, cathode: b, .. }
        | Law::Pentode { plate: a, cathode: b, .. }
        | Law::VacuumDiode { anode: a, cathode: b, .. }
        | Law::Diode { anode: a, cathode: b, .. }
        | Law::Zener { anode: a, cathode: b, .. } => {
            if conducts(element) {
                join(a, b);
            }
        }
        ref law => islands::joins_at_dc(law, join),
    });
    let mut held = vec![false; groups.len()];
    // Signals go both ways through a valve's slope: no question of feeding and drawing as at DC.
    held[groups[CHASSIS]] = true;
    let (island_of, list) = islands::number(&groups, &held);
    let modes = vec![Mode::Live; network.elements.len()];
    Islands { island_of, list, modes, floating_grids: Vec::new(), groups, has_groups_held_by_valves: false }
}

fn pattern(equations: &Equations) -> (Pattern, Vec<u32>) {
    let mut entries = Vec::new();
    equations.stamp(|row, column, _, _| entries.push((row, column)));
    for device in &equations.devices {
        device.stamp(true, |row, column, _| entries.push((row, column)));
    }
    Pattern::new(equations.size, &entries)
}
