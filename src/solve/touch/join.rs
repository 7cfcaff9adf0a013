//! Which part it is that brings the mains or the high tension within reach.

use std::collections::BTreeSet;

use super::evaluate::{Found, Question};
use super::rig::Rig;
use super::situation::{Situation, Supply};
use super::{CLASS_Y_AMPS, Hazard, Route, Unjudged, assumed, assumed_mains, unknown, within_reach};
use crate::circuit::{CHASSIS, Circuit, NetId, Part, PartId};
use crate::model::Kind;
use crate::numeric::network::Node;

/// Hazards that several parts make apart from each other are looked for so often.
const MOST_HAZARDS: usize = 8;

/// Hazards on every route that needs no operating point; those that parts of unknown value make after those that are
/// there in any case.
pub(super) fn hazards(circuit: &Circuit) -> (Vec<Hazard>, Vec<Unjudged>) {
    let (mut hazards, mut unjudged) = (Vec::new(), Vec::new());
    let unknown = unknown::parts(circuit);
    for route in [Route::Mains, Route::Winding, Route::Cold, Route::Swing] {
        let (known, why) = on_route(circuit, route);
        hazards.extend(known);
        unjudged.extend(why);
        if !unknown.is_empty() {
            let (worst, why) = on_route(&unknown::at_worst(circuit, &unknown, route), route);
            unjudged.extend(why);
            hazards.extend(worst.into_iter().filter_map(|hazard| hazard.resting_on(circuit, &unknown)));
        }
    }
    (hazards, unjudged)
}

/// Hazards on one route. Once the parts of one are known it is asked again without them, so that each of several is
/// told.
fn on_route(circuit: &Circuit, route: Route) -> (Vec<Hazard>, Vec<Unjudged>) {
    let reach = within_reach(circuit);
    let mut question = Question { circuit, reach: &reach, removed: BTreeSet::new(), only: None };
    let (mut hazards, mut unjudged) = (Vec::new(), Vec::new());
    for turn in 0.. {
        let sought = question.worst(route);
        unjudged.extend(sought.unjudged);
        let Some(found) = sought.worst else { break };
        if turn == MOST_HAZARDS {
            let why = format!("more than {MOST_HAZARDS} joins: mend those that are told, and look again");
            unjudged.push(Unjudged { route, state: String::new(), why });
            break;
        }
        let (carriers, joiners) = question.join(&found);
        let alone = carriers.is_empty();
        question.removed.extend(&carriers);
        hazards.push(question.hazard(&found, carriers, joiners));
        if alone {
            break;
        }
    }
    (hazards, unjudged)
}

impl Hazard {
    /// The same, made by parts of unknown value; `None` where none of them carries it.
    fn resting_on(mut self, circuit: &Circuit, unknown: &BTreeSet<PartId>) -> Option<Hazard> {
        self.unknown = self.carriers.intersection(unknown).copied().collect();
        self.assumed = assumed(circuit, &self);
        (!self.unknown.is_empty()).then_some(self)
    }
}

/// Parts that join a primary, or a mains conductor, to another winding otherwise than by the chassis; where a net does,
/// the transformer.
pub fn primary_joiners(circuit: &Circuit) -> BTreeSet<PartId> {
    let question = Question { circuit, reach: &[], removed: BTreeSet::new(), only: None };
    let joined = |situation: &Situation, removed: &[PartId]| {
        let mut without = question.clone();
        without.removed.extend(removed);
        let rig = without.mains(situation, Supply::ALL[0]);
        let groups = rig.groups(Route::Mains, &[rig.chassis()]);
        let live: BTreeSet<usize> = rig.live.iter().map(|node| groups[*node]).collect();
        let met: Vec<Node> = rig
            .secondary
            .iter()
            .copied()
            .filter(|node| *node != rig.chassis() && live.contains(&groups[*node]))
            .collect();
        (!met.is_empty()).then(|| parts_at(&rig, |node| live.contains(&groups[node])))
    };
    for situation in Situation::all(circuit).into_iter().filter(|s| !s.plugged) {
        let Some(on_the_way) = joined(&situation, &[]) else { continue };
        let carries = |id: &PartId| may_join(circuit.part(*id)) && joined(&situation, &[*id]).is_none();
        let carriers: BTreeSet<PartId> = on_the_way.into_iter().filter(carries).collect();
        let found = Found {
            route: Route::Mains,
            touched: 0,
            other: None,
            volts: 0.0,
            amps: 0.0,
            situation,
            supply: None,
        };
        let carriers = question.without_those_that_feed(&found, carriers);
        if carriers.is_empty() {
            return circuit
                .part_ids()
                .filter(|id| circuit.part(*id).kind == Kind::MainsTransformer)
                .collect();
        }
        return question.nearest(&found, &carriers);
    }
    BTreeSet::new()
}

impl Question<'_> {
    fn hazard(&self, found: &Found, carriers: BTreeSet<PartId>, joiners: BTreeSet<PartId>) -> Hazard {
        let mut state = match found.supply {
            Some(Supply { earth: false, .. }) => vec!["the earth lost".to_owned()],
            _ => Vec::new(),
        };
        if found.supply.is_some_and(|s| s.exchanged) {
            state.push("line and neutral exchanged".into());
        }
        state.extend(found.situation.told(self.circuit));
        let whole = Question { removed: &self.removed - &carriers, ..self.clone() };
        Hazard {
            route: found.route,
            touched: self.reach[found.touched].clone(),
            other: found.other.map(|other| self.reach[other].clone()),
            volts: found.volts,
            amps: found.amps,
            joules: 0.0,
            state: state.join(", "),
            assumed: assumed_mains(self.circuit, found.route),
            by_class_y: whole.by_class_y(found),
            unknown: BTreeSet::new(),
            carriers,
            joiners,
        }
    }

    /// Whether what flows is what class Y capacitors of an earthed amplifier may pass with its earth lost.
    fn by_class_y(&self, found: &Found) -> bool {
        let circuit = self.circuit;
        let class_two = circuit.insulation.as_ref().is_some_and(|i| i.value == "class-II");
        let little = found.amps <= std::f64::consts::SQRT_2 * CLASS_Y_AMPS;
        if class_two || !little || found.route != Route::Mains || found.supply.is_none_or(|s| s.earth) {
            return false;
        }
        if self.unprotected(&self.rig(found), Route::Mains)[found.touched] {
            return false;
        }
        let safety = circuit.part_ids().filter(|id| unknown::is_class_y(circuit.part(*id)));
        let mut without = self.clone();
        without.removed.extend(safety);
        without.removed != self.removed && without.worst_in(Route::Mains, &found.situation).is_harmless()
    }

    /// The parts without any one of which nothing would flow, and of these the ones that make the join.
    fn join(&self, found: &Found) -> (BTreeSet<PartId>, BTreeSet<PartId>) {
        let rig = self.rig(found);
        let reach: Vec<Node> = rig.reach.iter().flatten().copied().collect();
        let groups = rig.groups(found.route, &reach);
        let live: BTreeSet<usize> = rig.live.iter().map(|node| groups[*node]).collect();
        let on_the_way = parts_at(&rig, |node| live.contains(&groups[node]));
        let able: Vec<PartId> =
            on_the_way.into_iter().filter(|id| may_join(self.circuit.part(*id))).collect();
        let mut carriers: BTreeSet<PartId> =
            able.iter().copied().filter(|id| self.clears(found, &[*id])).collect();
        carriers = self.without_those_that_feed(found, carriers);
        if carriers.is_empty() {
            carriers = self.side_by_side(found, &able);
        }
        let shared = found.route != Route::Mains && self.shares_a_net(found);
        let alone = carriers.is_empty() || shared;
        let joiners = if alone { self.sharers(found) } else { self.nearest(found, &carriers) };
        (carriers, joiners)
    }

    fn rig(&self, found: &Found) -> Rig {
        self.plain_rig(found.route, &found.situation, found.supply.unwrap_or(Supply::ALL[0]))
    }

    /// Whether nothing flows there without some parts, whatever flows elsewhere.
    fn clears(&self, found: &Found, parts: &[PartId]) -> bool {
        let mut without = self.clone();
        without.removed.extend(parts);
        without.only = Some((found.touched, found.other));
        without.worst_in(found.route, &found.situation).is_harmless()
    }

    /// A fuse, a switch or a rectifier on the way of the whole supply is passed by whatever comes after it; it joins nothing
    /// by itself. Where that can't be worked out the part stays to blame.
    fn without_those_that_feed(&self, found: &Found, carriers: BTreeSet<PartId>) -> BTreeSet<PartId> {
        let supplied = |question: &Question<'_>| match found.route {
            Route::Mains => question.primary_volts(&found.situation),
            _ => question.highest_volts(&found.situation),
        };
        let Ok(whole) = supplied(self) else { return carriers };
        let feeds = |id: &PartId| {
            let mut without = self.clone();
            without.removed.insert(*id);
            supplied(&without).is_ok_and(|volts| volts < 0.5 * whole)
        };
        let others: BTreeSet<PartId> = carriers.iter().copied().filter(|id| !feeds(id)).collect();
        if others.is_empty() && found.route == Route::Mains { carriers } else { others }
    }

    /// Whether what is touched is itself where high tension belongs: a rail, a winding, a valve's plate or cathode.
    fn shares_a_net(&self, found: &Found) -> bool {
        let belongs = |part: &Part, leg: &str| match part.kind {
            Kind::MainsTransformer | Kind::Source | Kind::Bridge => true,
            Kind::Tube => !leg.ends_with("grid") && !leg.contains("heater"),
            _ => false,
        };
        self.touched_nets(found).into_iter().filter(|net| *net != CHASSIS).any(|net| {
            let here = self.circuit.net(net);
            let leg = |l: &crate::circuit::LegId| {
                let part = self.circuit.part(l.part);
                belongs(part, &part.legs[l.leg as usize].name)
            };
            here.declared.as_ref().is_some_and(|d| d.rail) || here.legs.iter().any(leg)
        })
    }

    /// Parts each of which is enough: nothing flows without all of them.
    fn side_by_side(&self, found: &Found, able: &[PartId]) -> BTreeSet<PartId> {
        let ends: Vec<NetId> = self.touched_nets(found);
        let at = |id: &&PartId| {
            self.circuit.part(**id).legs.iter().any(|l| l.net.is_some_and(|n| ends.contains(&n)))
        };
        let direct: Vec<PartId> = able.iter().filter(at).copied().collect();
        if direct.is_empty() || !self.clears(found, &direct) {
            return BTreeSet::new();
        }
        let enough = |id: &&PartId| {
            let others: Vec<PartId> = direct.iter().copied().filter(|other| other != *id).collect();
            !self.clears(found, &others)
        };
        direct.iter().filter(enough).copied().collect()
    }

    fn touched_nets(&self, found: &Found) -> Vec<NetId> {
        std::iter::once(found.touched).chain(found.other).map(|i| self.reach[i].net).collect()
    }

    /// Where no part makes the join, a net does: what feeds it, and whose leg is touched.
    fn sharers(&self, found: &Found) -> BTreeSet<PartId> {
        let mut nets = self.touched_nets(found);
        nets.retain(|net| found.route == Route::Mains || *net != CHASSIS);
        let on = |kinds: &[Kind]| -> BTreeSet<PartId> {
            let parts = nets.iter().flat_map(|net| self.circuit.parts_on(*net));
            parts.filter(|id| kinds.contains(&self.circuit.part(*id).kind)).collect()
        };
        let feeding = on(&[Kind::Inlet, Kind::MainsTransformer]);
        if found.route == Route::Mains && !feeding.is_empty() {
            feeding
        } else {
            on(&[Kind::Jack, Kind::Speaker])
        }
    }

    /// Of parts one behind the other those next to the mains, or to what is touched, with what hangs on them alone.
    fn nearest(&self, found: &Found, carriers: &BTreeSet<PartId>) -> BTreeSet<PartId> {
        let nets: BTreeSet<NetId> = if found.route == Route::Mains {
            self.mains_nets(found, carriers)
        } else {
            self.touched_nets(found).into_iter().filter(|net| *net != CHASSIS).collect()
        };
        let legs = |id: PartId| self.circuit.part(id).legs.iter().filter_map(|leg| leg.net);
        let mut near: BTreeSet<PartId> =
            carriers.iter().copied().filter(|id| legs(*id).any(|net| nets.contains(&net))).collect();
        if near.is_empty() {
            return carriers.clone();
        }
        loop {
            let between: BTreeSet<NetId> = near
                .iter()
                .flat_map(|id| legs(*id))
                .filter(|net| self.circuit.net(*net).legs.len() == 2)
                .collect();
            let next = carriers.iter().copied().filter(|id| legs(*id).any(|net| between.contains(&net)));
            let before = near.len();
            near = near.iter().copied().chain(next).collect();
            if near.len() == before {
                return near;
            }
        }
    }

    /// Nets of the mains conductors with the carriers out.
    fn mains_nets(&self, found: &Found, carriers: &BTreeSet<PartId>) -> BTreeSet<NetId> {
        let mut without = self.clone();
        without.removed.extend(carriers);
        let rig = without.mains(&found.situation, Supply::ALL[0]);
        let reach: Vec<Node> = rig.reach.iter().flatten().copied().collect();
        let groups = rig.groups(Route::Mains, &reach);
        let live: BTreeSet<usize> = rig.live.iter().map(|node| groups[*node]).collect();
        let on = |net: &NetId| rig.node_of[net.0 as usize].is_some_and(|node| live.contains(&groups[node]));
        self.circuit.net_ids().filter(on).collect()
    }
}

/// Parts with an end at a node that is asked for.
fn parts_at(rig: &Rig, at: impl Fn(Node) -> bool) -> BTreeSet<PartId> {
    let elements = rig.network.elements.iter().zip(&rig.part_of);
    elements.filter(|(e, _)| e.law.terminals().into_iter().any(&at)).filter_map(|(_, part)| *part).collect()
}

/// Whether a part can be to blame: not what the mains comes in by, nor what is touched.
fn may_join(part: &Part) -> bool {
    !matches!(part.kind, Kind::Inlet | Kind::MainsTransformer | Kind::Source | Kind::Jack | Kind::Speaker)
}
