//! Linear networks of an amplifier as hands meet it, made from the lowered circuit.

use std::collections::BTreeSet;

use super::situation::{Situation, Supply};
use super::{SAFE_VOLTS, Touchable};
use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::model::Kind;
use crate::numeric::network::{Law, Network, Node, Winding};
use crate::solve::lower::{Lowered, WindingSection, lower};

/// What is taken where the document does not state its mains.
pub(super) const USUAL_MAINS: (f64, f64) = (230.0, 50.0);
/// Protective conductor and house wiring, as the reference figures have it.
const EARTH_OHMS: f64 = 0.1;
/// Joints: keep ideal sources from closing a loop, far below what any figure shows.
const JOINT_OHMS: f64 = 1e-3;
/// A rectifier as a way for what the mains drives.
const CONDUCTING_OHMS: f64 = 1.0;
/// Rectifiers seen by their own winding: equal, so that a bridge holds its winding's middle at that of its output.
pub(super) const SHARING_OHMS: f64 = 10e3;
/// Inductance of a primary at its own volts, where the mains meets it with nothing in the secondaries; only its
/// ratios to other primaries tell, and that it is large.
const PRIMARY_HENRIES: f64 = 20.0;

/// Where a signal is judged: guitars have most of their power below, and a small capacitor passes little there.
const SIGNAL_HERTZ: f64 = 1000.0;

/// A network with the nodes that hands reach.
#[derive(Clone)]
pub(super) struct Rig {
    pub network: Network,
    pub hertz: f64,
    /// In the order of what is within reach; `None` where nothing sits in the net.
    pub reach: Vec<Option<Node>>,
    /// Where the mains conductors, or the windings, come in.
    pub live: Vec<Node>,
    /// Legs of windings that are not the primary.
    pub secondary: Vec<Node>,
    /// Windings as EMFs: transformer, winding, and the resistance behind which each section stands.
    pub emfs: Vec<(PartId, usize, (Node, Node, f64))>,
    /// For each element its part.
    pub part_of: Vec<Option<PartId>>,
    /// Elements that are insulation which leaks, not a part that somebody fitted.
    pub insulation: BTreeSet<usize>,
    pub node_of: Vec<Option<Node>>,
}

/// The mains as stated, or the usual.
pub(super) fn mains(circuit: &Circuit) -> (f64, f64) {
    circuit.mains.map_or(USUAL_MAINS, |m| (m.volts, m.hertz.unwrap_or(USUAL_MAINS.1)))
}

/// The legs where the two mains conductors come in: the inlets', without one the primaries' ends.
pub(super) fn conductors(circuit: &Circuit) -> [Vec<LegId>; 2] {
    let fitted = |kind: Kind| {
        circuit.part_ids().filter(move |id| circuit.part(*id).kind == kind && circuit.part(*id).fitted())
    };
    let mut legs = [Vec::new(), Vec::new()];
    let mut take = |id: PartId, names: [&str; 2]| {
        for (side, name) in legs.iter_mut().zip(names) {
            let leg = circuit.part(id).leg_index(name).map(|leg| LegId { part: id, leg: leg as u32 });
            side.extend(leg.filter(|leg| circuit.net_of(*leg).is_some()));
        }
    };
    let inlets: Vec<PartId> = fitted(Kind::Inlet).collect();
    for id in &inlets {
        take(*id, ["live", "neutral"]);
    }
    // An amplifier told from its transformer on: its primary is where the mains comes in.
    if inlets.is_empty() {
        for id in fitted(Kind::MainsTransformer) {
            take(id, ["primary.a", "primary.b"]);
        }
    }
    legs
}

/// What the network is made for.
struct Making<'a> {
    circuit: &'a Circuit,
    lowered: Lowered,
    /// How much later a node's number is: one where earth stands before the chassis.
    shift: usize,
    rig: Rig,
}

/// The circuit as the mains drives it: node 0 is earth, windings that are not the primary are their resistance.
pub(super) fn mains_rig(
    circuit: &Circuit,
    situation: &Situation,
    supply: Supply,
    removed: &BTreeSet<PartId>,
    reach: &[Touchable],
) -> Rig {
    let mut making = Making::new(circuit, situation, removed, 1);
    making.elements(situation, CONDUCTING_OHMS);
    making.primaries();
    making.sections(|making, section| {
        making.add(None, Law::Resistor { a: section.a, b: section.b, ohms: section.ohms });
    });
    let (volts, hertz) = mains(circuit);
    let [live, neutral] = conductors(circuit);
    for (legs, hot) in [(live, !supply.exchanged), (neutral, supply.exchanged)] {
        for leg in legs.into_iter().filter(|leg| !removed.contains(&leg.part)) {
            making.conductor(leg, if hot { volts } else { 0.0 });
        }
    }
    if supply.earth {
        making.earth(removed);
    }
    making.done(hertz, reach)
}

/// The circuit as its windings drive it at mains frequency, the primary aside: node 0 is of no account.
pub(super) fn winding_rig(
    circuit: &Circuit,
    situation: &Situation,
    removed: &BTreeSet<PartId>,
    reach: &[Touchable],
) -> Rig {
    let mut making = Making::new(circuit, situation, removed, 1);
    making.elements(situation, SHARING_OHMS);
    let share = situation.setup(circuit, removed).mains_share;
    making.sections(|making, section| {
        making.emf(section, Emf { volts: 0.0, ac_volts: section.volts * share });
    });
    making.done(mains(circuit).1, reach)
}

/// The circuit with every valve cold, at the instant when each winding's end b, or its end a, is at its peak: what
/// rectifiers make of it stands on the reservoirs. Node 0 is the chassis.
pub(super) fn peak_rig(
    circuit: &Circuit,
    situation: &Situation,
    rising: bool,
    removed: &BTreeSet<PartId>,
    reach: &[Touchable],
) -> Rig {
    let mut making = Making::new(circuit, situation, removed, 0);
    let share = situation.setup(circuit, removed).mains_share;
    let peak = share * if rising { std::f64::consts::SQRT_2 } else { -std::f64::consts::SQRT_2 };
    making.devices(situation);
    making.sections(|making, section| {
        making.emf(section, Emf { volts: section.volts * peak, ac_volts: 0.0 });
    });
    making.done(mains(circuit).1, reach)
}

/// What is fitted between the plates at output transformers and hands, as a signal meets it: valves, rectifiers and
/// windings are open. Node 0 is the chassis.
pub(super) fn swing_rig(
    circuit: &Circuit,
    situation: &Situation,
    removed: &BTreeSet<PartId>,
    reach: &[Touchable],
) -> Rig {
    let mut making = Making::new(circuit, situation, removed, 0);
    making.passive(situation);
    for id in circuit.part_ids().filter(|id| !removed.contains(id)) {
        let part = circuit.part(id);
        let plates = part.legs.iter().enumerate().filter(|(_, leg)| leg.name.starts_with("plate"));
        for (leg, _) in plates.filter(|_| part.kind == Kind::OutputTransformer && part.fitted()) {
            let node = making.leg(LegId { part: id, leg: leg as u32 });
            making.rig.live.extend(node.filter(|node| *node != 0));
        }
    }
    making.done(SIGNAL_HERTZ, reach)
}

/// A section of a winding: its ends, its own volts rms and those of the whole winding.
struct SectionAt {
    of: (PartId, usize),
    a: Node,
    b: Node,
    ohms: f64,
    volts: f64,
    whole: f64,
}

/// Volts of a winding's section, end b above end a.
#[derive(Clone, Copy)]
struct Emf {
    volts: f64,
    ac_volts: f64,
}

impl<'a> Making<'a> {
    fn new(
        circuit: &'a Circuit,
        situation: &Situation,
        removed: &BTreeSet<PartId>,
        shift: usize,
    ) -> Making<'a> {
        let lowered = lower(&situation.circuit(circuit), &situation.setup(circuit, removed));
        let mut network = Network::new();
        // With earth as node 0 the chassis is a node like any other: it may stand at mains volts, which is the
        // question.
        for name in lowered.network.nodes.iter().skip(1 - shift) {
            network.add_node(name.clone());
        }
        let node_of = lowered.node_of.iter().map(|node| node.map(|n| n + shift)).collect();
        let rig = Rig {
            network,
            hertz: 0.0,
            reach: Vec::new(),
            live: Vec::new(),
            secondary: Vec::new(),
            emfs: Vec::new(),
            part_of: Vec::new(),
            insulation: BTreeSet::new(),
            node_of,
        };
        Making { circuit, lowered, shift, rig }
    }

    fn add(&mut self, part: Option<PartId>, law: Law) {
        self.rig.network.add("", law);
        self.rig.part_of.push(part);
    }

    /// Whether an element stays: not the drive's, not a contact that a plug opens, not a winding's section, which
    /// comes by itself.
    fn stays(&self, element: usize, situation: &Situation) -> bool {
        let Some(part) = self.lowered.elements[element].part else { return false };
        let kind = self.circuit.part(part).kind;
        let outside = situation.plugged && matches!(kind, Kind::Jack | Kind::Speaker);
        !outside && self.lowered.windings.iter().all(|section| section.element != element)
    }

    /// Whether an element is a leakage to the core or the can, or between a mains transformer's windings.
    fn leaks(&self, element: usize) -> bool {
        let origin = &self.lowered.elements[element];
        let transformer = origin.part.is_some_and(|id| self.circuit.part(id).kind == Kind::MainsTransformer);
        transformer || origin.legs.contains(&None)
    }

    /// Every element as one that alternating current meets; rectifiers are a resistance, valves are open.
    fn elements(&mut self, situation: &Situation, rectifier_ohms: f64) {
        for index in 0..self.lowered.network.elements.len() {
            if !self.stays(index, situation) {
                continue;
            }
            let law = match self.lowered.network.elements[index].law {
                Law::VoltageSource { plus: a, minus: b, .. } => Law::Resistor { a, b, ohms: JOINT_OHMS },
                Law::Diode { anode: a, cathode: b, .. }
                | Law::Zener { anode: a, cathode: b, .. }
                | Law::VacuumDiode { anode: a, cathode: b, .. } => {
                    Law::Resistor { a, b, ohms: rectifier_ohms }
                }
                Law::Triode { .. } | Law::Pentode { .. } | Law::CurrentSource { .. } => continue,
                ref law => law.clone(),
            };
            let law = shifted(law, self.shift);
            if self.leaks(index) {
                self.rig.insulation.insert(self.rig.part_of.len());
            }
            self.add(self.lowered.elements[index].part, law);
        }
    }

    /// Resistors, capacitors and coils; what only stands for the supply is wire.
    fn passive(&mut self, situation: &Situation) {
        for index in 0..self.lowered.network.elements.len() {
            let law = match self.lowered.network.elements[index].law {
                Law::VoltageSource { plus: a, minus: b, .. } => Law::Resistor { a, b, ohms: JOINT_OHMS },
                ref law @ (Law::Resistor { .. } | Law::Capacitor { .. } | Law::Inductor { .. }) => {
                    law.clone()
                }
                _ => continue,
            };
            if self.stays(index, situation) {
                self.add(self.lowered.elements[index].part, law);
            }
        }
    }

    /// Every element as it is at rest.
    fn devices(&mut self, situation: &Situation) {
        for index in 0..self.lowered.network.elements.len() {
            if self.stays(index, situation) {
                let law = self.lowered.network.elements[index].law.clone();
                if let Law::VoltageSource { plus, minus, .. } = law {
                    self.rig.live.extend([plus, minus]);
                }
                self.add(self.lowered.elements[index].part, law);
            }
        }
    }

    /// Calls `make` for each section of a winding that is not the primary.
    fn sections(&mut self, make: impl Fn(&mut Making<'a>, &SectionAt)) {
        let circuit = self.circuit;
        let sections = self.lowered.windings.clone();
        for section in sections.iter().filter(|s| !is_primary(circuit, s)) {
            let Law::Resistor { a, b, ohms } = self.lowered.network.elements[section.element].law else {
                continue;
            };
            let same = |s: &&WindingSection| (s.part, s.winding) == (section.part, section.winding);
            // A centre-tapped winding is two sections: what it can do to a hand is by both together.
            let whole = sections.iter().filter(same).map(|s| s.volts.abs()).sum();
            let (a, b) = (a + self.shift, b + self.shift);
            let before = self.rig.part_of.len();
            let of = (section.part, section.winding);
            make(self, &SectionAt { of, a, b, ohms: ohms.max(JOINT_OHMS), volts: section.volts, whole });
            self.rig.part_of[before..].fill(Some(section.part));
            self.rig.secondary.extend([a, b]);
        }
    }

    /// Primaries of one transformer share its core; their turns are as their volts.
    fn primaries(&mut self) {
        let circuit = self.circuit;
        let sections = self.lowered.windings.clone();
        let mut parts: Vec<PartId> = sections.iter().map(|section| section.part).collect();
        parts.dedup();
        for part in parts {
            let mut windings = Vec::new();
            for section in sections.iter().filter(|s| s.part == part && is_primary(circuit, s)) {
                let Law::Resistor { a, b, ohms } = self.lowered.network.elements[section.element].law else {
                    continue;
                };
                let (a, b) = (a + self.shift, b + self.shift);
                // A section of no volts would have no turns, which is no winding.
                let turns = section.volts.abs().max(1e-6);
                windings.push(Winding { a, b, turns, ohms: ohms.max(JOINT_OHMS) });
                self.rig.live.extend([a, b]);
            }
            let most = windings.iter().map(|w| w.turns).fold(0.0, f64::max);
            if most > 0.0 {
                let henries_per_turn_squared = PRIMARY_HENRIES / (most * most);
                self.add(Some(part), Law::Windings { windings, henries_per_turn_squared });
            }
        }
    }

    /// A source between two ends, behind the winding's resistance.
    fn emf(&mut self, section: &SectionAt, emf: Emf) {
        let inner = self.rig.network.add_node("winding");
        let Emf { volts, ac_volts } = emf;
        self.add(None, Law::VoltageSource { plus: inner, minus: section.a, volts, ac_volts });
        self.add(None, Law::Resistor { a: inner, b: section.b, ohms: section.ohms });
        self.rig.emfs.push((section.of.0, section.of.1, (inner, section.b, section.ohms)));
        if section.whole * std::f64::consts::SQRT_2 > SAFE_VOLTS.0 {
            self.rig.live.extend([section.a, section.b]);
        }
    }

    fn leg(&self, leg: LegId) -> Option<Node> {
        let NetId(net) = self.circuit.net_of(leg)?;
        self.rig.node_of[net as usize]
    }

    fn conductor(&mut self, leg: LegId, ac_volts: f64) {
        let Some(node) = self.leg(leg) else { return };
        let inner = self.rig.network.add_node("mains");
        // Behind a joint's ohms: two inlets on one net, or a fault from pole to pole, would be sources in a loop.
        let law = Law::VoltageSource { plus: inner, minus: 0, volts: 0.0, ac_volts };
        self.add(Some(leg.part), law);
        self.add(Some(leg.part), Law::Resistor { a: inner, b: node, ohms: JOINT_OHMS });
        self.rig.live.push(node);
    }

    fn earth(&mut self, removed: &BTreeSet<PartId>) {
        for id in self.circuit.part_ids().filter(|id| !removed.contains(id)) {
            let part = self.circuit.part(id);
            if part.kind != Kind::Inlet || !part.fitted() || part.component.body.two_core {
                continue;
            }
            let leg = part.leg_index("earth").map(|leg| LegId { part: id, leg: leg as u32 });
            if let Some(node) = leg.and_then(|leg| self.leg(leg)) {
                self.add(Some(id), Law::Resistor { a: node, b: 0, ohms: EARTH_OHMS });
            }
        }
    }

    fn done(mut self, hertz: f64, reach: &[Touchable]) -> Rig {
        self.rig.hertz = hertz;
        self.rig.reach = reach.iter().map(|t| self.rig.node_of[t.net.0 as usize]).collect();
        self.rig
    }
}

fn is_primary(circuit: &Circuit, section: &WindingSection) -> bool {
    circuit.part(section.part).component.body.windings[section.winding].name.starts_with("primary")
}

/// A linear law at nodes that are numbered later.
fn shifted(law: Law, by: usize) -> Law {
    match law {
        Law::Resistor { a, b, ohms } => Law::Resistor { a: a + by, b: b + by, ohms },
        Law::Capacitor { a, b, farads } => Law::Capacitor { a: a + by, b: b + by, farads },
        Law::Inductor { a, b, henries, ohms } => Law::Inductor { a: a + by, b: b + by, henries, ohms },
        Law::Windings { windings, henries_per_turn_squared } => {
            let windings = windings.into_iter().map(|w| Winding { a: w.a + by, b: w.b + by, ..w }).collect();
            Law::Windings { windings, henries_per_turn_squared }
        }
        other => other,
    }
}
