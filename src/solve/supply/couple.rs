//! A supply in its periodic steady state together with the amplifier at rest that draws on it.
//!
//! Between means over a period every linear element obeys its equation at rest, so the amplifier's operating point is
//! that of a network in which each rectifier is an EMF behind a resistance: chosen so that at the mean current it has
//! the mean volts of the steady state. The steady state in turn is found with what the operating point draws at each
//! of the supply's nodes. Both are found in turn until all their nodes' mean volts agree.

use super::mesh::{Mesh, Piece};
use super::operators::Operators;
use super::plan::{Plan, plan};
use super::steady::{Means, STEPS, Steady, settle};
use crate::circuit::Circuit;
use crate::solve::condition::Setup;
use crate::solve::lower::{Lowered, Origin};
use crate::solve::network::{Law, Network, Node};
use crate::solve::outcome::{Outcome, Unsolved};
use crate::solve::point::{FloatingGrids, OperatingPoint};
use crate::solve::prepared::Prepared;

/// Rounds of operating point and steady state at most.
const ROUNDS: usize = 40;
/// Mean volts agree within this share …
const AGREE_SHARE: f64 = 2e-7;
/// … and this, in volts.
const AGREE_VOLTS: f64 = 2e-6;
/// What each node is taken to feed before anything is known, in ohms.
const FIRST_DRAW: f64 = 20e3;
/// How a rectifier's mean volts give way to its mean current, over the resistance of its loop: a first guess.
const FIRST_SLOPE: f64 = 8.0;
/// Bounds of that resistance, in ohms; the lower keeps it from needing an unknown of its own.
const SLOPE_OHMS: (f64, f64) = (12.0, 1e6);
/// Currents that differ by less than this tell nothing of that resistance, in amperes.
const TELLING_AMPS: f64 = 1e-7;

/// The amplifier at rest, and its supply.
pub(crate) struct Coupled {
    /// The lowered circuit; its rectifiers in use are EMFs behind resistances.
    pub(crate) lowered: Lowered,
    /// Its operating point.
    pub(crate) point: OperatingPoint,
    /// The supply, where it has one that runs from the mains.
    pub(super) supply: Option<Settled>,
}

/// A supply's steady state as found.
pub(super) struct Settled {
    pub(super) plan: Plan,
    /// With what is drawn from it.
    pub(super) mesh: Mesh,
    pub(super) steady: Steady,
}

/// Solves a lowered circuit at rest, with its supply from the mains where it has one.
pub(crate) fn couple(
    circuit: &Circuit,
    setup: &Setup,
    mut lowered: Lowered,
    floating: FloatingGrids,
) -> Result<Coupled, Unsolved> {
    let Some(mut plan) = plan(circuit, setup, &lowered) else {
        let point = Prepared::with(&lowered.network, floating)?.solve(&lowered.network, None)?;
        return Ok(Coupled { lowered, point, supply: None });
    };
    lowered.assumed.append(&mut plan.assumed);
    let mut standing = stand_in(&mut lowered, &plan);
    let unsettled = |lowered: &Lowered| {
        let element = standing_name(lowered, &plan);
        Unsolved::before(Outcome::SupplyUnsettled { element })
    };
    let mut mesh = with_first_draws(&plan, &lowered.network);
    let operators = Operators::new(&mesh, 1.0 / (mesh.hertz * STEPS as f64));
    let operators = operators.ok_or_else(|| unsettled(&lowered))?;
    for (at, standing) in standing.iter_mut().enumerate() {
        standing.ohms = bounded(FIRST_SLOPE * operators.resistance(at, at));
    }
    let mut steady = Steady::default();
    let mut means = settle(&mesh, &mut steady).map_err(|_| unsettled(&lowered))?;
    let mut prepared: Option<Prepared> = None;
    let mut last: Option<OperatingPoint> = None;
    for _ in 0..ROUNDS {
        for (at, standing) in standing.iter_mut().enumerate() {
            standing.follow(means.rectifier_volts[at], means.rectifier_amps[at], &mut lowered.network);
        }
        let ready = match prepared.take() {
            Some(ready) => ready,
            None => Prepared::with(&lowered.network, floating)?,
        };
        let ready = prepared.insert(ready);
        let point = ready.solve(&lowered.network, last.as_ref())?;
        if agree(&plan, &means, &point) {
            return Ok(Coupled { lowered, point, supply: Some(Settled { plan, mesh, steady }) });
        }
        mesh = with_draws(&plan, &means, &lowered.network, &point);
        means = settle(&mesh, &mut steady).map_err(|_| unsettled(&lowered))?;
        last = Some(point);
    }
    Err(unsettled(&lowered))
}

/// A rectifier's place in the network at rest.
#[derive(Debug, Clone)]
struct Standing {
    /// The element that was the rectifier and is the resistance.
    element: usize,
    /// The element that is the EMF.
    emf: usize,
    ohms: f64,
    last: Option<(f64, f64)>,
}

impl Standing {
    /// Takes the mean volts and current of the steady state.
    fn follow(&mut self, volts: f64, amps: f64, network: &mut Network) {
        if let Some((volts_before, amps_before)) = self.last
            && (amps - amps_before).abs() > TELLING_AMPS
        {
            let slope = (volts - volts_before) / (amps - amps_before);
            if slope > 0.0 {
                self.ohms = bounded(slope.clamp(0.2 * self.ohms, 5.0 * self.ohms));
            }
        }
        self.last = Some((volts, amps));
        if let Law::Resistor { ohms, .. } = &mut network.elements[self.element].law {
            *ohms = self.ohms;
        }
        if let Law::VoltageSource { volts: emf, .. } = &mut network.elements[self.emf].law {
            *emf = self.ohms * amps - volts;
        }
    }
}

fn bounded(ohms: f64) -> f64 {
    if ohms.is_finite() { ohms.clamp(SLOPE_OHMS.0, SLOPE_OHMS.1) } else { SLOPE_OHMS.1 }
}

/// Puts an EMF behind a resistance in the place of each rectifier in use.
fn stand_in(lowered: &mut Lowered, plan: &Plan) -> Vec<Standing> {
    let rectifiers = plan.mesh.pieces.iter().zip(&plan.elements);
    let rectifiers: Vec<usize> = rectifiers
        .filter(|(piece, _)| matches!(piece, Piece::Rectifier { .. }))
        .map(|(_, element)| *element)
        .collect();
    let network = &mut lowered.network;
    let mut standing = Vec::new();
    for element in rectifiers {
        let name = network.elements[element].name.clone();
        let terminals = network.elements[element].law.terminals();
        let [anode, cathode] = terminals[..] else { continue };
        let inner = network.add_node(format!("{name}, inside"));
        network.elements[element].law = Law::Resistor { a: anode, b: inner, ohms: SLOPE_OHMS.0 };
        let law = Law::VoltageSource { plus: cathode, minus: inner, volts: 0.0, ac_volts: 0.0 };
        let emf = network.add(name, law);
        let part = lowered.elements[element].part;
        lowered.elements.push(Origin { part, section: None, heats: false, legs: vec![None, None] });
        standing.push(Standing { element, emf, ohms: SLOPE_OHMS.0, last: None });
    }
    standing
}

fn standing_name(lowered: &Lowered, plan: &Plan) -> String {
    let rectifiers = plan.mesh.pieces.iter().zip(&plan.elements);
    let mut names = rectifiers
        .filter(|(piece, _)| matches!(piece, Piece::Rectifier { .. }))
        .map(|(_, element)| lowered.network.elements[*element].name.clone());
    names.next().unwrap_or_default()
}

/// The supply with something drawn at each node on which others hang.
fn with_first_draws(plan: &Plan, network: &Network) -> Mesh {
    let mut mesh = plan.mesh.clone();
    let mut drawn = vec![false; mesh.nodes];
    outside(plan, network, |_, _, at| drawn[at] = true);
    for node in (1..mesh.nodes).filter(|node| drawn[*node]) {
        mesh.pieces.push(Piece::Resistor { a: node, b: 0, ohms: FIRST_DRAW });
    }
    mesh
}

/// The supply with what the operating point draws at each node: as a resistance, where that can be. The ripple in the
/// draw is far below the filter's.
fn with_draws(plan: &Plan, means: &Means, network: &Network, point: &OperatingPoint) -> Mesh {
    let mut mesh = plan.mesh.clone();
    for (feed, amps) in mesh.transformers.iter_mut().zip(&means.direct_amps) {
        feed.direct_amps = *amps;
    }
    let mut draws = vec![0.0; mesh.nodes];
    outside(plan, network, |element, terminal, at| draws[at] += point.amps(element)[terminal]);
    let mut volts = vec![None; mesh.nodes];
    for (node, at) in plan.place.iter().enumerate() {
        if let Some(at) = at {
            volts[*at] = point.volts(node);
        }
    }
    for (node, amps) in draws.into_iter().enumerate().skip(1).filter(|(_, amps)| *amps != 0.0) {
        let ohms = volts[node].map_or(0.0, |volts| volts / amps);
        mesh.pieces.push(match ohms {
            ohms if ohms > 0.0 && ohms.is_finite() => Piece::Resistor { a: node, b: 0, ohms },
            _ => Piece::Draw { from: node, to: 0, amps },
        });
    }
    mesh
}

/// Calls `visit` with each terminal of an element outside the supply that sits on one of its nodes: element, terminal,
/// node of the mesh.
fn outside(plan: &Plan, network: &Network, mut visit: impl FnMut(usize, usize, usize)) {
    let mut within = vec![false; network.elements.len()];
    for element in &plan.elements {
        within[*element] = true;
    }
    let place = |node: Node| plan.place.get(node).copied().flatten();
    for (index, element) in network.elements.iter().enumerate() {
        // Nodes past those of the plan are inside rectifiers.
        let terminals = element.law.terminals();
        let inside = terminals.iter().any(|node| *node >= plan.place.len());
        if within[index] || inside || matches!(element.law, Law::Capacitor { .. }) {
            continue;
        }
        let places: Vec<Option<usize>> = terminals.iter().map(|node| place(*node)).collect();
        if places.iter().all(|at| *at == places[0]) {
            continue;
        }
        for (terminal, at) in places.into_iter().enumerate() {
            if let Some(at) = at.filter(|at| *at != 0) {
                visit(index, terminal, at);
            }
        }
    }
}

/// Whether every node's mean volts are the same in both.
fn agree(plan: &Plan, means: &Means, point: &OperatingPoint) -> bool {
    plan.place.iter().enumerate().all(|(node, at)| match (at, point.volts(node)) {
        (Some(at), Some(volts)) => {
            (means.volts[*at] - volts).abs() <= AGREE_VOLTS + AGREE_SHARE * volts.abs()
        }
        _ => true,
    })
}
