//! An amplifier at its operating point, ready for signals: the network with its valves' capacitances, and where
//! the signal enters and leaves.

use num_complex::Complex64;

use crate::circuit::{self, Circuit, NetId, PartId};
use crate::model::{Kind, RoleKind};
use crate::numeric::ac::linearised::{Drive, Linearised};
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::numeric::outcome::Unsolved;
use crate::numeric::point::OperatingPoint;
use crate::recognise::Recognised;
use crate::solve::at_rest::network_at_rest;
use crate::solve::lower::{Lowered, Origin};
use crate::solve::setup::Setup;

/// What a pickup or a generator puts before the first jack where no drive is stated: common practice, no source.
const USUAL_DRIVE_OHMS: f64 = 10e3;

/// An amplifier that signals can be sent through.
#[derive(Debug, Clone)]
pub struct Rig {
    /// The network with the valves' capacitances, and the way back to parts.
    pub lowered: Lowered,
    /// The operating point that all is linear about.
    pub point: OperatingPoint,
    /// The equations, driven by the circuit's `drive`.
    pub linear: Linearised,
    /// Whether something drives it.
    pub driven: bool,
    /// Where the signal leaves: the speaker's hot net, else the last stage's output.
    pub output: Option<NetId>,
    /// The part that loads the output, and its resistance: the speaker.
    pub load: Option<Load>,
    /// What had to be assumed, the operating point's included.
    pub assumed: Vec<String>,
}

/// What the output works into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// The part.
    pub part: PartId,
    /// Its resistance.
    pub ohms: f64,
    /// Its two nodes, the one further from chassis first.
    pub nodes: (Node, Node),
}

impl Rig {
    /// Solves a circuit in a condition and makes it ready. A circuit without `drive` is driven at its first
    /// input jack, which is said.
    pub fn new(circuit: &Circuit, recognised: &Recognised, setup: &Setup) -> Result<Rig, Unsolved> {
        let (circuit, said) = with_drive(circuit, recognised);
        let circuit = circuit.as_ref();
        let (lowered, point) = network_at_rest(circuit, setup)?;
        let mut rig = Rig::at(circuit, recognised, (lowered, point), None)?;
        rig.assumed.extend(said);
        Ok(rig)
    }

    /// Makes a solved circuit ready. `point` is the answer for `lowered`, which is without capacitances yet; where it is
    /// much like another, that one's layout serves.
    pub(crate) fn at(
        circuit: &Circuit,
        recognised: &Recognised,
        (mut lowered, point): (Lowered, OperatingPoint),
        like: Option<&Rig>,
    ) -> Result<Rig, Unsolved> {
        lowered.add_capacitances(circuit);
        let linear = like.and_then(|like| like.linear.near(&lowered.network, &point));
        let linear = linear.map_or_else(|| Linearised::new(&lowered.network, &point, Drive::Sources), Ok)?;
        let driven = circuit.drive.is_some_and(|(jack, _)| circuit.part(jack).fitted());
        let load = load(circuit, &lowered);
        let output = output(circuit, recognised);
        let assumed = lowered.assumed.clone();
        Ok(Rig { lowered, point, linear, driven, output, load, assumed })
    }

    /// The node of a net; `None` where no leg sits in it.
    pub fn node(&self, net: NetId) -> Option<Node> {
        self.lowered.node_of[net.0 as usize]
    }

    /// The phasor of a net as last solved.
    pub fn phasor(&self, net: NetId) -> Option<Complex64> {
        self.linear.phasor(self.node(net)?)
    }
}

impl Lowered {
    /// Adds the capacitances of the valves that conduct: grid to plate, grid to cathode, plate to cathode. They
    /// pass no DC, so that an operating point found without them stays one.
    pub fn add_capacitances(&mut self, circuit: &Circuit) {
        let mut unknown: Vec<PartId> = Vec::new();
        for element in 0..self.elements.len() {
            let law = &self.network.elements[element].law;
            let (Law::Triode { plate, grid, cathode, .. } | Law::Pentode { plate, grid, cathode, .. }) = *law
            else {
                continue;
            };
            let Some(tube) = self.elements[element].part else { continue };
            let of = |name: &str| capacitance(circuit, tube, name);
            let pairs = [("grid-plate", grid, plate), ("input", grid, cathode), ("output", plate, cathode)];
            for (name, a, b) in pairs {
                match of(name) {
                    Some(farads) => self.capacitance(circuit, tube, Law::Capacitor { a, b, farads }),
                    None if !unknown.contains(&tube) => unknown.push(tube),
                    None => {}
                }
            }
        }
        for tube in unknown {
            let name = &circuit.part(tube).name;
            self.assumed.push(format!("{name}: not all its capacitances are known, those left out"));
        }
    }

    fn capacitance(&mut self, circuit: &Circuit, tube: PartId, law: Law) {
        self.network.add(circuit.part(tube).name.clone(), law);
        self.elements.push(Origin { part: None, section: None, heats: false, legs: vec![None, None] });
    }
}

/// These nodes and all that 0 Ω links to them, chassis aside.
pub(in crate::solve) fn linked(network: &Network, mut nodes: Vec<Node>) -> Vec<Node> {
    let mut next = 0;
    while next < nodes.len() {
        let node = nodes[next];
        for element in &network.elements {
            let Law::Resistor { a, b, ohms: 0.0 } = element.law else { continue };
            let other = if a == node { b } else { a };
            if (a == node || b == node) && other != CHASSIS && !nodes.contains(&other) {
                nodes.push(other);
            }
        }
        next += 1;
    }
    nodes
}

/// A capacitance of a valve's type, in farads.
pub(in crate::solve) fn capacitance(circuit: &Circuit, tube: PartId, name: &str) -> Option<f64> {
    let type_name = circuit.part(tube).component.body.type_name.as_deref()?;
    circuit.types.tube(type_name)?.capacitances.get(name).copied()
}

/// The circuit with a drive: its own, or one at the first input jack.
fn with_drive<'a>(
    circuit: &'a Circuit,
    recognised: &Recognised,
) -> (std::borrow::Cow<'a, Circuit>, Option<String>) {
    let jack = recognised.parts_with(RoleKind::InputJack).next();
    match (circuit.drive, jack) {
        (None, Some(jack)) => {
            let mut driven = circuit.clone();
            driven.drive = Some((jack, Some(USUAL_DRIVE_OHMS)));
            let name = &circuit.part(jack).name;
            let said = format!("{name}: no drive stated, 1 V behind 10k assumed there");
            (std::borrow::Cow::Owned(driven), Some(said))
        }
        _ => (std::borrow::Cow::Borrowed(circuit), None),
    }
}

/// The first speaker that is fitted and joined.
fn load(circuit: &Circuit, lowered: &Lowered) -> Option<Load> {
    circuit.part_ids().find_map(|part| {
        let here = circuit.part(part);
        if here.kind != Kind::Speaker || !here.fitted() {
            return None;
        }
        let (a, b) = circuit.ends(part)?;
        let node = |net: NetId| lowered.node_of[net.0 as usize];
        let (a, b) = (node(a)?, node(b)?);
        let nodes = if a == CHASSIS { (b, a) } else { (a, b) };
        Some(Load { part, ohms: here.value()?, nodes })
    })
}

/// The net where the signal leaves: the first speaker's further from chassis, else the last stage's output.
pub(crate) fn output(circuit: &Circuit, recognised: &Recognised) -> Option<NetId> {
    let speaker = circuit.part_ids().find_map(|part| {
        let here = circuit.part(part);
        let (a, b) = circuit.ends(part).filter(|_| here.kind == Kind::Speaker && here.fitted())?;
        [a, b].into_iter().find(|net| *net != circuit::CHASSIS)
    });
    speaker.or_else(|| recognised.stages.last().and_then(|stage| stage.outputs.last().copied()))
}
