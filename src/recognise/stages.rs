//! What each valve section does: output stages first, then pairs, then single sections.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::recognised::StageKind;
use super::spell::Spot;
use super::view::{GROUND, Node, Step};
use super::work::{Draft, Electrode, Work};
use crate::circuit::PartId;
use crate::model::Kind;
use crate::recognise::flow::Flow;

/// Split loads are equal within this fraction (common practice).
const EQUAL: f64 = 0.3;
/// Smallest load of a split-load inverter (common practice).
const SPLIT_OHMS: f64 = 8000.0;

/// Finds all stages; sections without one are left.
pub(super) fn find(work: &mut Work) {
    // Surest first: a plate on a transformer is an output stage; then pairs, which need two; what is left is single.
    transformer_stages(work);
    super::pairs::find(work);
    for group in parallels(work) {
        if let Some(draft) = single(work, &group) {
            work.drafts.push(draft);
        }
    }
    // Drafts so far stand in the order they were found; the valves' order is the lasting one.
    work.drafts.sort_by_key(|d| d.valves.clone());
}

/// Tells fixed from cathode bias once the bias supply is known from the grids too.
pub(super) fn settle_bias(work: &mut Work) {
    for index in 0..work.drafts.len() {
        let Some(first) = work.drafts[index].valves.first().copied() else { continue };
        let found = fixed_bias(work, first);
        if let StageKind::PushPullOutput { fixed_bias } | StageKind::SingleEndedOutput { fixed_bias } =
            &mut work.drafts[index].kind
        {
            *fixed_bias = found;
        }
    }
}

pub(super) fn free(work: &Work, valve: usize) -> bool {
    work.draft_of(valve).is_none()
}

/// Stages whose plates sit on a transformer's primary.
fn transformer_stages(work: &mut Work) {
    let mut transformers = work.view.parts_of_kind(Kind::OutputTransformer);
    transformers.extend(work.view.parts_of_kind(Kind::ReverbTransformer));
    for transformer in transformers {
        let at = |name: &str| work.view.node_at(transformer, name).filter(|n| *n != GROUND);
        let sides = [at("plate-a"), at("plate-b")];
        let on = |side: Option<Node>| -> Vec<usize> {
            let plated = |v: &usize| side.is_some() && work.valves[*v].plate.node == side && free(work, *v);
            (0..work.valves.len()).filter(plated).collect()
        };
        let groups = [on(sides[0]), on(sides[1])];
        let mut valves: Vec<usize> = groups.concat();
        valves.sort_unstable();
        let Some(first) = valves.first().copied() else { continue };
        let name = &work.circuit().part(transformer).name;
        let kind = if work.kind(transformer) == Kind::ReverbTransformer {
            StageKind::ReverbDriver
        } else {
            let fixed_bias = fixed_bias(work, first);
            match groups.iter().filter(|g| !g.is_empty()).count() {
                2 => StageKind::PushPullOutput { fixed_bias },
                _ => StageKind::SingleEndedOutput { fixed_bias },
            }
        };
        let plates: Vec<String> =
            valves.iter().map(|v| work.circuit().leg_name(work.valves[*v].plate.leg)).collect();
        let why = format!("{} — {name}", plates.join(", "));
        let outputs = match kind {
            StageKind::ReverbDriver => sides.iter().filter_map(|s| *s).collect(),
            _ => taps(work, transformer),
        };
        let rungs = work.valves[first].cathode.node.and_then(|k| cathode_rungs(work, k)).unwrap_or_default();
        work.drafts.push(Draft { kind, valves, outputs, rungs, why });
    }
}

/// Secondary nodes of an output transformer, chassis aside.
pub(super) fn taps(work: &Work, transformer: PartId) -> Vec<Node> {
    let legs = &work.circuit().part(transformer).legs;
    let secondary = legs.iter().filter(|l| !matches!(l.name.as_str(), "plate-a" | "plate-b" | "supply"));
    let mut nodes: Vec<Node> =
        secondary.filter_map(|l| work.view.node_at(transformer, &l.name)).filter(|n| *n != GROUND).collect();
    nodes.sort_unstable();
    nodes.dedup();
    nodes
}

/// Biased from a bias supply: the grid's leak ends there, or elsewhere than at chassis or cathode while the
/// cathode is grounded.
fn fixed_bias(work: &Work, valve: usize) -> bool {
    let valve = &work.valves[valve];
    let Some(grid) = valve.grid.node else { return false };
    let mut near = vec![grid];
    // Stopper, leak and one more: a bias further away than that sets no grid here.
    for _ in 0..3 {
        let ends: Vec<Node> = near
            .iter()
            .flat_map(|n| work.view.steps_by(*n, &[Flow::Resistive, Flow::Wound]))
            .filter_map(|s| work.view.chain(s).last().map(Step::end))
            .collect();
        if ends.iter().any(|n| work.bias.contains(n)) {
            return true;
        }
        if ends.contains(&GROUND) || ends.iter().any(|n| valve.cathode.node == Some(*n)) {
            return false;
        }
        near = ends.into_iter().filter(|n| *n != grid && !work.quiet(*n)).collect();
    }
    false
}

/// From a cathode to chassis (or a negative supply) the shortest way; empty for a cathode at chassis.
pub(super) fn cathode_rungs(work: &Work, cathode: Node) -> Option<Vec<Step>> {
    if cathode == GROUND {
        return Some(Vec::new());
    }
    let mut queue: VecDeque<(Node, Vec<Step>)> = VecDeque::from([(cathode, Vec::new())]);
    let mut seen = BTreeSet::from([cathode]);
    while let Some((node, rungs)) = queue.pop_front() {
        for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Wound, Flow::Diode]) {
            let end = step.end();
            let mut longer = rungs.clone();
            longer.push(step);
            // The first that arrives is the shortest: breadth first.
            if end == GROUND || work.bias.contains(&end) {
                return Some(longer);
            }
            let closed = work.supply.contains_key(&end)
                || work.speaker.contains(&end)
                || work.has(end, Electrode::Plate)
                || work.has(end, Electrode::Grid)
                || work.has(end, Electrode::Screen);
            // Followers with a leak's joint and a tail have three; five is a guard, no rule of the trade.
            if !closed && longer.len() < 5 && seen.insert(end) {
                queue.push_back((end, longer));
            }
        }
    }
    None
}

/// From a plate to a rail through its load; empty for a plate at a rail.
pub(super) fn plate_load(work: &Work, plate: Node) -> Option<Vec<Step>> {
    let ways = work.view.steps_by(plate, &[Flow::Resistive, Flow::Wound]);
    ways.into_iter()
        .filter(|s| !s.arm.pot)
        .map(|s| work.view.chain(s))
        .find(|steps| steps.last().is_some_and(|s| work.supply.contains_key(&s.end())))
}

/// Resistance of steps in series; `None` where a value is not known.
pub(super) fn ohms(work: &Work, steps: &[Step]) -> Option<f64> {
    steps.iter().map(|s| work.view.value(s.part())).sum()
}

/// Free sections in groups that share plate, grid and cathode.
fn parallels(work: &Work) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut by_nodes: BTreeMap<[Option<Node>; 3], usize> = BTreeMap::new();
    for index in (0..work.valves.len()).filter(|v| free(work, *v)) {
        let valve = &work.valves[index];
        let nodes = [valve.plate.node, valve.grid.node, valve.cathode.node];
        if let Some(group) = by_nodes.get(&nodes).filter(|_| nodes.iter().all(Option::is_some)) {
            groups[*group].push(index);
        } else {
            by_nodes.insert(nodes, groups.len());
            groups.push(vec![index]);
        }
    }
    groups
}

fn single(work: &Work, group: &[usize]) -> Option<Draft> {
    let valve = &work.valves[*group.first()?];
    let (plate, cathode) = (valve.plate.node?, valve.cathode.node?);
    let rungs = cathode_rungs(work, cathode)?;
    let foot = Spot::Node(rungs.last().map_or(GROUND, Step::end));
    let valves = group.to_vec();
    let below = work.path(Spot::Leg(valve.cathode.leg), &rungs, foot);
    if work.supply.contains_key(&plate) {
        let follows = !rungs.is_empty() && !valve.grid.node.is_some_and(|g| work.quiet(g));
        let direct_coupled = valve.grid.node.is_some_and(|g| direct(work, *group.first().unwrap_or(&0), g));
        let why =
            format!("{} at {}; {below}", work.circuit().leg_name(valve.plate.leg), work.node_name(plate));
        let kind = StageKind::CathodeFollower { direct_coupled };
        let outputs = vec![takeoff(work, cathode, &rungs)];
        return follows.then_some(Draft { kind, valves, outputs, rungs, why });
    }
    let load = plate_load(work, plate)?;
    let rail = Spot::Node(load.last()?.end());
    let why = format!("{}; {below}", work.path_back(Spot::Leg(valve.plate.leg), &load, rail));
    if split(work, &load, &rungs, plate, cathode) {
        let outputs = vec![plate, takeoff(work, cathode, &rungs)];
        return Some(Draft { kind: StageKind::SplitLoad, valves, outputs, rungs, why });
    }
    let bypassed =
        bypass(work, cathode, &rungs).iter().any(|p| work.view.joined(p.part()) && p.end() == GROUND);
    Some(Draft { kind: StageKind::CommonCathode { bypassed }, valves, outputs: vec![plate], rungs, why })
}

/// Where the signal leaves a loaded cathode: the cathode, or a node of its rungs that a capacitor leads on from.
fn takeoff(work: &Work, cathode: Node, rungs: &[Step]) -> Node {
    let rung = |n: Node| n == cathode || rungs.iter().any(|s| s.end() == n);
    let leaves = |n: &Node| {
        work.view.steps_by(*n, &[Flow::Capacitive]).iter().any(|s| !work.quiet(s.end()) && !rung(s.end()))
    };
    let mut nodes = vec![cathode];
    nodes.extend(rungs.iter().map(Step::end).filter(|n| *n != GROUND));
    nodes.into_iter().find(leaves).unwrap_or(cathode)
}

/// Whether a grid sits on another section's plate, at once or over a stopper.
fn direct(work: &Work, valve: usize, grid: Node) -> bool {
    let plated = |n: Node| {
        work.pins.get(&n).is_some_and(|p| p.iter().any(|(v, e)| *e == Electrode::Plate && *v != valve))
    };
    plated(grid)
        || work
            .view
            .steps_by(grid, &[Flow::Resistive])
            .into_iter()
            .any(|s| !s.arm.pot && work.view.chain(s).last().is_some_and(|l| plated(l.end())))
}

/// Capacitors that bypass a cathode's rungs, those behind an open switch contact too.
pub(super) fn bypass(work: &Work, cathode: Node, rungs: &[Step]) -> Vec<Step> {
    let mut nodes = vec![cathode];
    nodes.extend(rungs.iter().map(Step::end));
    nodes.retain(|n| *n != GROUND && !work.bias.contains(n));
    let mut found = Vec::new();
    for node in &nodes {
        for step in work.view.steps_by(*node, &[Flow::Capacitive]) {
            let end = step.end();
            let thrown = work
                .view
                .throws
                .iter()
                .any(|t| (t.a == end && t.b == GROUND) || (t.b == end && t.a == GROUND));
            let below = nodes.contains(&end) && end != *node;
            if end == GROUND || thrown || below {
                found.push(step);
            }
        }
    }
    found
}

/// Plate load and cathode load about equal, and both electrodes coupled on by capacitors.
fn split(work: &Work, load: &[Step], rungs: &[Step], plate: Node, cathode: Node) -> bool {
    let (Some(above), Some(below)) = (ohms(work, load), ohms(work, rungs)) else { return false };
    let equal = above >= SPLIT_OHMS && (below - above).abs() <= EQUAL * above;
    let coupled = |nodes: &[Node]| {
        nodes.iter().any(|n| work.view.steps_by(*n, &[Flow::Capacitive]).iter().any(|s| !work.quiet(s.end())))
    };
    let mut lower = vec![cathode];
    lower.extend(rungs.iter().map(Step::end).filter(|n| *n != GROUND));
    equal && coupled(&[plate]) && coupled(&lower)
}
