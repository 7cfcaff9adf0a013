//! From the board to a [`Circuit`]: nets final and named.

use std::collections::BTreeMap;
use std::sync::Arc;

use petgraph::unionfind::UnionFind;

use super::board::Board;
use super::own_words::notes;
use super::part::{Leg, Part, State};
use super::target::measured_mains;
use super::types::Types;
use super::{Circuit, Heater, LegId, Net, NetId, PartId, natural, wound};
use crate::model::Kind;
use crate::source::{Problem, ProblemCode};
use crate::syntax::tree::{Place, Said, Statement};

/// What the top document says beyond the board.
pub(super) struct Top<'a> {
    pub kind: crate::model::DocumentKind,
    pub title: String,
    pub subtitle: Option<String>,
    pub statements: &'a [&'a Statement],
}

/// Makes the circuit that the board now stands for.
pub(super) fn snapshot(board: &Board, types: &Arc<Types>, top: &Top, problems: &mut Vec<Problem>) -> Circuit {
    let mut board = board.clone();
    name_contacts(&mut board, types, top.statements);
    let nets = final_nets(&board);
    let order = part_order(&board);
    let mut finished = Snapshot { net_of: nets.of, part_of: index(&order), board: &mut board, types };
    let mut parts: Vec<Part> = order.iter().map(|name| finished.part(name)).collect();
    for part in &mut parts {
        let contradicted = wound::settle(part);
        // A layer says nothing of windings: the spec's own place is told once.
        if top.kind == crate::model::DocumentKind::Stock {
            problems.extend(contradicted.iter().map(|name| too_near(name, part)));
        }
    }
    let parts: Vec<Arc<Part>> = parts.into_iter().map(Arc::new).collect();
    let windows = finished.windows(problems);
    let readings = finished.readings(top.statements, problems);
    let heaters = finished.heaters();
    let net_of = finished.net_of;
    let by_name = finished.part_of;
    let nets = with_legs(nets.list, &parts);
    Circuit {
        kind: top.kind,
        title: top.title.clone(),
        subtitle: top.subtitle.clone(),
        made: board.made,
        insulation: board.insulation.clone(),
        mains: board.mains,
        mains_measured: measured_mains(top.statements),
        heaters,
        drive: board.drive.as_ref().and_then(|(jack, behind)| Some((*by_name.get(jack)?, *behind))),
        windows,
        readings,
        notes: notes(top.statements),
        accepts: board.accepts.clone(),
        cuts: cuts(&board, &net_of),
        types: types.clone(),
        by_name: Arc::new(by_name),
        net_by_name: Arc::new(net_names(&nets)),
        parts: Arc::new(parts),
        nets: Arc::new(nets),
    }
}

/// A winding whose `unloaded` volts are too near to the loaded ones.
fn too_near(winding: &str, transformer: &Part) -> Problem {
    let words = format!("the primary's resistance alone takes {winding} lower than `unloaded` tells");
    Problem::notice(ProblemCode::WindingsDisagree, transformer.declared, words)
        .here("taken without resistance of its own")
        .help(
            "one of the three does not fit: its volts with and without load, its current, the primary's ohms",
        )
}

/// A jack's further contacts come to be by being named, in a window or a reading too. Places that are none are told
/// where they are looked up.
fn name_contacts(board: &mut Board, types: &Types, statements: &[&Statement]) {
    let mut places: Vec<Place> = board.windows.iter().map(|w| w.place.clone()).collect();
    for statement in statements {
        if let Said::Meter(said) = &statement.said {
            places.extend(std::iter::once(&said.place).chain(&said.to).cloned());
        }
    }
    for place in places {
        let _ = board.spot(&place, types);
    }
}

/// The board with its final nets, as windows and readings are looked up on it.
pub(super) struct Snapshot<'a> {
    pub(super) net_of: Vec<NetId>,
    pub(super) part_of: BTreeMap<String, PartId>,
    pub(super) board: &'a mut Board,
    pub(super) types: &'a Types,
}

struct FinalNets {
    /// Final net of each board net.
    of: Vec<NetId>,
    list: Vec<Net>,
}

/// Board nets joined by solder bridges become one; chassis comes first, then declared nets, then the others by name.
fn final_nets(board: &Board) -> FinalNets {
    let mut sets = UnionFind::<usize>::new(board.nets.len());
    for bridge in &board.bridges {
        sets.union(bridge.a, bridge.b);
    }
    let live = live_joints(board);
    let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for net in 0..board.nets.len() {
        groups.entry(sets.find(net)).or_default().push(net);
    }
    let mut named: Vec<(u8, String, Vec<usize>)> = groups
        .into_values()
        .filter(|group| {
            let kept = |net: &usize| {
                board.nets[*net].name.is_some() || board.nets[*net].joints.iter().any(|j| live[*j])
            };
            group.iter().any(kept)
        })
        .map(|group| {
            let (rank, name) = group_name(board, &group);
            (rank, name, group)
        })
        .collect();
    named.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| natural(&a.1, &b.1)));
    let mut of = vec![super::CHASSIS; board.nets.len()];
    let mut list = Vec::with_capacity(named.len());
    for (index, (_, name, group)) in named.into_iter().enumerate() {
        let declared = group.iter().find_map(|n| board.nets[*n].declared.clone());
        for net in &group {
            of[*net] = NetId(index as u32);
        }
        list.push(Net { name, declared, legs: Vec::new() });
    }
    FinalNets { of, list }
}

/// Joints that belong to a leg of a part on the board, or that one sits in. Those that an undone step left behind
/// are none.
fn live_joints(board: &Board) -> Vec<bool> {
    let mut live = vec![false; board.joints.len()];
    for owner in board.parts.values().filter(|p| p.part.state != State::Removed) {
        for leg in &owner.legs {
            live[leg.home] = true;
            if let Some(at) = leg.at {
                live[at] = true;
            }
        }
    }
    live
}

fn group_name(board: &Board, group: &[usize]) -> (u8, String) {
    if group.contains(&0) {
        return (0, "chassis".into());
    }
    let declared = group.iter().filter_map(|n| board.nets[*n].name.as_ref()).min_by(|a, b| natural(a, b));
    if let Some(name) = declared {
        return (1, name.clone());
    }
    // A moved leg does not name the net it was moved into, nor does one that the part no longer has.
    let is_home = |joint: &&usize| {
        let state = &board.joints[**joint];
        board.parts[&state.part].legs.get(state.leg).is_some_and(|leg| leg.home == **joint)
    };
    let legs = group.iter().flat_map(|n| &board.nets[*n].joints).filter(is_home).map(|joint| {
        let state = &board.joints[*joint];
        let owner = &board.parts[&state.part];
        let leg = &owner.legs[state.leg].name;
        (telling(owner.part.kind, leg), owner.part.name.clone(), owner.part.spelled(leg))
    });
    let best =
        legs.min_by(|a, b| a.0.cmp(&b.0).then_with(|| natural(&a.1, &b.1)).then_with(|| natural(&a.2, &b.2)));
    (2, best.map(|(_, _, leg)| leg).unwrap_or_default())
}

/// How telling a leg is as a net's name: electrodes, then pots, transformers, jacks, switches, then the rest.
fn telling(kind: Kind, leg: &str) -> u8 {
    let electrode = leg.rsplit('.').next().unwrap_or(leg);
    match (kind, electrode) {
        (Kind::Tube, "plate") => 0,
        (Kind::Tube, "cathode") => 1,
        (Kind::Tube, "grid") => 2,
        (Kind::Tube, _) => 3,
        (Kind::Pot | Kind::Trimmer, _) => 4,
        (Kind::MainsTransformer | Kind::OutputTransformer | Kind::ReverbTransformer, _) => 5,
        (Kind::Jack | Kind::Inlet, _) => 6,
        (Kind::Switch | Kind::Relay, _) => 7,
        _ => 8,
    }
}

fn part_order(board: &Board) -> Vec<String> {
    let shown = |name: &&String| board.parts[*name].part.state != State::Removed;
    let mut names: Vec<String> = board.parts.keys().filter(shown).cloned().collect();
    names.sort_by(|a, b| natural(a, b));
    names
}

fn index(order: &[String]) -> BTreeMap<String, PartId> {
    order.iter().enumerate().map(|(i, name)| (name.clone(), PartId(i as u32))).collect()
}

impl Snapshot<'_> {
    fn part(&self, name: &str) -> Part {
        let owner = &self.board.parts[name];
        let net = |joint: usize| self.net_of[self.board.joints[joint].net];
        let mut part = owner.part.clone();
        part.legs = owner
            .legs
            .iter()
            .map(|leg| Leg {
                name: leg.name.clone(),
                net: leg.at.map(net),
                home: net(leg.home),
                lifted: leg.lifted,
                moved: leg.at.is_some_and(|at| at != leg.home),
                open: leg.open,
            })
            .collect();
        part
    }

    fn heaters(&self) -> Vec<Heater> {
        let heater = |pending: &super::board::PendingHeater| {
            Some(Heater {
                transformer: *self.part_of.get(&pending.winding.0)?,
                winding: pending.winding.1.clone(),
                valves: pending.valves.iter().filter_map(|v| self.part_of.get(v).copied()).collect(),
                reference: pending.reference.map(|net| self.net_of[net]),
                span: pending.span,
            })
        };
        self.board.heaters.iter().filter_map(heater).collect()
    }
}

fn cuts(board: &Board, net_of: &[NetId]) -> Vec<(NetId, NetId)> {
    let cut = |(net, state): (usize, &super::board::NetState)| Some((net_of[net], net_of[state.cut_from?]));
    board.nets.iter().enumerate().filter_map(cut).collect()
}

pub(super) fn with_legs(mut nets: Vec<Net>, parts: &[Arc<Part>]) -> Vec<Net> {
    for (part, owner) in parts.iter().enumerate() {
        for (leg, state) in owner.legs.iter().enumerate() {
            if let Some(net) = state.net {
                nets[net.0 as usize].legs.push(LegId { part: PartId(part as u32), leg: leg as u32 });
            }
        }
    }
    nets
}

/// Nets by name; of several with one name the first.
pub(super) fn net_names(nets: &[Net]) -> BTreeMap<String, NetId> {
    nets.iter().enumerate().rev().map(|(i, net)| (net.name.clone(), NetId(i as u32))).collect()
}
