//! What reaches the transformers' primaries: mains volts in a condition, over the part of the winding that the inlet
//! is joined to.

use std::collections::BTreeMap;

use petgraph::unionfind::UnionFind;

use crate::circuit::{Circuit, PartId};
use crate::model::Kind;
use crate::numeric::network::{Law, Node};
use crate::numeric::time::rectifier::mesh::Feed;
use crate::solve::lower::Lowered;
use crate::solve::lower::elements::winding_points;
use crate::solve::setup::Setup;

/// Mains frequency where none is stated.
pub(super) const USUAL_HERTZ: f64 = 50.0;
/// Volts of a primary of which nothing is known; only ratios to it matter then.
const USUAL_VOLTS: f64 = 230.0;
/// Marked volts that differ by less are the same.
const SAME_VOLTS: f64 = 1e-3;
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
        let Across { volts: across, side_by_side } = joined
            .across(circuit, *part)
            .unwrap_or(Across { volts: nominal.unwrap_or(mains), side_by_side: 1.0 });
        let name = &circuit.part(*part).name;
        let share = if across > 0.0 {
            setup.mains_share
        } else {
            assumed.push(format!(
                "{name}: its primaries are not joined to both poles of the inlet one behind the other or side by side, so \
                 it has no mains"
            ));
            0.0
        };
        // Taps choose how many of the primary's turns the mains is across.
        let volts = if across > 0.0 { across } else { mains };
        let turns = nominal.unwrap_or(mains);
        // Ohms go with the share of the turns in use, and side by side two windings halve them.
        let ohms = primary.and_then(|p| p.ohms).unwrap_or(0.0) * volts / (turns * side_by_side);
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

    /// The volts, as marked on the primaries, between the points that live and neutral reach, by whatever lies one behind
    /// the other or side by side; `None` where there is no inlet or no primary with legs in nets to judge by, 0 where
    /// one of the poles does not reach them, or where they work against each other.
    fn across(&self, circuit: &Circuit, part: PartId) -> Option<Across> {
        if self.live.is_empty() || self.neutral.is_empty() {
            return None;
        }
        let this = circuit.part(part);
        let windings = this.component.body.windings.iter().filter(|w| w.name.starts_with("primary"));
        let group = |leg: usize| {
            let node = self.node_of[this.legs[leg].net?.0 as usize]?;
            Some(self.groups[node])
        };
        let placed = |winding| -> Vec<(f64, Node)> {
            let points = winding_points(this, winding).into_iter();
            points.filter_map(|(volts, leg)| Some((volts, group(leg)?))).collect()
        };
        let mut left: Vec<Vec<(f64, Node)>> =
            windings.map(placed).filter(|points| !points.is_empty()).collect();
        if left.is_empty() {
            return None;
        }
        // Volts are laid on from the live pole, winding by winding, as one would with a meter and the marks on the
        // transformer.
        let mut at: BTreeMap<Node, f64> = self.live.iter().map(|group| (*group, 0.0)).collect();
        let mut spans: Vec<(f64, f64)> = Vec::new();
        let known = |at: &BTreeMap<Node, f64>, points: &[(f64, Node)]| {
            points.iter().find_map(|(volts, group)| Some(at.get(group)? - volts))
        };
        while let Some(next) = left.iter().position(|points| known(&at, points).is_some()) {
            let points = left.swap_remove(next);
            let start = known(&at, &points).unwrap_or(0.0);
            for (volts, group) in &points {
                let here = *at.entry(*group).or_insert(start + volts);
                // Two ways to one point with other volts: windings in opposition, a short for the mains.
                if (here - start - volts).abs() > SAME_VOLTS {
                    return Some(Across { volts: 0.0, side_by_side: 1.0 });
                }
            }
            let all = points.iter().map(|(volts, _)| start + volts);
            spans.push((all.clone().fold(f64::INFINITY, f64::min), all.fold(f64::NEG_INFINITY, f64::max)));
        }
        let neutral = self.neutral.iter().find_map(|group| at.get(group)).copied().unwrap_or(0.0);
        // Only what of a winding lies between the poles carries the mains: an autotransformer's overhang does not.
        let (low, high) = (neutral.min(0.0), neutral.max(0.0));
        let used = spans.iter().map(|(from, to)| (to.min(high) - from.max(low)).max(0.0));
        let volts = neutral.abs();
        let side_by_side = if volts > 0.0 { used.sum::<f64>() / volts } else { 1.0 };
        Some(Across { volts, side_by_side: side_by_side.max(1.0) })
    }
}

/// What lies between live and neutral.
struct Across {
    /// Volts as marked.
    volts: f64,
    /// How many windings lie side by side.
    side_by_side: f64,
}
