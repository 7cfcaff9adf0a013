//! The worst current through a body, in every situation.

use std::collections::BTreeSet;
use std::f64::consts::SQRT_2;

use num_complex::Complex64;

use super::rig::{Rig, mains_rig, peak_rig, winding_rig};
use super::situation::{Situation, Supply};
use super::{
    BODY_OHMS, Hazard, Route, SAFE_AMPS, SAFE_VOLTS, Touchable, Unjudged, assumed_mains, within_reach,
};
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

/// The worst of some cases, and those of them that could not be worked out.
#[derive(Debug, Clone, Default)]
pub(super) struct Sought {
    pub worst: Option<Found>,
    pub unjudged: Vec<Unjudged>,
}

impl Sought {
    /// Whether every case was worked out and is harmless.
    pub(super) fn is_harmless(&self) -> bool {
        self.worst.is_none() && self.unjudged.is_empty()
    }

    fn with(mut self, next: Sought) -> Sought {
        self.unjudged.extend(next.unjudged);
        next.worst.into_iter().for_each(|found| self.take(found));
        self
    }

    fn take(&mut self, found: Found) {
        if self.worst.as_ref().is_none_or(|worst| found.amps > WORSE * worst.amps) {
            self.worst = Some(found);
        }
    }
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
    // Nodes with volts between them are joined; were they not, nothing would stand in the current's way.
    let inner = equations.phasor_between(a, b).unwrap_or_default();
    Ok(Flow { volts: open.norm(), amps: (open / (inner + ohms)).norm() })
}

impl Question<'_> {
    /// The worst on a route, in every situation or in one.
    pub(super) fn worst(&self, route: Route) -> Sought {
        let mut all = Situation::all(self.circuit);
        // An end of a control's travel joins nothing that its track does not join already.
        let joined = all.iter().filter(|situation| self.joined(route, situation));
        let turned: Vec<Situation> = joined.flat_map(|s| s.ends_of_travel(self.circuit)).collect();
        all.extend(turned);
        all.iter().map(|situation| self.worst_in(route, situation)).fold(Sought::default(), Sought::with)
    }

    fn joined(&self, route: Route, situation: &Situation) -> bool {
        let rig = match route {
            Route::Mains => self.mains(situation, Supply::ALL[0]),
            Route::Winding => winding_rig(self.circuit, situation, &self.removed, self.reach),
            Route::Cold | Route::Warm => peak_rig(self.circuit, situation, true, &self.removed, self.reach),
        };
        rig.joined(route)
    }

    /// The worst on a route in one situation.
    pub(super) fn worst_in(&self, route: Route, situation: &Situation) -> Sought {
        let rigs: Vec<(Option<Supply>, Rig)> = match route {
            Route::Mains => {
                let first = self.mains(situation, Supply::ALL[0]);
                if !first.joined(route) {
                    return Sought::default();
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
        let mut sought = Sought::default();
        for (supply, rig) in rigs.into_iter().filter(|(_, rig)| rig.joined(route)) {
            let flows = flows(&rig, route).unwrap_or_else(|why| {
                let state = situation.told(self.circuit).join(", ");
                sought.unjudged.push(Unjudged { route, state, why: why.to_string() });
                Vec::new()
            });
            for (touched, other, flow) in flows {
                sought.take(Found {
                    route,
                    touched,
                    other,
                    volts: flow.volts,
                    amps: flow.amps,
                    situation: situation.clone(),
                    supply,
                });
            }
        }
        sought
    }

    pub(super) fn mains(&self, situation: &Situation, supply: Supply) -> Rig {
        mains_rig(self.circuit, situation, supply, &self.removed, self.reach)
    }

    /// Volts rms across the busiest primary, with the mains as wired.
    pub(super) fn primary_volts(&self, situation: &Situation) -> Result<f64, Unsolved> {
        let rig = self.mains(situation, Supply::ALL[0]);
        let mut equations = Linearised::passive(&rig.network, Drive::Sources)?;
        equations.tune(rig.hertz)?;
        equations.excite()?;
        let windings = rig.network.elements.iter().zip(&rig.part_of).filter_map(|(e, part)| match &e.law {
            Law::Windings { windings, .. } if part.is_some_and(|p| self.is_mains(p)) => Some(windings),
            _ => None,
        });
        let across = windings.flatten().filter_map(|w| equations.phasor_between(w.a, w.b));
        Ok(across.map(Complex64::norm).fold(0.0, f64::max))
    }

    /// The highest volts DC that rectifiers and sources make anywhere, valves cold.
    pub(super) fn highest_volts(&self, situation: &Situation) -> Result<f64, Unsolved> {
        let mut highest: f64 = 0.0;
        for rising in [true, false] {
            let rig = peak_rig(self.circuit, situation, rising, &self.removed, self.reach);
            let point = operating_point(&rig.network)?;
            let volts = rig.node_of.iter().flatten().filter_map(|node| point.volts(*node));
            highest = volts.map(f64::abs).fold(highest, f64::max);
        }
        Ok(highest)
    }

    fn is_mains(&self, part: PartId) -> bool {
        self.circuit.part(part).kind == Kind::MainsTransformer
    }
}

/// Every pair that is not harmless, peak or DC: what is touched, what else (`None`: earth), and what flows.
fn flows(rig: &Rig, route: Route) -> Result<Vec<Flowing>, Unsolved> {
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
        Route::Mains | Route::Winding => alternating(rig, &pairs),
        Route::Cold | Route::Warm => direct(&rig.network, &pairs),
    }
}

/// Things within reach, and their nodes.
type Pair = (usize, Option<usize>, (Node, Node));
/// The same, and what flows between them.
type Flowing = (usize, Option<usize>, Flow);

fn alternating(rig: &Rig, pairs: &[Pair]) -> Result<Vec<Flowing>, Unsolved> {
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
fn direct(network: &Network, pairs: &[Pair]) -> Result<Vec<Flowing>, Unsolved> {
    let point = operating_point(network)?;
    let mut found = Vec::new();
    for (touched, other, (a, b)) in pairs {
        // Nodes that no direct current reaches drive none.
        let Some(volts) = point.volts_between(*a, *b).map(f64::abs) else { continue };
        if volts <= SAFE_VOLTS.1 {
            continue;
        }
        let mut held = network.clone();
        let body = held.add("body", Law::Resistor { a: *a, b: *b, ohms: BODY_OHMS });
        let amps = operating_point(&held)?.amps(body)[0].abs();
        if amps > SAFE_AMPS.1 {
            found.push((*touched, *other, Flow { volts, amps }));
        }
    }
    Ok(found)
}

/// Current rms of a winding into what lies across it, valves and heaters aside, at the mains' high limit.
pub fn secondary_amps(circuit: &Circuit, part: PartId, winding: usize) -> Result<f64, Unsolved> {
    let rig = winding_rig(circuit, &Situation::default(), &BTreeSet::new(), &[]);
    let mut equations = Linearised::passive(&rig.network, Drive::Sources)?;
    equations.tune(rig.hertz)?;
    equations.excite()?;
    let of_winding = rig.emfs.iter().filter(|(p, w, _)| (*p, *w) == (part, winding));
    let amps = of_winding
        .filter_map(|(_, _, (a, b, ohms))| equations.phasor_between(*a, *b).map(|volts| volts.norm() / ohms));
    Ok(amps.fold(0.0, f64::max))
}

/// What reaches hands through valves that conduct, in every condition that has an operating point; `told` are nets of
/// which more is known.
pub(super) fn warm(
    circuit: &Circuit,
    set: &SolvedSet,
    told: &BTreeSet<NetId>,
) -> (Vec<Hazard>, Vec<Unjudged>) {
    let mut reach = within_reach(circuit);
    reach.retain(|touched| !told.contains(&touched.net));
    let node_of = lower(circuit, &Setup::idle()).node_of;
    let (mut worst, mut unjudged): (Option<Hazard>, Vec<Unjudged>) = (None, Vec::new());
    for solved in set.every().filter(|solved| solved.condition != Condition::ColdStart) {
        for (at, touched) in reach.iter().enumerate() {
            for other in &reach[..at] {
                match warm_pair(circuit, solved, &node_of, [touched, other]) {
                    Ok(Some(next)) if worst.as_ref().is_none_or(|w| next.amps > WORSE * w.amps) => {
                        worst = Some(next);
                    }
                    Ok(_) => {}
                    Err(why) => unjudged.push(Unjudged { route: Route::Warm, state: solved.told(), why }),
                }
            }
        }
    }
    (worst.into_iter().collect(), unjudged)
}

fn warm_pair(
    circuit: &Circuit,
    solved: &Solved,
    node_of: &[Option<Node>],
    [touched, other]: [&Touchable; 2],
) -> Result<Option<Hazard>, String> {
    let nets = [touched.net, other.net];
    let ([Some(here), Some(there)], [Some(a), Some(b)]) =
        (nets.map(|net| solved.net_volts(net)), nets.map(|net| node_of[net.0 as usize]))
    else {
        // No direct current reaches one of them.
        return Ok(None);
    };
    let volts = (here - there).abs();
    if volts <= SAFE_VOLTS.1 {
        return Ok(None);
    }
    let between = || format!("{} and {} stand {volts:.0} V apart", touched.name, other.name);
    let (network, _, point) = solved
        .windows
        .equations()
        .ok_or_else(|| format!("{}, and what would flow between them is unknown", between()))?;
    let ohms = differential(network, point, (a, b)).map_err(|why| format!("{}: {why}", between()))?;
    let amps = volts / (ohms + BODY_OHMS);
    if amps <= SAFE_AMPS.1 {
        return Ok(None);
    }
    let joiners = brought_by(circuit, solved, touched.net, here.abs());
    Ok(Some(Hazard {
        route: Route::Warm,
        touched: touched.clone(),
        other: Some(other.clone()),
        volts,
        amps,
        state: solved.told(),
        assumed: assumed_mains(circuit, Route::Warm),
        by_class_y: false,
        carriers: joiners.clone(),
        joiners,
    }))
}

/// Parts that bring volts to a net that is touched; where there are none, the jack that is.
fn brought_by(circuit: &Circuit, solved: &Solved, touched: NetId, here: f64) -> BTreeSet<PartId> {
    // A valve stands in the net itself; another part has its other leg where the volts come from.
    let brings = |id: &PartId| {
        let part = circuit.part(*id);
        let others = part.legs.iter().filter_map(|leg| leg.net).filter(|net| *net != touched);
        let mut far = others.filter_map(|net| solved.net_volts(net)).map(f64::abs);
        match part.kind {
            Kind::Jack | Kind::Speaker => false,
            Kind::Tube => part.legs.iter().any(|l| l.net == Some(touched) && !l.name.ends_with("grid")),
            _ => far.any(|volts| volts > 0.99 * here),
        }
    };
    let on = circuit.parts_on(touched);
    let joiners: BTreeSet<PartId> = on.iter().copied().filter(brings).collect();
    if joiners.is_empty() {
        return on.into_iter().filter(|id| circuit.part(*id).kind == Kind::Jack).collect();
    }
    joiners
}

/// Ohms between two nodes about an operating point; where nothing joins them nothing would stand in the current's way.
fn differential(network: &Network, point: &OperatingPoint, (a, b): (Node, Node)) -> Result<f64, Unsolved> {
    let mut equations = Linearised::open(network, point, Drive::Sources)?;
    equations.tune(0.0)?;
    equations.inject(&[(a, 1.0), (b, -1.0)])?;
    Ok(equations.phasor_between(a, b).map_or(0.0, |ohms| ohms.re.max(0.0)))
}
