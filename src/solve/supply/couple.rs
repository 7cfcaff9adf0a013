//! A supply in its periodic steady state together with the amplifier at rest that draws on it.
//!
//! Between means over a period every linear element obeys its equation at rest, so the amplifier's operating point is
//! that of a network in which each rectifier is an EMF behind a resistance: chosen so that at the mean current it has
//! the mean volts of the steady state. The steady state in turn is found with what the operating point draws at each
//! of the supply's nodes. Both are found in turn until all their nodes' mean volts agree.
//!
//! ```text
//! A rectifier whose supply gave, in two rounds, 20 V mean across it at 50 mA and 24 V at 60 mA:
//! slope     (24 − 20) / (60 mA − 50 mA) = 400 Ω
//! stands in 400 Ω and an EMF of 400 · 60 mA − 24 V = 0: at 60 mA it has its 24 V
//! at rest   the amplifier then draws 59 mA; the steady state is found with that, and so on
//! agreed    when every node's mean volts and volts at rest are within 2e-7
//! ```

use super::plan::{Plan, plan};
use crate::circuit::Circuit;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::{Law, Network, Node};
use crate::numeric::outcome::{Outcome, Unsolved};
use crate::numeric::point::{FloatingGrids, OperatingPoint};
use crate::numeric::time::rectifier::mesh::{Mesh, Piece};
use crate::numeric::time::rectifier::operators::Operators;
use crate::numeric::time::rectifier::steady::{FINE, Means, STEPS, Steady, settle};
use crate::solve::at_rest::AtRest;
use crate::solve::lower::{Lowered, Origin};
use crate::solve::setup::Setup;

/// Rounds of operating point and steady state at most.
const ROUNDS: usize = 40;
/// Mean volts agree within this share of them …
const AGREE_SHARE: f64 = 2e-7;
/// … taken for no less than this, in volts.
const AGREE_VOLTS: f64 = 10.0;
/// How closely the first steady state is found.
const FIRST_SHARE: f64 = 1e-3;
/// The next ones are found more closely than the last round's disagreement by this.
const FINER: f64 = 0.02;
/// The last one at least so closely.
const FINE_ENOUGH: f64 = 2e-8;
/// What capacitors are taken to be charged to before anything is known, as a share of the peak.
// Only a start: anything from half to the whole peak ends in the same state.
const FIRST_CHARGE: f64 = 0.9;
/// How a rectifier's mean volts give way to its mean current, over the resistance of its loop: a first guess.
// A reservoir is charged in pulses of several times the mean, for which the same ohms drop several times as much.
const FIRST_SLOPE: f64 = 8.0;
/// Bounds of that resistance, in ohms; the lower keeps it from needing an unknown of its own.
const SLOPE_OHMS: (f64, f64) = (12.0, 1e6);
/// Currents that differ by less than this tell nothing of that resistance, in amperes.
const TELLING_AMPS: f64 = 1e-7;

/// The amplifier at rest, and its supply.
pub(crate) struct Coupled {
    /// The lowered circuit; its rectifiers in use are EMFs behind resistances.
    pub(crate) lowered: Lowered,
    /// Its equations.
    pub(crate) prepared: Prepared,
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

/// Solves a lowered circuit at rest from where one much like it rests; a supply from the mains begins anew.
pub(crate) fn couple_near(
    circuit: &Circuit,
    setup: &Setup,
    lowered: Lowered,
    like: &AtRest,
) -> Result<Coupled, Unsolved> {
    if let Some(plan) = plan(circuit, setup, &lowered) {
        return with_supply(plan, lowered, like.prepared.floating);
    }
    let like = (&like.lowered.network, &like.prepared, &like.point);
    let (prepared, point) = Prepared::near(&lowered.network, like)?;
    Ok(Coupled { lowered, prepared, point, supply: None })
}

/// Solves a lowered circuit at rest, with its supply from the mains where it has one.
pub(crate) fn couple(
    circuit: &Circuit,
    setup: &Setup,
    lowered: Lowered,
    floating: FloatingGrids,
) -> Result<Coupled, Unsolved> {
    if let Some(plan) = plan(circuit, setup, &lowered) {
        return with_supply(plan, lowered, floating);
    }
    let mut prepared = Prepared::with(&lowered.network, floating)?;
    let point = prepared.solve(&lowered.network, None)?;
    Ok(Coupled { lowered, prepared, point, supply: None })
}

/// Operating point and steady state in turn until they agree.
fn with_supply(mut plan: Plan, mut lowered: Lowered, floating: FloatingGrids) -> Result<Coupled, Unsolved> {
    lowered.assumed.append(&mut plan.assumed);
    let mut standing = stand_in(&mut lowered, &plan);
    let unsettled = |lowered: &Lowered| {
        let element = standing_name(lowered, &plan);
        Unsolved::before(Outcome::SupplyUnsettled { element })
    };
    let mut mesh = plan.mesh.clone();
    begin(&mesh, &mut standing, &mut lowered.network).ok_or_else(|| unsettled(&lowered))?;
    let mut prepared = Prepared::with(&lowered.network, floating)?;
    let mut point = prepared.solve(&lowered.network, None)?;
    let mut steady = first_guess(&plan, &lowered.network, &point);
    let mut direct_amps = vec![0.0; mesh.transformers.len()];
    let mut share = FIRST_SHARE;
    for _ in 0..ROUNDS {
        mesh = with_draws(&plan, &direct_amps, &lowered.network, &point);
        let means = settle(&mesh, &mut steady, share).map_err(|_| unsettled(&lowered))?;
        for (at, standing) in standing.iter_mut().enumerate() {
            standing.follow(means.rectifier_volts[at], means.rectifier_amps[at], &mut lowered.network);
        }
        point = prepared.solve(&lowered.network, Some(&point))?;
        let apart = disagreement(&plan, &means, &point);
        // Agreement alone is not enough while the steady state was only found roughly: both could be off alike.
        if apart <= AGREE_SHARE && share <= FINE_ENOUGH {
            return Ok(Coupled { lowered, prepared, point, supply: Some(Settled { plan, mesh, steady }) });
        }
        // Closer than the rounds agree is work for nothing; the last ones are close, since the rounds are.
        share = (FINER * apart).clamp(FINE, FIRST_SHARE);
        direct_amps = means.direct_amps;
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
            // Rounding or a change elsewhere may turn it: with a negative one the rounds would run apart.
            if slope > 0.0 {
                self.ohms = bounded(slope.clamp(0.2 * self.ohms, 5.0 * self.ohms));
            }
        }
        self.last = Some((volts, amps));
        self.put(self.ohms * amps - volts, network);
    }

    fn put(&self, volts: f64, network: &mut Network) {
        if let Law::Resistor { ohms, .. } = &mut network.elements[self.element].law {
            *ohms = self.ohms;
        }
        if let Law::VoltageSource { volts: emf, .. } = &mut network.elements[self.emf].law {
            *emf = volts;
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
        // A node of its own between the two, so that the element keeps its position and answers for the rectifier's
        // current.
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

/// EMFs and resistances before anything is known: capacitors charged to most of the peak that reaches each rectifier.
/// `None` where the supply's linear part is singular.
fn begin(mesh: &Mesh, standing: &mut [Standing], network: &mut Network) -> Option<()> {
    let operators = Operators::new(mesh, 1.0 / (mesh.hertz * STEPS as f64))?;
    for (at, standing) in standing.iter_mut().enumerate() {
        standing.ohms = bounded(FIRST_SLOPE * operators.resistance(at, at));
        // The mains' share in each rectifier's volts with nothing conducting: the peak that arrives at it.
        let peak = operators.rectifier_rows[at * operators.inputs + operators.stores.len()].abs();
        standing.put(FIRST_CHARGE * peak, network);
    }
    Some(())
}

/// Capacitors and chokes as they are at an operating point.
fn first_guess(plan: &Plan, network: &Network, point: &OperatingPoint) -> Steady {
    let pieces = plan.mesh.pieces.iter().zip(&plan.elements).filter(|(piece, _)| piece.stores());
    let value = |element: usize| match network.elements[element].law {
        Law::Capacitor { a, b, .. } => point.volts_between(a, b).unwrap_or(0.0),
        _ => point.amps(element)[0],
    };
    Steady::at(pieces.map(|(_, element)| value(*element)).collect())
}

/// The supply with what the operating point draws at each node: as a resistance, where that can be. The ripple in the
/// draw is far below the filter's.
fn with_draws(plan: &Plan, direct_amps: &[f64], network: &Network, point: &OperatingPoint) -> Mesh {
    let mut mesh = plan.mesh.clone();
    for (feed, amps) in mesh.transformers.iter_mut().zip(direct_amps) {
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
            // A draw against the volts (a bias supply that is fed backwards) is no resistance: a constant current.
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
        // Capacitors draw nothing in the mean; those of the supply itself are in its own equations.
        if within[index] || inside || matches!(element.law, Law::Capacitor { .. }) {
            continue;
        }
        let places: Vec<Option<usize>> = terminals.iter().map(|node| place(*node)).collect();
        // Both ends at one node of the supply: it circulates, and nothing is drawn.
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

/// The largest difference of a node's mean volts, as a share of them.
fn disagreement(plan: &Plan, means: &Means, point: &OperatingPoint) -> f64 {
    let places = plan.place.iter().enumerate();
    let pairs = places.filter_map(|(node, at)| Some((means.volts[(*at)?], point.volts(node)?)));
    let share = |(mean, rest): (f64, f64)| (mean - rest).abs() / rest.abs().max(AGREE_VOLTS);
    pairs.map(share).fold(0.0, f64::max)
}
