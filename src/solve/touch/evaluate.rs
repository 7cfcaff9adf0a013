//! The worst current through a body, in every situation.

use std::collections::BTreeSet;
use std::f64::consts::SQRT_2;

use num_complex::Complex64;

use super::rig::{Rig, mains_rig, peak_rig, winding_rig};
use super::situation::{Situation, Supply};
use super::{BODY_OHMS, Hazard, Route, SAFE_AMPS, SAFE_VOLTS, Touchable, within_reach};
use crate::circuit::{Circuit, NetId, PartId};
use crate::solve::ac::{Drive, Linearised};
use crate::solve::condition::{Condition, Setup};
use crate::solve::lower::lower;
use crate::solve::network::{Law, Network, Node};
use crate::solve::outcome::Unsolved;
use crate::solve::point::OperatingPoint;
use crate::solve::prepared::operating_point;
use crate::solve::solved::{Solved, SolvedSet};
use crate::syntax::tree::Kind;

/// A case is told instead of one before it when it is worse by more than this: the plain one is told first.
const WORSE: f64 = 1.001;

/// What a body between two places meets: rms when alternating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flow {
    /// With nobody there.
    pub volts: f64,
    /// Through the body, A.
    pub amps: f64,
}

/// The amplifier that is asked about, some parts of it taken out.
#[derive(Debug, Clone)]
pub(super) struct Question<'a> {
    pub circuit: &'a Circuit,
    pub reach: &'a [Touchable],
    pub removed: BTreeSet<PartId>,
}

/// The worst that was found.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub route: Route,
    /// Index into what is within reach.
    pub touched: usize,
    /// What else is touched; `None` for earth.
    pub other: Option<usize>,
    /// AC peak or DC.
    pub volts: f64,
    /// AC peak or DC.
    pub amps: f64,
    pub situation: Situation,
    pub supply: Option<Supply>,
}

/// What a body of some ohms between two nodes of a network without valves meets, volts and amperes rms; `None` where
/// nothing joins them.
pub fn body_current(
    network: &Network,
    hertz: f64,
    (a, b): (Node, Node),
    ohms: f64,
) -> Result<Option<Flow>, Unsolved> {
    let mut equations = Linearised::passive(network, Drive::Sources)?;
    equations.tune(hertz)?;
    equations.excite()?;
    let Some(open) = equations.phasor_between(a, b) else { return Ok(None) };
    behind(&mut equations, (a, b), open, ohms).map(Some)
}

/// The current behind open-circuit volts, at the frequency tuned to.
fn behind(
    equations: &mut Linearised,
    (a, b): (Node, Node),
    open: Complex64,
    ohms: f64,
) -> Result<Flow, Unsolved> {
    equations.inject(&[(a, 1.0), (b, -1.0)])?;
    let inner = equations.phasor_between(a, b).unwrap_or_default();
    Ok(Flow { volts: open.norm(), amps: (open / (inner + ohms)).norm() })
}

impl Question<'_> {
    /// The worst on a route, in every situation or in one.
    pub(super) fn worst(&self, route: Route, only: Option<&Situation>) -> Option<Found> {
        let all = match only {
            Some(situation) => vec![situation.clone()],
            None => Situation::all(self.circuit),
        };
        let found = all.iter().filter_map(|situation| self.worst_in(route, situation));
        found.reduce(|worst, next| if next.amps > WORSE * worst.amps { next } else { worst })
    }

    fn worst_in(&self, route: Route, situation: &Situation) -> Option<Found> {
        let rigs: Vec<(Option<Supply>, Rig)> = match route {
            Route::Mains => {
                let first = self.mains(situation, Supply::ALL[0]);
                if !first.joined(route) {
                    return None;
                }
                Supply::ALL.map(|supply| (Some(supply), self.mains(situation, supply))).into()
            }
            Route::Winding => {
                vec![(None, winding_rig(self.circuit, situation, &self.removed, self.reach))]
            }
            Route::Cold | Route::Warm => [true, false]
                .map(|rising| (None, peak_rig(self.circuit, situation, rising, &self.removed, self.reach)))
                .into(),
        };
        let mut worst: Option<Found> = None;
        for (supply, rig) in rigs.into_iter().filter(|(_, rig)| rig.joined(route)) {
            for (touched, other, flow) in flows(&rig, route) {
                let found = Found {
                    route,
                    touched,
                    other,
                    volts: flow.volts,
                    amps: flow.amps,
                    situation: situation.clone(),
                    supply,
                };
                if worst.as_ref().is_none_or(|w| found.amps > WORSE * w.amps) {
                    worst = Some(found);
                }
            }
        }
        worst
    }

    pub(super) fn mains(&self, situation: &Situation, supply: Supply) -> Rig {
        mains_rig(self.circuit, situation, supply, &self.removed, self.reach)
    }

    /// Volts rms across the busiest primary, with the mains as wired.
    pub(super) fn primary_volts(&self, situation: &Situation) -> f64 {
        let rig = self.mains(situation, Supply::ALL[0]);
        let Ok(mut equations) = Linearised::passive(&rig.network, Drive::Sources) else { return 0.0 };
        if equations.tune(rig.hertz).and_then(|()| equations.excite()).is_err() {
            return 0.0;
        }
        let windings = rig.network.elements.iter().zip(&rig.part_of).filter_map(|(e, part)| match &e.law {
            Law::Windings { windings, .. } if part.is_some_and(|p| self.is_mains(p)) => Some(windings),
            _ => None,
        });
        let across = windings.flatten().filter_map(|w| equations.phasor_between(w.a, w.b));
        across.map(Complex64::norm).fold(0.0, f64::max)
    }

    /// The highest volts DC that rectifiers and sources make anywhere, valves cold.
    pub(super) fn highest_volts(&self, situation: &Situation) -> f64 {
        let highest = |rising| {
            let rig = peak_rig(self.circuit, situation, rising, &self.removed, self.reach);
            let point = operating_point(&rig.network).ok()?;
            let nodes = rig.node_of.iter().flatten();
            Some(nodes.filter_map(|node| point.volts(*node)).map(f64::abs).fold(0.0, f64::max))
        };
        [true, false].into_iter().filter_map(highest).fold(0.0, f64::max)
    }

    fn is_mains(&self, part: PartId) -> bool {
        self.circuit.part(part).kind == Kind::MainsTransformer
    }
}

/// Every pair that is not harmless, peak or DC: what is touched, what else (`None`: earth), and what flows.
fn flows(rig: &Rig, route: Route) -> Vec<(usize, Option<usize>, Flow)> {
    let nodes: Vec<(usize, Node)> =
        rig.reach.iter().enumerate().filter_map(|(i, node)| Some((i, (*node)?))).collect();
    let mut pairs = Vec::new();
    for (at, (i, a)) in nodes.iter().enumerate() {
        if route == Route::Mains {
            pairs.push((*i, None, (*a, 0)));
        }
        pairs.extend(nodes[..at].iter().map(|(j, b)| (*i, Some(*j), (*a, *b))));
    }
    match route {
        Route::Mains | Route::Winding => alternating(rig, &pairs).unwrap_or_default(),
        Route::Cold | Route::Warm => direct(&rig.network, &pairs),
    }
}

/// Things within reach, and their nodes.
type Pair = (usize, Option<usize>, (Node, Node));

fn alternating(rig: &Rig, pairs: &[Pair]) -> Result<Vec<(usize, Option<usize>, Flow)>, Unsolved> {
    let mut equations = Linearised::passive(&rig.network, Drive::Sources)?;
    equations.tune(rig.hertz)?;
    equations.excite()?;
    let open: Vec<(&Pair, Complex64)> = pairs
        .iter()
        .filter_map(|pair| Some((pair, equations.phasor_between(pair.2.0, pair.2.1)?)))
        .filter(|(_, open)| SQRT_2 * open.norm() > SAFE_VOLTS.0)
        .collect();
    let mut found = Vec::new();
    for ((touched, other, nodes), open) in open {
        let flow = behind(&mut equations, *nodes, open, BODY_OHMS)?;
        let peak = Flow { volts: SQRT_2 * flow.volts, amps: SQRT_2 * flow.amps };
        if peak.amps > SAFE_AMPS.0 {
            found.push((*touched, *other, peak));
        }
    }
    Ok(found)
}

/// With a body between two nodes the whole is solved again: rectifiers are not linear.
fn direct(network: &Network, pairs: &[Pair]) -> Vec<(usize, Option<usize>, Flow)> {
    let Ok(point) = operating_point(network) else { return Vec::new() };
    let over = |(a, b): (Node, Node)| point.volts_between(a, b).map(f64::abs).filter(|v| *v > SAFE_VOLTS.1);
    let flow = |(touched, other, (a, b)): &Pair| {
        let volts = over((*a, *b))?;
        let mut held = network.clone();
        let body = held.add("body", Law::Resistor { a: *a, b: *b, ohms: BODY_OHMS });
        let amps = operating_point(&held).ok()?.amps(body)[0].abs();
        (amps > SAFE_AMPS.1).then_some((*touched, *other, Flow { volts, amps }))
    };
    pairs.iter().filter_map(flow).collect()
}

/// Current rms of a winding into what lies across it, valves and heaters aside, at the mains' high limit; 0 where that
/// can't be worked out.
pub fn secondary_amps(circuit: &Circuit, part: PartId, winding: usize) -> f64 {
    let rig = winding_rig(circuit, &Situation::default(), &BTreeSet::new(), &[]);
    let Ok(mut equations) = Linearised::passive(&rig.network, Drive::Sources) else { return 0.0 };
    if equations.tune(rig.hertz).and_then(|()| equations.excite()).is_err() {
        return 0.0;
    }
    let amps =
        rig.emfs.iter().filter(|(p, w, _)| (*p, *w) == (part, winding)).filter_map(|(_, _, (a, b, ohms))| {
            equations.phasor_between(*a, *b).map(|volts| volts.norm() / ohms)
        });
    amps.fold(0.0, f64::max)
}

/// What reaches hands through valves that conduct, in every condition that has an operating point; `told` are nets of
/// which more is known.
pub(super) fn warm(circuit: &Circuit, set: &SolvedSet, told: &BTreeSet<NetId>) -> Vec<Hazard> {
    let mut reach = within_reach(circuit);
    reach.retain(|touched| !told.contains(&touched.net));
    let node_of = lower(circuit, &Setup::idle()).node_of;
    let mut worst: Option<Hazard> = None;
    for solved in set.every().filter(|solved| solved.condition != Condition::ColdStart) {
        for (at, touched) in reach.iter().enumerate() {
            for other in &reach[..at] {
                let hazard = warm_pair(circuit, solved, &node_of, [touched, other]);
                worst = match (worst, hazard) {
                    (Some(worst), Some(next)) if next.amps > WORSE * worst.amps => Some(next),
                    (worst, hazard) => worst.or(hazard),
                };
            }
        }
    }
    worst.into_iter().collect()
}

fn warm_pair(
    circuit: &Circuit,
    solved: &Solved,
    node_of: &[Option<Node>],
    [touched, other]: [&Touchable; 2],
) -> Option<Hazard> {
    let volts = (solved.net_volts(touched.net)? - solved.net_volts(other.net)?).abs();
    if volts <= SAFE_VOLTS.1 {
        return None;
    }
    let nodes = (node_of[touched.net.0 as usize]?, node_of[other.net.0 as usize]?);
    let (network, _, point) = solved.windows.equations()?;
    let amps = volts / (differential(network, point, nodes)? + BODY_OHMS);
    let here = solved.net_volts(touched.net).map_or(0.0, f64::abs);
    // A valve stands in the net itself; another part has its other leg where the volts come from.
    let brings = |id: &PartId| {
        let part = circuit.part(*id);
        let others = part.legs.iter().filter_map(|leg| leg.net).filter(|net| *net != touched.net);
        let mut far = others.filter_map(|net| solved.net_volts(net)).map(f64::abs);
        match part.kind {
            Kind::Jack | Kind::Speaker => false,
            Kind::Tube => part.legs.iter().any(|l| l.net == Some(touched.net) && !l.name.ends_with("grid")),
            _ => far.any(|volts| volts > 0.99 * here),
        }
    };
    let on = circuit.parts_on(touched.net);
    let mut joiners: BTreeSet<PartId> = on.iter().copied().filter(brings).collect();
    if joiners.is_empty() {
        joiners = on.into_iter().filter(|id| circuit.part(*id).kind == Kind::Jack).collect();
    }
    (amps > SAFE_AMPS.1).then(|| Hazard {
        route: Route::Warm,
        touched: touched.clone(),
        other: Some(other.clone()),
        volts,
        amps,
        state: solved.told(),
        by_class_y: false,
        carriers: joiners.clone(),
        joiners,
    })
}

/// Ohms between two nodes about an operating point.
fn differential(network: &Network, point: &OperatingPoint, (a, b): (Node, Node)) -> Option<f64> {
    let mut equations = Linearised::open(network, point, Drive::Sources).ok()?;
    equations.tune(0.0).ok()?;
    equations.inject(&[(a, 1.0), (b, -1.0)]).ok()?;
    equations.phasor_between(a, b).map(|ohms| ohms.re.max(0.0))
}
