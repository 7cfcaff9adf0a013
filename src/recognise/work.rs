//! What recognition has found so far: valve sections, supply, stages in draft, claims of roles. Each pass reads
//! it and adds to it; the first claim on a part stands.

use std::collections::{BTreeMap, BTreeSet};

use super::recognised::{Section, StageKind};
use super::view::{GROUND, Node, Step, View};
use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// A valve section with its legs.
#[derive(Debug, Clone)]
pub(super) struct Valve {
    pub section: Section,
    pub plate: Pin,
    pub grid: Pin,
    pub cathode: Pin,
    pub screen: Option<Pin>,
}

/// An electrode: its leg, and the node it sits in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pin {
    pub leg: LegId,
    pub node: Option<Node>,
}

/// Electrodes that matter to the signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Electrode {
    Plate,
    Grid,
    Cathode,
    Screen,
}

/// A stage before it is numbered.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub kind: StageKind,
    /// Indices into [`Work::valves`].
    pub valves: Vec<usize>,
    pub outputs: Vec<Node>,
    /// From the cathode to ground, each rung with the node it starts from.
    pub rungs: Vec<Step>,
    pub why: String,
}

/// How a supply node is reached.
#[derive(Debug, Clone)]
pub(super) struct Reach {
    pub depth: u32,
    pub from: Option<Node>,
    /// The parts in series from `from`; empty for a source's node and for one behind an open contact.
    pub steps: Vec<Step>,
    /// The net at which it is entered.
    pub entry: NetId,
    /// The open contact it lies behind.
    pub throw: Option<PartId>,
    pub fed: bool,
    /// Text of the way to it.
    pub why: String,
}

/// A role claimed for a part.
#[derive(Debug, Clone)]
pub(super) struct Claim {
    pub kind: RoleKind,
    pub draft: Option<usize>,
    pub electrode: Option<LegId>,
    pub why: String,
}

/// All that is known so far.
pub(super) struct Work<'c> {
    pub view: View<'c>,
    pub valves: Vec<Valve>,
    pub pins: BTreeMap<Node, Vec<(usize, Electrode)>>,
    /// AC ends of the mains transformer's secondaries and of diodes behind droppers.
    pub ac: BTreeSet<Node>,
    /// Raw nodes of negative supplies.
    pub negative: Vec<Node>,
    /// Positive starts: node, entry net, whether fed, text.
    pub starts: Vec<(Node, NetId, bool, String)>,
    /// Supply nodes in the order they were reached.
    pub supply: BTreeMap<Node, Reach>,
    pub order: Vec<Node>,
    pub bias: BTreeSet<Node>,
    /// The next of the big capacitors in series from a node to chassis.
    pub to_ground: BTreeMap<Node, Step>,
    /// Nodes that carry mains.
    pub mains: BTreeSet<NetId>,
    pub drafts: Vec<Draft>,
    /// Nodes of the output transformers' secondaries.
    pub speaker: BTreeSet<Node>,
    /// Nodes of cathode rungs, feedback networks, screens, heaters: no signal runs on through them.
    pub still: BTreeSet<Node>,
    pub claims: BTreeMap<PartId, Claim>,
}

impl<'c> Work<'c> {
    pub(super) fn new(circuit: &'c Circuit) -> Work<'c> {
        let view = View::by_joints(circuit);
        let valves = sections(&view);
        let mut pins: BTreeMap<Node, Vec<(usize, Electrode)>> = BTreeMap::new();
        for (index, valve) in valves.iter().enumerate() {
            let four = [
                (Some(valve.plate), Electrode::Plate),
                (Some(valve.grid), Electrode::Grid),
                (Some(valve.cathode), Electrode::Cathode),
                (valve.screen, Electrode::Screen),
            ];
            for (pin, electrode) in four {
                if let Some(node) = pin.and_then(|p| p.node).filter(|n| *n != GROUND) {
                    pins.entry(node).or_default().push((index, electrode));
                }
            }
        }
        Work {
            view,
            valves,
            pins,
            ac: BTreeSet::new(),
            negative: Vec::new(),
            starts: Vec::new(),
            supply: BTreeMap::new(),
            order: Vec::new(),
            bias: BTreeSet::new(),
            to_ground: BTreeMap::new(),
            mains: BTreeSet::new(),
            drafts: Vec::new(),
            speaker: BTreeSet::new(),
            still: BTreeSet::new(),
            claims: BTreeMap::new(),
        }
    }

    pub(super) fn circuit(&self) -> &'c Circuit {
        self.view.circuit
    }

    pub(super) fn kind(&self, part: PartId) -> Kind {
        self.circuit().part(part).kind
    }

    pub(super) fn claim(&mut self, part: PartId, kind: RoleKind, why: impl Into<String>) {
        self.claim_for(part, kind, None, None, why);
    }

    /// Claims a role unless the part has one.
    pub(super) fn claim_for(
        &mut self,
        part: PartId,
        kind: RoleKind,
        draft: Option<usize>,
        electrode: Option<LegId>,
        why: impl Into<String>,
    ) {
        // The first claim stands: passes come in order of certainty, and a later, vaguer one must not undo it.
        self.claims.entry(part).or_insert_with(|| Claim { kind, draft, electrode, why: why.into() });
    }

    pub(super) fn claimed(&self, part: PartId) -> bool {
        self.claims.contains_key(&part)
    }

    pub(super) fn role(&self, part: PartId) -> Option<RoleKind> {
        self.claims.get(&part).map(|c| c.kind)
    }

    /// Whether an electrode of this sort sits in the node.
    pub(super) fn has(&self, node: Node, electrode: Electrode) -> bool {
        self.pins.get(&node).is_some_and(|pins| pins.iter().any(|(_, e)| *e == electrode))
    }

    pub(super) fn has_pins(&self, node: Node) -> bool {
        self.pins.contains_key(&node)
    }

    /// At signal ground: chassis, a supply node, a bias node.
    pub(super) fn quiet(&self, node: Node) -> bool {
        node == GROUND || self.supply.contains_key(&node) || self.bias.contains(&node)
    }

    /// Where no signal runs on: quiet nodes, the mains side, cathode rungs, feedback, the speaker's side.
    pub(super) fn boundary(&self, node: Node) -> bool {
        self.quiet(node)
            || self.ac.contains(&node)
            || self.still.contains(&node)
            || self.speaker.contains(&node)
    }

    /// Whether the net was declared a rail.
    pub(super) fn declared_rail(&self, net: NetId) -> bool {
        self.circuit().net(net).declared.as_ref().is_some_and(|d| d.rail)
    }

    /// Whether a capacitor is big enough to filter a supply.
    pub(super) fn is_big(&self, part: PartId) -> bool {
        let part = self.circuit().part(part);
        let electrolytic = part.component.body.construction == Some(crate::model::Construction::Electrolytic);
        // Coupling capacitors end at some 0.47 µF; film filters begin at 1 µF, here with their tolerance.
        electrolytic || part.component.body.value.is_some_and(|f| f >= BIG_CAPACITOR)
    }

    /// Draft a valve belongs to.
    pub(super) fn draft_of(&self, valve: usize) -> Option<usize> {
        self.drafts.iter().position(|d| d.valves.contains(&valve))
    }

    /// Drives its node: a loaded plate, or the cathode of a follower or split load.
    pub(super) fn drivers_at(&self, node: Node) -> Vec<usize> {
        let from = |(i, d): (usize, &Draft)| {
            (d.outputs.contains(&node) && !self.speaker.contains(&node)).then_some(i)
        };
        self.drafts.iter().enumerate().filter_map(from).collect()
    }

    /// Ways out by resistance and capacitance, never through a part that a claim excludes.
    pub(super) fn signal_steps(&self, node: Node) -> Vec<Step> {
        let mut steps = self.view.steps_by(node, &[Flow::Resistive, Flow::Wound, Flow::Capacitive]);
        steps.retain(|s| {
            !self.boundary(s.end())
                && !matches!(
                    self.role(s.part()),
                    Some(RoleKind::FeedbackResistor | RoleKind::FeedbackCapacitor | RoleKind::Snubber)
                )
        });
        steps
    }
}

/// Smallest capacitor that is taken for a supply's filter when it is no electrolytic, in farads (common practice).
const BIG_CAPACITOR: f64 = 0.9e-6;

/// Sections with a grid, in the order of parts, idle ones left out.
fn sections(view: &View) -> Vec<Valve> {
    let mut valves = Vec::new();
    for tube in view.parts_of_kind(Kind::Tube) {
        let part = view.circuit.part(tube);
        for leg in part.legs.iter().filter(|l| l.name.rsplit('.').next() == Some("grid")) {
            let letter = leg.name.strip_suffix("grid").unwrap_or("").trim_end_matches('.').to_owned();
            if part.unused.contains(&letter) || (letter.is_empty() && !part.unused.is_empty()) {
                continue;
            }
            let pin = |electrode: &str| {
                let name =
                    if letter.is_empty() { electrode.to_owned() } else { format!("{letter}.{electrode}") };
                view.leg(tube, &name).map(|leg| Pin { leg, node: view.node(leg) })
            };
            if let (Some(plate), Some(grid), Some(cathode)) = (pin("plate"), pin("grid"), pin("cathode")) {
                let screen = pin("screen");
                valves.push(Valve { section: Section { tube, letter }, plate, grid, cathode, screen });
            }
        }
    }
    valves
}
