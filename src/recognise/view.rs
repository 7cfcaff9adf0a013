//! The circuit as recognition sees it: nets that links, fuses and closed contacts join are one node, and
//! two-ended ways through parts are arms. Seen by joints, a missing part or a lifted leg still shows its place.
//!
//! ```text
//! T1.ht – F1 – A – S1 (open) – B – R5 – C, R5 missing:
//! nodes     {ht, A} is one: a fuse joins; B another, since S1 is open, which is kept as a throw
//! arms      R5 from B to C: missing, but its joints are there
//! steps     out of B: R5, entered at its first end; out of C: R5, entered at its second
//! as it is really connected there is no arm, and B leads nowhere
//! ```

use std::collections::{BTreeSet, VecDeque};

use petgraph::unionfind::UnionFind;

use super::flow::Flow;
use super::ways::{joins_nets, joins_of, ways_of};
use crate::circuit::{Circuit, Leg, LegId, NetId, Part, PartId, State};
use crate::model::Kind;

/// Nets joined without resistance; the number of the first of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Node(pub u32);

/// The node of chassis.
pub(super) const GROUND: Node = Node(0);

/// Parts in series that count as one: no amplifier comes near it, and longer walks would take the square of it.
const LONGEST_CHAIN: usize = 64;

/// A way through a part from one leg to another.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arm {
    pub part: PartId,
    pub a: LegId,
    pub b: LegId,
    pub from: Node,
    pub to: Node,
    pub flow: Flow,
    /// Part of a pot or trimmer.
    pub pot: bool,
}

/// An arm entered from one of its ends.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    pub arm: Arm,
    /// Entered at its `b` end.
    pub back: bool,
}

impl Step {
    pub(super) fn part(&self) -> PartId {
        self.arm.part
    }

    /// The node it leads to.
    pub(super) fn end(&self) -> Node {
        if self.back { self.arm.from } else { self.arm.to }
    }

    pub(super) fn entry(&self) -> LegId {
        if self.back { self.arm.b } else { self.arm.a }
    }

    pub(super) fn exit(&self) -> LegId {
        if self.back { self.arm.a } else { self.arm.b }
    }
}

/// A contact of a switch or relay that is open in its present position.
#[derive(Debug, Clone, Copy)]
pub(super) struct Throw {
    pub part: PartId,
    pub a: Node,
    pub b: Node,
}

/// The circuit's nodes and arms.
pub(super) struct View<'c> {
    pub circuit: &'c Circuit,
    by_joints: bool,
    node_of: Vec<Node>,
    nets: Vec<Vec<NetId>>,
    legs: Vec<Vec<LegId>>,
    arms: Vec<Arm>,
    at: Vec<Vec<u32>>,
    /// Zero-ohm ways between nets, with the part that makes each.
    joins: Vec<(NetId, NetId, PartId)>,
    pub throws: Vec<Throw>,
}

impl<'c> View<'c> {
    /// As the board has it: missing parts and lifted legs in their joints.
    pub(super) fn by_joints(circuit: &'c Circuit) -> View<'c> {
        View::new(circuit, true)
    }

    /// As it is really connected.
    pub(super) fn as_connected(circuit: &'c Circuit) -> View<'c> {
        View::new(circuit, false)
    }

    fn new(circuit: &'c Circuit, by_joints: bool) -> View<'c> {
        let count = circuit.nets.len().max(1);
        let mut view = View {
            circuit,
            by_joints,
            node_of: (0..count as u32).map(Node).collect(),
            nets: vec![Vec::new(); count],
            legs: vec![Vec::new(); count],
            arms: Vec::new(),
            at: vec![Vec::new(); count],
            joins: Vec::new(),
            throws: Vec::new(),
        };
        view.join_nets(count);
        view.place_legs();
        for part in circuit.part_ids() {
            view.add_arms(part);
        }
        view
    }

    fn join_nets(&mut self, count: usize) {
        let circuit = self.circuit;
        for id in circuit.part_ids() {
            let part = circuit.part(id);
            if self.present(id) {
                self.joins.extend(
                    joins_of(part, |leg| self.seat_in(part, leg)).into_iter().map(|(a, b)| (a, b, id)),
                );
            }
        }
        let mut sets = UnionFind::<u32>::new(count);
        for (a, b, _) in &self.joins {
            sets.union(a.0, b.0);
        }
        for (new, old) in circuit.cuts.iter().filter(|(new, _)| self.by_joints && self.only_parted(*new)) {
            sets.union(new.0, old.0);
        }
        let mut first = vec![None; count];
        for net in 0..count as u32 {
            // The lowest net gives the number: nodes stand in the order of nets, whatever order joined them.
            let node = *first[sets.find(net) as usize].get_or_insert(Node(net));
            self.node_of[net as usize] = node;
            self.nets[node.0 as usize].push(NetId(net));
        }
    }

    /// A cut with nothing added behind it is a fault: the board was one net there. With an added part it makes
    /// room for something.
    fn only_parted(&self, new: NetId) -> bool {
        let stock = |leg: &LegId| {
            let part = self.circuit.part(leg.part);
            part.kind == Kind::Link || part.origin == crate::circuit::Origin::Stock
        };
        self.circuit.net(new).legs.iter().all(stock)
    }

    fn place_legs(&mut self) {
        for part in self.parts() {
            for leg in 0..self.circuit.part(part).legs.len() as u32 {
                let leg = LegId { part, leg };
                if let Some(node) = self.node(leg) {
                    self.legs[node.0 as usize].push(leg);
                }
            }
        }
    }

    /// Whether the part counts: fitted, or missing where joints count.
    pub(super) fn present(&self, part: PartId) -> bool {
        match self.circuit.part(part).state {
            State::Fitted => true,
            State::Missing { .. } => self.by_joints,
            _ => false,
        }
    }

    /// Fitted with all the legs that matter in their nets.
    pub(super) fn joined(&self, part: PartId) -> bool {
        let part = self.circuit.part(part);
        part.fitted() && part.legs.iter().all(|l| !(l.lifted && l.net.is_none()))
    }

    fn seat_in(&self, part: &Part, leg: &Leg) -> Option<NetId> {
        let gone = leg.lifted || matches!(part.state, State::Missing { .. });
        // A moved leg sits where it is; only one that is nowhere falls back on its home.
        leg.net.or_else(|| (self.by_joints && gone).then_some(leg.home))
    }

    /// The net a leg sits in, or belongs in.
    pub(super) fn seat(&self, leg: LegId) -> Option<NetId> {
        let part = self.circuit.part(leg.part);
        self.seat_in(part, &part.legs[leg.leg as usize])
    }

    pub(super) fn node(&self, leg: LegId) -> Option<Node> {
        self.seat(leg).map(|net| self.node_of(net))
    }

    pub(super) fn node_of(&self, net: NetId) -> Node {
        self.node_of[net.0 as usize]
    }

    /// The leg with this name of a part that is present.
    pub(super) fn leg(&self, part: PartId, name: &str) -> Option<LegId> {
        let index = self.circuit.part(part).legs.iter().position(|l| l.name == name)?;
        self.present(part).then_some(LegId { part, leg: index as u32 })
    }

    pub(super) fn node_at(&self, part: PartId, name: &str) -> Option<Node> {
        self.leg(part, name).and_then(|leg| self.node(leg))
    }

    /// Nets of a node, in their order.
    pub(super) fn nets(&self, node: Node) -> &[NetId] {
        &self.nets[node.0 as usize]
    }

    /// Legs in a node, in the order of parts.
    pub(super) fn legs_at(&self, node: Node) -> &[LegId] {
        &self.legs[node.0 as usize]
    }

    /// Parts that count, in natural order.
    pub(super) fn parts(&self) -> Vec<PartId> {
        self.circuit.part_ids().filter(|p| self.present(*p)).collect()
    }

    pub(super) fn parts_of_kind(&self, kind: Kind) -> Vec<PartId> {
        let wanted = |p: &PartId| self.present(*p) && self.circuit.part(*p).kind == kind;
        self.circuit.part_ids().filter(wanted).collect()
    }

    /// The first of a part's arms; they stand in the order of parts.
    pub(super) fn arm_of(&self, part: PartId) -> Option<Arm> {
        let at = self.arms.partition_point(|arm| arm.part < part);
        self.arms.get(at).filter(|arm| arm.part == part).copied()
    }

    /// All arms, in the order of parts.
    pub(super) fn arms(&self) -> &[Arm] {
        &self.arms
    }

    /// Ways out of a node: resistive ones first, then in the order of parts.
    pub(super) fn steps(&self, node: Node) -> Vec<Step> {
        let mut steps: Vec<Step> = self.at[node.0 as usize]
            .iter()
            .map(|i| self.arms[*i as usize])
            .map(|arm| Step { arm, back: arm.from != node })
            .collect();
        // Stable, and resistive ones first: walks that take the first way take the direct one.
        steps.sort_by_key(|s| (s.arm.flow, s.arm.part));
        steps
    }

    /// Ways out of a node that conduct in one of these manners.
    pub(super) fn steps_by(&self, node: Node, flows: &[Flow]) -> Vec<Step> {
        let mut steps = self.steps(node);
        steps.retain(|s| flows.contains(&s.arm.flow));
        steps
    }

    /// A step and those after it through joints that serve nothing else: parts in series for one.
    pub(super) fn chain(&self, step: Step) -> Vec<Step> {
        let mut chain = vec![step];
        let mut seen = BTreeSet::from([step.part()]);
        let mut last = step;
        while let Some(next) = self.onward(last) {
            if chain.len() == LONGEST_CHAIN || !seen.insert(next.part()) {
                break;
            }
            chain.push(next);
            last = next;
        }
        chain
    }

    fn onward(&self, step: Step) -> Option<Step> {
        let node = step.end();
        let named = |net: &NetId| self.circuit.net(*net).declared.as_ref().is_some_and(|d| d.rail);
        if node == GROUND || self.nets(node).iter().any(named) {
            return None;
        }
        let parts: BTreeSet<PartId> = self
            .legs_at(node)
            .iter()
            .map(|l| l.part)
            .filter(|p| !joins_nets(self.circuit.part(*p).kind))
            .collect();
        let ways = self.steps(node);
        let [x, y] = ways.as_slice() else { return None };
        let next = if x.part() == step.part() { y } else { x };
        // Alike only: a resistor and a capacitor in series are two things, not one dropper.
        (parts.len() == 2 && next.arm.flow == step.arm.flow && next.part() != step.part()).then_some(*next)
    }

    /// Parts without resistance between two nets of one node, in order.
    pub(super) fn joiners(&self, a: NetId, b: NetId) -> Vec<PartId> {
        let mut seen = BTreeSet::from([a]);
        let mut queue = VecDeque::from([(a, Vec::new())]);
        while let Some((net, parts)) = queue.pop_front() {
            if net == b {
                return parts;
            }
            for (x, y, part) in &self.joins {
                let next = if *x == net { *y } else { *x };
                if (*x == net || *y == net) && seen.insert(next) {
                    let mut longer = parts.clone();
                    longer.push(*part);
                    queue.push_back((next, longer));
                }
            }
        }
        Vec::new()
    }

    /// Resistance of a two-leg part or a whole pot; measured where measured.
    pub(super) fn value(&self, part: PartId) -> Option<f64> {
        self.circuit.part(part).value()
    }

    fn add_arms(&mut self, id: PartId) {
        let part = self.circuit.part(id);
        if !self.present(id) {
            return;
        }
        let pot = matches!(part.kind, Kind::Pot | Kind::Trimmer);
        for (a, b, flow) in ways_of(part) {
            let (a, b) = (LegId { part: id, leg: a }, LegId { part: id, leg: b });
            if let (Some(from), Some(to)) = (self.node(a), self.node(b))
                // Both ends in one node: shorted out, and no way to anywhere.
                && from != to
            {
                let index = self.arms.len() as u32;
                self.arms.push(Arm { part: id, a, b, from, to, flow, pot });
                self.at[from.0 as usize].push(index);
                self.at[to.0 as usize].push(index);
            }
        }
        if matches!(part.kind, Kind::Switch | Kind::Relay) {
            for contact in part
                .component
                .body
                .contacts
                .iter()
                .filter(|c| part.component.body.now.as_ref() != Some(&c.position))
            {
                let node = |leg| self.node(LegId { part: id, leg });
                if let (Some(a), Some(b)) = (node(contact.a), node(contact.b))
                    && a != b
                {
                    self.throws.push(Throw { part: id, a, b });
                }
            }
        }
    }
}
