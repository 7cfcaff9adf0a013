//! The worst current through a body, in every situation.
//!
//! ```text
//! 47 nF from live to chassis, 230 V 50 Hz, no earth, a hand on the chassis:
//! open      230 V on the chassis: nothing else draws
//! behind    1 / (2π·50·47 nF) = 67.7 kΩ reactance; with a body of 1 kΩ across it, in quadrature, still 67.7 kΩ
//! flows     230 / 67.7 kΩ = 3.4 mA rms, 4.8 mA peak: over 0.7 mA, told
//! ```

use std::collections::BTreeSet;
use std::f64::consts::SQRT_2;

use num_complex::Complex64;

use super::rig::{Rig, mains_rig, peak_rig, swing_rig, winding_rig};
use super::situation::{Situation, Supply};
use super::{BODY_OHMS, Route, SAFE_AMPS, SAFE_VOLTS, Touchable, Unjudged, swing, unknown};
use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::model::Kind;
use crate::numeric::ac::linearised::{Drive, Linearised};
use crate::numeric::dc::solver::operating_point;
use crate::numeric::network::{Law, Network, Node};
use crate::numeric::outcome::Unsolved;

/// A case is told instead of one before it when it is worse by more than this: the plain one is told first.
pub(super) const WORSE: f64 = 1.001;

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
    /// These two alone are touched: the first, and what else (`None`: earth).
    pub only: Option<(usize, Option<usize>)>,
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
        self.plain_rig(route, situation, Supply::ALL[0]).joined(route)
    }

    /// The network by which parts join what drives a route to what hands reach.
    pub(super) fn plain_rig(&self, route: Route, situation: &Situation, supply: Supply) -> Rig {
        match route {
            Route::Mains => self.mains(situation, supply),
            Route::Winding => winding_rig(self.circuit, situation, &self.removed, self.reach),
            Route::Swing => swing_rig(self.circuit, situation, &self.removed, self.reach),
            Route::Cold | Route::Warm | Route::Charge => {
                peak_rig(self.circuit, situation, true, &self.removed, self.reach)
            }
        }
    }

    /// Every network of a route in one situation.
    fn rigs(&self, route: Route, situation: &Situation) -> Result<Vec<(Option<Supply>, Rig)>, Unsolved> {
        Ok(match route {
            // Most situations join nothing: asked once by walking before four networks are factored.
            Route::Mains if !self.joined(route, situation) => Vec::new(),
            Route::Mains => Supply::ALL.map(|supply| (Some(supply), self.mains(situation, supply))).into(),
            Route::Winding => vec![(None, self.plain_rig(route, situation, Supply::ALL[0]))],
            Route::Swing => swing::rigs(self, situation)?.into_iter().map(|rig| (None, rig)).collect(),
            // Each half wave: a half-wave rectifier makes volts at one of them only.
            Route::Cold | Route::Warm | Route::Charge => [true, false]
                .map(|rising| (None, peak_rig(self.circuit, situation, rising, &self.removed, self.reach)))
                .into(),
        })
    }

    /// The worst on a route in one situation.
    pub(super) fn worst_in(&self, route: Route, situation: &Situation) -> Sought {
        let mut sought = Sought::default();
        let unjudged = |why: Unsolved| {
            let state = situation.told(self.circuit).join(", ");
            Unjudged { route, state, why: why.to_string() }
        };
        let rigs = self.rigs(route, situation).unwrap_or_else(|why| {
            sought.unjudged.push(unjudged(why));
            Vec::new()
        });
        for (supply, rig) in rigs.into_iter().filter(|(_, rig)| rig.joined(route)) {
            let flows = flows(&rig, route, &self.unprotected(&rig, route)).unwrap_or_else(|why| {
                sought.unjudged.push(unjudged(why));
                Vec::new()
            });
            let asked = |touched, other| self.only.is_none_or(|only| only == (touched, other));
            for (touched, other, flow) in flows.into_iter().filter(|(t, o, _)| asked(*t, *o)) {
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

    /// For each thing within reach whether a part that isn't made for it joins the mains to it: any but a capacitor of class
    /// Y, and such a one to anything but the chassis. What it passes while it is sound tells nothing of when it isn't.
    pub(super) fn unprotected(&self, rig: &Rig, route: Route) -> Vec<bool> {
        if route != Route::Mains {
            return vec![false; rig.reach.len()];
        }
        let fitted = |element: usize| !rig.insulation.contains(&element);
        let made = |element: usize| {
            rig.part_of[element].is_some_and(|id| unknown::is_class_y(self.circuit.part(id)))
        };
        // A class Y capacitor is made to lead to the chassis and to nothing else.
        let to_chassis = rig.groups_over(route, &[], |element| fitted(element) && !made(element));
        let apart = rig.groups_over(route, &[rig.chassis()], fitted);
        let joined = |node: &Option<Node>| {
            let groups = if *node == Some(rig.chassis()) { &to_chassis } else { &apart };
            node.is_some_and(|node| rig.live.iter().any(|live| groups[*live] == groups[node]))
        };
        rig.reach.iter().map(joined).collect()
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

    /// The highest volts DC that rectifiers and sources make anywhere, valves cold; off the high windings, as one that is
    /// cut off hangs on its rectifier with all its volts.
    pub(super) fn highest_volts(&self, situation: &Situation) -> Result<f64, Unsolved> {
        let off = |net: &NetId| !self.circuit.net(*net).legs.iter().any(|leg| self.at_a_high_winding(*leg));
        let nets: Vec<NetId> = self.circuit.net_ids().filter(off).collect();
        let mut highest: f64 = 0.0;
        for rising in [true, false] {
            let rig = peak_rig(self.circuit, situation, rising, &self.removed, self.reach);
            let point = operating_point(&rig.network)?;
            let nodes = nets.iter().filter_map(|net| rig.node_of[net.0 as usize]);
            let volts = nodes.filter_map(|node| point.volts(node));
            highest = volts.map(f64::abs).fold(highest, f64::max);
        }
        Ok(highest)
    }

    fn at_a_high_winding(&self, leg: LegId) -> bool {
        let part = self.circuit.part(leg.part);
        let of = part.legs[leg.leg as usize].name.split('.').next().unwrap_or_default();
        let high = |w: &crate::circuit::Winding| w.name == of && SQRT_2 * w.volts > SAFE_VOLTS.0;
        self.is_mains(leg.part) && part.component.body.windings.iter().any(high)
    }

    fn is_mains(&self, part: PartId) -> bool {
        self.circuit.part(part).kind == Kind::MainsTransformer
    }
}

/// Every pair that is not harmless, peak or DC: what is touched, what else (`None`: earth), and what flows. Of what is
/// unprotected all that flows to earth counts.
fn flows(rig: &Rig, route: Route, unprotected: &[bool]) -> Result<Vec<Flowing>, Unsolved> {
    let nodes: Vec<(usize, Node)> =
        rig.reach.iter().enumerate().filter_map(|(i, node)| Some((i, (*node)?))).collect();
    let mut pairs = Vec::new();
    for (at, (i, a)) in nodes.iter().enumerate() {
        if route == Route::Mains {
            // Earth is a person's other hand only where the mains is: no other route comes back by it.
            pairs.push((*i, None, (*a, 0)));
        }
        pairs.extend(nodes[..at].iter().map(|(j, b)| (*i, Some(*j), (*a, *b))));
    }
    match route {
        Route::Mains | Route::Winding | Route::Swing => alternating(rig, &pairs, unprotected),
        Route::Cold | Route::Warm | Route::Charge => direct(&rig.network, &pairs),
    }
}

/// Things within reach, and their nodes.
type Pair = (usize, Option<usize>, (Node, Node));
/// The same, and what flows between them.
type Flowing = (usize, Option<usize>, Flow);

fn alternating(rig: &Rig, pairs: &[Pair], unprotected: &[bool]) -> Result<Vec<Flowing>, Unsolved> {
    let counts = |(touched, other, _): &Pair| other.is_none() && unprotected[*touched];
    let mut equations = Linearised::passive(&rig.network, Drive::Sources)?;
    equations.tune(rig.hertz)?;
    equations.excite()?;
    let open: Vec<(&Pair, Complex64)> = pairs
        .iter()
        .filter_map(|pair| Some((pair, equations.phasor_between(pair.2.0, pair.2.1)?)))
        // A case is told where volts and current both pass their limits: below the volts no body is solved for.
        .filter(|(pair, open)| SQRT_2 * open.norm() > SAFE_VOLTS.0 || counts(pair))
        .collect();
    let mut found = Vec::new();
    for (pair, open) in open {
        let flow = behind(&mut equations, pair.2, open, BODY_OHMS)?;
        let peak = Flow { volts: SQRT_2 * flow.volts, amps: SQRT_2 * flow.amps };
        // Where the mains is joined to hands by a part that was not made for it, the current while it is sound is no
        // comfort.
        if peak.amps > if counts(pair) { 0.0 } else { SAFE_AMPS.0 } {
            found.push((pair.0, pair.1, peak));
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
        // First the cheap question: a body is a solve of its own for each pair.
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
