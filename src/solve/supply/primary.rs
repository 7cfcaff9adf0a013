//! What reaches the transformers' primaries: mains volts in a condition, over the part of the winding that the inlet
//! is joined to.

use std::collections::BTreeMap;

use petgraph::unionfind::UnionFind;

use super::mesh::Feed;
use crate::circuit::{Circuit, PartId};
use crate::solve::condition::Setup;
use crate::solve::elements::winding_points;
use crate::solve::lower::Lowered;
use crate::solve::network::{Law, Node};
use crate::syntax::tree::Kind;

/// Mains frequency where none is stated.
pub(super) const USUAL_HERTZ: f64 = 50.0;
/// Volts of a primary of which nothing is known; only ratios to it matter then.
const USUAL_VOLTS: f64 = 230.0;
/// Resistances in the mains leads up to this pass the mains on: thermistors, chokes, a lamp for a first power-up.
const LEAD_OHMS: f64 = 1e3;

/// The feed of each mains transformer in order of parts; for each winding section its transformer's index and its
/// share of the primary's volts; and what was assumed.
pub(super) fn feeds(
    circuit: &Circuit,
    setup: &Setup,
    lowered: &Lowered,
) -> (Vec<Feed>, Vec<(usize, f64)>, Vec<String>) {
    let mut index: BTreeMap<PartId, usize> = lowered.windings.iter().map(|s| (s.part, 0)).collect();
    index.values_mut().enumerate().for_each(|(at, value)| *value = at);
    let mut assumed = assumptions(circuit, setup);
    let joined = Joined::new(circuit, lowered);
    let mut feeds = Vec::new();
    let mut primary_volts = Vec::new();
    for part in index.keys() {
        let primary = primary(circuit, *part);
        let nominal = primary.map(|p| p.volts);
        let mains = circuit.mains.map(|mains| mains.volts).or(nominal).unwrap_or(USUAL_VOLTS);
        let across = match joined.primary_volts(circuit, *part) {
            Some(volts) => volts,
            None => nominal.unwrap_or(mains),
        };
        let name = &circuit.part(*part).name;
        let share = if across > 0.0 {
            setup.mains_share
        } else {
            assumed.push(format!(
                "{name}: its primary is not joined to both poles of the inlet, so it has no mains"
            ));
            0.0
        };
        // Taps choose how many of the primary's turns the mains is across.
        let volts = if across > 0.0 { across } else { mains };
        let turns = nominal.unwrap_or(mains);
        let ohms = primary.and_then(|p| p.ohms).unwrap_or(0.0) * volts / turns;
        feeds.push(Feed { peak_volts: mains * share * std::f64::consts::SQRT_2, ohms, direct_amps: 0.0 });
        primary_volts.push(volts);
    }
    let shares = lowered.windings.iter().map(|section| {
        let at = index.get(&section.part).copied().unwrap_or_default();
        (at, section.volts / primary_volts[at])
    });
    (feeds, shares.collect(), assumed)
}

fn primary(circuit: &Circuit, part: PartId) -> Option<&crate::circuit::Winding> {
    circuit.part(part).component.body.windings.iter().find(|winding| winding.name.starts_with("primary"))
}

fn assumptions(circuit: &Circuit, setup: &Setup) -> Vec<String> {
    let mut assumed = Vec::new();
    match circuit.mains {
        None => assumed
            .push(format!("mains not stated: windings at their stated volts and {USUAL_HERTZ} Hz assumed")),
        Some(mains) if mains.hertz.is_none() => {
            assumed.push(format!("mains frequency not stated, {USUAL_HERTZ} Hz assumed"));
        }
        Some(_) => {}
    }
    if setup.mains_share != 1.0 && setup.limits_assumed {
        assumed.push("mains limits not stated, ±10 % assumed".to_owned());
    }
    assumed
}

/// What is joined to what on the way from the inlet.
struct Joined {
    groups: Vec<Node>,
    live: Vec<Node>,
    neutral: Vec<Node>,
    node_of: Vec<Option<Node>>,
}

impl Joined {
    fn new(circuit: &Circuit, lowered: &Lowered) -> Self {
        let network = &lowered.network;
        let mut union = UnionFind::<Node>::new(network.nodes.len());
        let sections: Vec<usize> = lowered.windings.iter().map(|section| section.element).collect();
        for (index, element) in network.elements.iter().enumerate() {
            match element.law {
                // The chassis too: a pole bonded to it feeds the primary all the same.
                Law::Resistor { a, b, ohms } | Law::Inductor { a, b, ohms, .. }
                    if ohms < LEAD_OHMS && !sections.contains(&index) =>
                {
                    union.union(a, b);
                }
                _ => {}
            }
        }
        let groups = union.into_labeling();
        let ends = |leg: &str| {
            let inlets = circuit.part_ids().filter(|id| circuit.part(*id).kind == Kind::Inlet);
            let nets = inlets.filter_map(|id| circuit.leg_net(id, leg));
            nets.filter_map(|net| Some(groups[lowered.node_of[net.0 as usize]?])).collect::<Vec<Node>>()
        };
        Self { live: ends("live"), neutral: ends("neutral"), node_of: lowered.node_of.clone(), groups }
    }

    /// The volts, as marked on the primary, between the points that live and neutral reach; `None` where there is no
    /// inlet or no primary with legs in nets to judge by, 0 where one of the poles does not reach it.
    fn primary_volts(&self, circuit: &Circuit, part: PartId) -> Option<f64> {
        let winding = primary(circuit, part)?;
        if self.live.is_empty() || self.neutral.is_empty() {
            return None;
        }
        let points = winding_points(circuit.part(part), winding);
        let group = |leg: usize| {
            let net = circuit.part(part).legs[leg].net?;
            self.node_of[net.0 as usize].map(|node| self.groups[node])
        };
        if points.iter().all(|(_, leg)| group(*leg).is_none()) {
            return None;
        }
        let at = |poles: &[Node]| {
            let reached = points.iter().filter(|(_, leg)| group(*leg).is_some_and(|g| poles.contains(&g)));
            reached.map(|(volts, _)| *volts).collect::<Vec<f64>>()
        };
        let (live, neutral) = (at(&self.live), at(&self.neutral));
        match (live.first(), neutral.first()) {
            (Some(live), Some(neutral)) => Some((live - neutral).abs()),
            _ => Some(0.0),
        }
    }
}
