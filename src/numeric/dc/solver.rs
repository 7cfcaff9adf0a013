//! A network made ready to be solved often: equations, order and pivots are kept from solve to solve.

use crate::numeric::dc::newton::{End, Iteration};
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::dc::stamp::Equations;
use crate::numeric::dc::unknowns::Layout;
use crate::numeric::dc::{answer, islands, shorts};
use crate::numeric::network::{Law, Network};
use crate::numeric::outcome::{Outcome, Unsolved};
use crate::numeric::point::{FloatingGrids, OperatingPoint};

/// Solves for the DC operating point from a cold start: every node at 0 V, every valve cut off.
///
/// A floating control grid is taken to be at its cathode's volts. See [`operating_points`](crate::numeric::operating_points)
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
        let links = shorts::join(network)?;
        let islands = islands::find(network, &links, floating, &cut_off);
        let layout = Layout::new(network, &links, &islands.island_of, false);
        let equations = Equations::new(network, &links, &islands, &layout, false);
        let iteration = Iteration::new(equations);
        let laws = network.elements.iter().map(|element| element.law.clone()).collect();
        Ok(Self { nodes: network.nodes.len(), laws, floating, links, islands, layout, iteration, cut_off })
    }

    /// The equations of a network with its operating point, found from that of one much like it, which shortens the way;
    /// where that ends nowhere, from cold.
    pub(crate) fn near(
        network: &Network,
        (other, prepared, point): (&Network, &Prepared, &OperatingPoint),
    ) -> Result<(Self, OperatingPoint), Unsolved> {
        let kept = prepared.cut_off.is_empty() && prepared.fits(network);
        let mut own = if kept { prepared.clone() } else { Self::with(network, prepared.floating)? };
        let start = if kept { point.unknowns.clone() } else { own.like(network, other, point) };
        if let Ok(point) = own.solve_from(network, Some(&start)) {
            return Ok((own, point));
        }
        own = Self::with(network, prepared.floating)?;
        let point = own.solve(network, None)?;
        Ok((own, point))
    }

    /// The unknowns with every node at the volts that the one of its name has in another network.
    fn like(&self, network: &Network, other: &Network, point: &OperatingPoint) -> Vec<f64> {
        let mut unknowns = vec![0.0; self.iteration.x.len()];
        // Networks that are alike have their nodes in the same order but for a few.
        let mut next = 0;
        for (name, &row) in network.nodes.iter().zip(&self.layout.row) {
            let here = other.nodes.get(next).is_some_and(|there| there == name);
            let found = if here { Some(next) } else { other.node(name) };
            let Some(found) = found else { continue };
            next = found + 1;
            unknowns[row as usize] = point.volts[found];
        }
        unknowns[self.layout.size] = 0.0;
        unknowns
    }

    /// Solves a network of the same topology: from `start`, which shortens the way, or from cold. Where the
    /// topology is another after all, everything is laid out anew.
    pub fn solve(
        &mut self,
        network: &Network,
        start: Option<&OperatingPoint>,
    ) -> Result<OperatingPoint, Unsolved> {
        self.solve_from(network, start.map(|point| point.unknowns.as_slice()))
    }

    fn solve_from(&mut self, network: &Network, start: Option<&[f64]>) -> Result<OperatingPoint, Unsolved> {
        check_values(network)?;
        if !self.cut_off.is_empty() || !self.fits(network) {
            check_nodes(network)?;
            *self = Self::build(network, self.floating, Vec::new())?;
        }
        // Each pass cuts off elements that were not yet: there are no more of them than devices.
        loop {
            self.iteration.equations.reload(network);
            self.iteration.load();
            let end = self.iteration.converge(start);
            // Junctions are cut off only after a failure (they conduct both ways and as a rule do hold); valves after
            // success too.
            let idle = self.idle(network, end.is_ok());
            match end {
                Err(end) if idle.is_empty() => return Err(self.unsolved(network, end)),
                Ok(()) if idle.is_empty() => break,
                _ => {}
            }
            let cut_off = [self.cut_off.as_slice(), &idle].concat();
            *self = Self::build(network, self.floating, cut_off)?;
        }
        // Asked once and at the end: only where the currents balance does the sign mean anything.
        if self.iteration.is_unstable() {
            return Err(Unsolved::before(Outcome::Unstable));
        }
        Ok(answer::assemble(self, network))
    }

    pub(crate) fn unsolved(&mut self, network: &Network, end: End) -> Unsolved {
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

    /// Solves anew a network of the same layout, from near its answer and without allocation; the answer is in
    /// the equations. `Ok(false)` where the layout will not do, so that [`Prepared::solve`] has to.
    pub(crate) fn solve_again(&mut self, network: &Network, start: &[f64]) -> Result<bool, Unsolved> {
        // What a loop of sources is allowed to be and what carries nothing hang on the values: both need `solve`'s
        // checks.
        if self.links.looped || !self.cut_off.is_empty() || !self.fits(network) {
            return Ok(false);
        }
        self.iteration.equations.reload(network);
        self.iteration.load();
        let end = self.iteration.converge(Some(start));
        if !self.idle(network, end.is_ok()).is_empty() {
            return Ok(false);
        }
        end.map_err(|end| self.unsolved(network, end))?;
        if self.iteration.is_unstable() {
            return Err(Unsolved::before(Outcome::Unstable));
        }
        Ok(true)
    }

    /// Whether the kept equations have a place for every value of the network.
    fn fits(&self, network: &Network) -> bool {
        network.nodes.len() == self.nodes
            && network.elements.len() == self.laws.len()
            && network
                .elements
                .iter()
                .zip(&self.laws)
                // Sources in a loop must agree: with any other value there the loop has to be checked again.
                .all(|(one, other)| same_shape(&one.law, other) && (!self.links.looped || one.law == *other))
    }
}

/// Whether a law fits the places in the equations that another has.
pub(crate) fn same_shape(one: &Law, other: &Law) -> bool {
    match (one, other) {
        (Law::Resistor { a, b, ohms }, Law::Resistor { a: c, b: d, ohms: others }) => {
            (a, b) == (c, d) && shorts::keeps_place(*others, *ohms)
        }
        (Law::Inductor { a, b, ohms, .. }, Law::Inductor { a: c, b: d, ohms: others, .. }) => {
            (a, b) == (c, d) && (*ohms == 0.0) == (*others == 0.0)
        }
        (
            Law::CurrentSource { from: a, to: b, amps },
            Law::CurrentSource { from: c, to: d, amps: others },
            // A source that turns round feeds the other side: what it holds (`islands`) changes with it.
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
