//! A network made ready to be solved often: equations, order and pivots are kept from solve to solve.

use super::answer;
use super::island::{self, Islands};
use super::layout::Layout;
use super::link::{self, Links};
use super::network::{Law, Network};
use super::newton::{End, Iteration};
use super::outcome::{Outcome, Unsolved};
use super::point::{FloatingGrids, OperatingPoint};
use super::stamp::Equations;

/// Newton steps of a straight attempt.
pub(super) const STEPS: usize = 60;
/// Newton steps of each stage of source and shunt stepping.
const STAGE_STEPS: usize = 40;
/// The first stage of source stepping, as a share of the sources.
const FIRST_STAGE: f64 = 0.1;
/// Source stepping gives up below this.
const SMALLEST_STAGE: f64 = 1e-4;
/// Shunt stepping starts here, in siemens …
const FIRST_SHUNT: f64 = 1e-2;
/// … goes down by this factor …
const SHUNT_FACTOR: f64 = 0.1;
/// … and after this it is taken away.
const LAST_SHUNT: f64 = 1e-15;
/// Stages of anchored stepping …
const ANCHOR_STAGES: usize = 400;
/// … the Newton steps of each …
const ANCHOR_STEPS: usize = 12;
/// … and the factor from one conductance to the next.
const ANCHOR_FACTOR: f64 = 0.5;
/// A valve that carries less than this carries nothing, where nothing but valves holds its node's volts.
const CUT_OFF_AMPS: f64 = 1e-12;

/// A network's equations, ready for many solves with other values.
#[derive(Debug, Clone)]
pub struct Prepared {
    pub(super) shape: Network,
    pub(super) floating: FloatingGrids,
    pub(super) links: Links,
    pub(super) islands: Islands,
    pub(super) layout: Layout,
    pub(super) iteration: Iteration,
    cut_off: Vec<usize>,
}

/// Solves for the DC operating point from a cold start: every node at 0 V, every valve cut off.
///
/// A floating control grid is taken to be at its cathode's volts. See [`operating_points`](super::operating_points)
/// for circuits that may have more than one point.
pub fn operating_point(network: &Network) -> Result<OperatingPoint, Unsolved> {
    Prepared::new(network)?.solve(network, None)
}

impl Prepared {
    /// Checks the network and lays out its equations. Floating control grids are taken at their cathodes' volts.
    pub fn new(network: &Network) -> Result<Self, Unsolved> {
        Self::with(network, FloatingGrids::AtCathode)
    }

    /// As [`Prepared::new`], with the treatment of floating control grids stated.
    pub fn with(network: &Network, floating: FloatingGrids) -> Result<Self, Unsolved> {
        check_nodes(network)?;
        check_values(network)?;
        Self::build(network, floating, Vec::new())
    }

    fn build(network: &Network, floating: FloatingGrids, cut_off: Vec<usize>) -> Result<Self, Unsolved> {
        let links = link::join(network)?;
        let islands = island::find(network, &links, floating, &cut_off);
        let layout = Layout::new(network, &links, &islands.island_of, false);
        let equations = Equations::new(network, &links, &islands, &layout, false);
        let iteration = Iteration::new(equations);
        Ok(Self { shape: network.clone(), floating, links, islands, layout, iteration, cut_off })
    }

    /// Solves a network of the same topology: from `start`, which shortens the way, or from cold. Where the
    /// topology is another after all, everything is laid out anew.
    pub fn solve(
        &mut self,
        network: &Network,
        start: Option<&OperatingPoint>,
    ) -> Result<OperatingPoint, Unsolved> {
        check_values(network)?;
        if !self.cut_off.is_empty() || !self.fits(network) {
            check_nodes(network)?;
            *self = Self::build(network, self.floating, Vec::new())?;
        }
        loop {
            self.iteration.equations.reload(network);
            self.iteration.load();
            let end = self.converge(start);
            let idle = self.idle_valves(network);
            match end {
                Err(end) if idle.is_empty() => return Err(self.unsolved(network, end)),
                Ok(()) if idle.is_empty() => break,
                _ => {}
            }
            let cut_off = [self.cut_off.as_slice(), &idle].concat();
            *self = Self::build(network, self.floating, cut_off)?;
        }
        if self.iteration.is_unstable() {
            return Err(Unsolved::before(Outcome::Unstable));
        }
        Ok(answer::assemble(self, network))
    }

    /// Straight from the start, straight from cold, by source stepping, by shunt stepping: the first that
    /// converges with whole sources and without shunt.
    fn converge(&mut self, start: Option<&OperatingPoint>) -> Result<(), End> {
        if let Some(start) = start
            && self.begin(start)
            && self.iteration.run(1.0, 0.0, STEPS).is_ok()
        {
            return Ok(());
        }
        self.iteration.x.fill(0.0);
        let end = match self.iteration.run(1.0, 0.0, STEPS) {
            Ok(()) => return Ok(()),
            Err(end) => end,
        };
        if self.step_sources().is_ok() {
            return Ok(());
        }
        if self.step_shunt().is_ok() {
            return Ok(());
        }
        match (self.step_anchor(), end) {
            (Err(_), End::Singular { .. }) => Err(end),
            (other, _) => other,
        }
    }

    /// Takes the unknowns from an operating point; false where it is of another network.
    fn begin(&mut self, start: &OperatingPoint) -> bool {
        if start.volts.len() != self.layout.row.len() || start.unknowns.len() != self.iteration.x.len() {
            return false;
        }
        self.iteration.x.copy_from_slice(&start.unknowns);
        true
    }

    fn step_sources(&mut self) -> Result<(), End> {
        self.iteration.x.fill(0.0);
        let mut reached = 0.0;
        let mut stage = FIRST_STAGE;
        let mut good = self.iteration.x.clone();
        while reached < 1.0 {
            let next = f64::min(reached + stage, 1.0);
            match self.iteration.run(next, 0.0, STAGE_STEPS) {
                Ok(()) => {
                    reached = next;
                    stage *= 2.0;
                    good.copy_from_slice(&self.iteration.x);
                }
                Err(end) if stage < SMALLEST_STAGE || matches!(end, End::Singular { .. }) => return Err(end),
                Err(_) => {
                    stage /= 4.0;
                    self.iteration.x.copy_from_slice(&good);
                }
            }
        }
        Ok(())
    }

    fn step_shunt(&mut self) -> Result<(), End> {
        self.iteration.x.fill(0.0);
        let mut shunt = FIRST_SHUNT;
        while shunt >= LAST_SHUNT {
            self.iteration.run(1.0, shunt, STAGE_STEPS)?;
            shunt *= SHUNT_FACTOR;
        }
        self.iteration.run(1.0, 0.0, STEPS)
    }

    /// As if every node had charge to lose: a conductance from each to the volts it had, smaller at each stage.
    fn step_anchor(&mut self) -> Result<(), End> {
        self.iteration.x.fill(0.0);
        let mut good = self.iteration.x.clone();
        let mut shunt = FIRST_SHUNT;
        for _ in 0..ANCHOR_STAGES {
            self.iteration.anchor.copy_from_slice(&good);
            let end = self.iteration.run(1.0, shunt, ANCHOR_STEPS);
            if end.is_ok() {
                good.copy_from_slice(&self.iteration.x);
                shunt *= ANCHOR_FACTOR;
            } else {
                self.iteration.x.copy_from_slice(&good);
                shunt /= ANCHOR_FACTOR * ANCHOR_FACTOR;
            }
            if shunt < LAST_SHUNT {
                break;
            }
        }
        self.iteration.anchor.fill(0.0);
        self.iteration.run(1.0, 0.0, STEPS)
    }

    /// Valves around a group of nodes that nothing but valves holds, where none of them carries anything:
    /// what the group's volts are is then left to leakage that no law here describes.
    fn idle_valves(&mut self, network: &Network) -> Vec<usize> {
        if !self.islands.has_groups_held_by_valves {
            return Vec::new();
        }
        self.iteration.worst();
        let groups = &self.islands.groups;
        let alone = |node: usize| groups[node] != groups[super::CHASSIS] && self.islands.island_of[node] == 0;
        let mut busy = vec![false; groups.len()];
        for device in self.iteration.equations.devices.iter().filter(|device| !device.is_junction()) {
            let carries = device.amps().iter().any(|amps| amps.abs() > CUT_OFF_AMPS);
            network.elements[device.element].law.each_terminal(|node| busy[groups[node]] |= carries);
        }
        for element in &network.elements {
            if let Law::CurrentSource { from, to, amps } = element.law {
                busy[groups[from]] |= amps != 0.0;
                busy[groups[to]] |= amps != 0.0;
            }
        }
        let devices = self.iteration.equations.devices.iter();
        let idle = devices.filter(|device| {
            let mut idle = false;
            let law = &network.elements[device.element].law;
            law.each_terminal(|node| idle |= alone(node) && !busy[groups[node]]);
            idle && !device.is_junction() && !self.cut_off.contains(&device.element)
        });
        idle.map(|device| device.element).collect()
    }

    pub(super) fn unsolved(&mut self, network: &Network, end: End) -> Unsolved {
        let outcome = match end {
            End::Stalled => Outcome::Stalled,
            End::Diverged => Outcome::Diverged,
            End::OutOfSteps => Outcome::OutOfSteps,
            End::Singular { unknown } => Outcome::Singular { unknown: self.layout.name(network, unknown) },
        };
        let worst = self.iteration.worst();
        Unsolved {
            outcome,
            residual_amps: worst.map(|(_, amps)| amps),
            worst: worst.map(|(row, _)| self.layout.name(network, row)),
        }
    }

    /// How the volts of `node` change with each element's value: dV/d(ln ohms) of resistors, dV/d(ln volts) of
    /// voltage sources, dV/d(ln amps) of current sources; 0 for the rest. First order, about `point`, which
    /// must be an answer for `network`; one solve of the transposed equations.
    pub fn sensitivities(
        &mut self,
        network: &Network,
        point: &OperatingPoint,
        node: usize,
    ) -> Result<Vec<f64>, Unsolved> {
        self.solve(network, Some(point))?;
        let mut weights = vec![0.0; self.iteration.x.len()];
        let row = self.layout.row[node] as usize;
        if row < self.layout.size {
            weights[row] = 1.0;
            if let Err(end) = self.iteration.adjoint(&mut weights) {
                return Err(self.unsolved(network, end));
            }
        }
        Ok(answer::sensitivities(self, network, &weights))
    }

    /// Whether the kept equations have a place for every value of the network.
    fn fits(&self, network: &Network) -> bool {
        network.nodes.len() == self.shape.nodes.len()
            && network.elements.len() == self.shape.elements.len()
            && network.elements.iter().zip(&self.shape.elements).all(|(one, other)| {
                same_shape(&one.law, &other.law) && (!self.links.looped || one.law == other.law)
            })
    }
}

/// Whether a law fits the places in the equations that another has.
fn same_shape(one: &Law, other: &Law) -> bool {
    match (one, other) {
        (Law::Resistor { a, b, ohms }, Law::Resistor { a: c, b: d, ohms: others }) => {
            (a, b) == (c, d) && link::keeps_place(*others, *ohms)
        }
        (Law::Inductor { a, b, ohms, .. }, Law::Inductor { a: c, b: d, ohms: others, .. }) => {
            (a, b) == (c, d) && (*ohms == 0.0) == (*others == 0.0)
        }
        (
            Law::CurrentSource { from: a, to: b, amps },
            Law::CurrentSource { from: c, to: d, amps: others },
        ) => (a, b) == (c, d) && (*amps < 0.0) == (*others < 0.0),
        (Law::Windings { windings, .. }, Law::Windings { windings: others, .. }) => {
            windings.len() == others.len()
                && windings.iter().zip(others).all(|(one, other)| {
                    (one.a, one.b, one.ohms == 0.0) == (other.a, other.b, other.ohms == 0.0)
                })
        }
        (Law::Windings { .. }, _) => false,
        _ => std::mem::discriminant(one) == std::mem::discriminant(other) && one.ends() == other.ends(),
    }
}

fn check_nodes(network: &Network) -> Result<(), Unsolved> {
    if network.nodes.is_empty() {
        return Err(Unsolved::before(Outcome::UnknownNode { element: "chassis".to_owned() }));
    }
    for element in &network.elements {
        let mut known = true;
        element.law.each_terminal(|node| known &= node < network.nodes.len());
        if !known {
            return Err(Unsolved::before(Outcome::UnknownNode { element: element.name.clone() }));
        }
    }
    Ok(())
}

fn check_values(network: &Network) -> Result<(), Unsolved> {
    match network.elements.iter().find(|element| !element.law.is_possible()) {
        None => Ok(()),
        Some(element) => Err(Unsolved::before(Outcome::BadValue { element: element.name.clone() })),
    }
}
