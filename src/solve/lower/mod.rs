//! From a circuit in a condition to the numeric core's network, with the way back: which element's terminal is
//! which part's leg.

pub(in crate::solve) mod elements;
mod lowered;
mod resting;

use crate::circuit::{Circuit, LegId, NetId, Part, PartId};
use crate::model::{Condition, Kind};
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::recognise::Section;
use crate::solve::setup::Setup;
use resting::rest_by_leakage;

pub use lowered::{Lowered, Origin, WindingSection};

/// Makes the network of a circuit as it stands in a condition.
pub fn lower(circuit: &Circuit, setup: &Setup) -> Lowered {
    let mut lowering = Lowering::new(circuit, setup);
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        if part.fitted() && !setup.removed.contains(&id) {
            lowering.part(id, part);
        }
    }
    // After the parts, so that elements of parts have the same positions with a drive and without one.
    lowering.drive();
    let mut lowered = lowering.lowered;
    rest_by_leakage(circuit, &mut lowered);
    lowered
}

/// A lowering under way.
pub(in crate::solve) struct Lowering<'a> {
    pub circuit: &'a Circuit,
    pub setup: &'a Setup,
    pub lowered: Lowered,
    free: Vec<Vec<Option<Node>>>,
}

impl<'a> Lowering<'a> {
    fn new(circuit: &'a Circuit, setup: &'a Setup) -> Lowering<'a> {
        let mut network = Network::new();
        let node_of = circuit
            .net_ids()
            .map(|id| match id {
                crate::circuit::CHASSIS => Some(CHASSIS),
                // A node without an element would be an island of its own in every message.
                id if circuit.net(id).legs.is_empty() => None,
                id => Some(network.add_node(circuit.net(id).name.clone())),
            })
            .collect();
        let free = circuit.parts.iter().map(|p| vec![None; p.legs.len()]).collect();
        let lowered = Lowered {
            network,
            node_of,
            elements: Vec::new(),
            windings: Vec::new(),
            assumed: Vec::new(),
            unknown: Vec::new(),
            resting: Vec::new(),
        };
        Lowering { circuit, setup, lowered, free }
    }

    /// The node of a leg: its net's, or one of its own for a free leg.
    pub(in crate::solve) fn leg(&mut self, id: PartId, leg: usize) -> Node {
        let part = self.circuit.part(id);
        let open = self.setup.open.contains(&LegId { part: id, leg: leg as u32 });
        if let Some(NetId(net)) = part.legs[leg].net.filter(|_| !open)
            && let Some(node) = self.lowered.node_of[net as usize]
        {
            return node;
        }
        // The same free leg is asked for by each element of its part: one node for all.
        if let Some(node) = self.free[id.0 as usize][leg] {
            return node;
        }
        let node = self.lowered.network.add_node(part.leg_name(leg));
        self.free[id.0 as usize][leg] = Some(node);
        node
    }

    /// An inner node.
    pub(in crate::solve) fn inner(&mut self, name: String) -> Node {
        self.lowered.network.add_node(name)
    }

    /// Adds an element of a part; `legs` name its terminals in the law's order.
    pub(in crate::solve) fn add(&mut self, id: PartId, law: Law, legs: &[Option<usize>]) {
        self.add_as(id, law, legs, None, true);
    }

    /// As [`Lowering::add`], for a valve section or a source.
    pub(in crate::solve) fn add_as(
        &mut self,
        id: PartId,
        law: Law,
        legs: &[Option<usize>],
        section: Option<&str>,
        heats: bool,
    ) {
        self.lowered.network.add(self.circuit.part(id).name.clone(), law);
        let section = section.map(str::to_owned);
        self.lowered.elements.push(Origin { part: Some(id), section, heats, legs: legs.to_vec() });
    }

    pub(in crate::solve) fn assume(&mut self, text: String) {
        self.lowered.assumed.push(text);
    }

    fn part(&mut self, id: PartId, part: &Part) {
        if part.component.shorted {
            self.resistor(id, Some(0.0));
        } else {
            self.sound(id, part);
        }
        self.faults(id, part);
    }

    /// A part without what was found wrong in it.
    fn sound(&mut self, id: PartId, part: &Part) {
        match part.kind {
            Kind::Resistor | Kind::Thermistor | Kind::Speaker => self.resistor(id, part.value()),
            // A fuse's value is its rated current, no resistance.
            Kind::Link | Kind::Fuse => {
                self.resistor(
                    id,
                    Some(part.component.body.value.filter(|_| part.kind == Kind::Link).unwrap_or(0.0)),
                );
            }
            Kind::Lamp => self.lamp(id, part),
            Kind::Capacitor => self.capacitor(id, part),
            Kind::Inductor | Kind::Choke => self.inductor(id, part),
            Kind::Pot | Kind::Trimmer => self.pot(id, part),
            Kind::Tube => self.tube(id, part),
            Kind::Diode | Kind::Led => self.diode(id, part, 0, 1),
            Kind::Zener => self.zener(id, part),
            Kind::Bridge => {
                for (anode, cathode) in [(0, 2), (1, 2), (3, 0), (3, 1)] {
                    self.diode(id, part, anode, cathode);
                }
            }
            Kind::Source => self.source(id, part),
            Kind::Switch | Kind::Relay => self.contacts(id, part),
            Kind::Jack => self.normals(id, part),
            Kind::MainsTransformer => self.windings(id, part),
            Kind::OutputTransformer | Kind::ReverbTransformer => self.output_transformer(id, part),
            // No DC or audio path of their own.
            Kind::Varistor | Kind::Inlet | Kind::Fitting | Kind::Can => {}
        }
    }

    /// What conducts in a part beside what it is made of: a leakage from leg to leg, and paths inside.
    fn faults(&mut self, id: PartId, part: &Part) {
        // A shorted part's leak is inside the short.
        let leak = part.component.leak.filter(|leak| leak.amps > 0.0 && !part.component.shorted);
        if let Some(leak) = leak {
            self.resistor(id, Some(leak.volts / leak.amps));
        }
        for stray in &part.component.strays {
            let to = stray.to.as_ref().and_then(|leg| part.leg_index(leg));
            let Some(from) = part.leg_index(&stray.from).filter(|_| stray.ohms().is_finite()) else {
                continue;
            };
            let (a, b) = (self.leg(id, from), to.map_or(CHASSIS, |leg| self.leg(id, leg)));
            self.add(id, Law::Resistor { a, b, ohms: stray.ohms() }, &[Some(from), to]);
        }
    }

    /// A resistance between the two legs; an unknown one is left out and said.
    pub(in crate::solve) fn resistor(&mut self, id: PartId, ohms: Option<f64>) {
        let (a, b) = (self.leg(id, 0), self.leg(id, 1));
        match ohms {
            Some(ohms) => self.add(id, Law::Resistor { a, b, ohms }, &[Some(0), Some(1)]),
            None => self.lowered.unknown.push(id),
        }
    }

    fn lamp(&mut self, id: PartId, part: &Part) {
        let body = &part.component.body;
        match (body.value, body.amps, body.power) {
            (Some(volts), Some(amps), _) if amps > 0.0 => self.resistor(id, Some(volts / amps)),
            (Some(volts), None, Some(watts)) if watts > 0.0 => self.resistor(id, Some(volts * volts / watts)),
            _ => self.lowered.unknown.push(id),
        }
    }

    fn capacitor(&mut self, id: PartId, part: &Part) {
        let (a, b) = (self.leg(id, 0), self.leg(id, 1));
        let legs = [Some(0), Some(1)];
        match part.value() {
            Some(farads) => self.add(id, Law::Capacitor { a, b, farads }, &legs),
            None => self.lowered.unknown.push(id),
        }
    }

    fn inductor(&mut self, id: PartId, part: &Part) {
        let (a, b) = (self.leg(id, 0), self.leg(id, 1));
        let ohms = self.or_assumed(id, part.component.body.ohms, 0.0, "winding resistance");
        let henries = self.or_assumed(id, part.value(), 10.0, "inductance");
        self.add(id, Law::Inductor { a, b, henries, ohms }, &[Some(0), Some(1)]);
    }

    /// A stated figure, or an assumed one that is said.
    pub(in crate::solve) fn or_assumed(
        &mut self,
        id: PartId,
        stated: Option<f64>,
        usual: f64,
        what: &str,
    ) -> f64 {
        stated.unwrap_or_else(|| {
            let name = &self.circuit.part(id).name;
            self.assume(format!("{name}: {what} not stated, {usual} assumed"));
            usual
        })
    }

    /// The driven jack's source, which passes no DC: 1 V at AC behind its resistance.
    fn drive(&mut self) {
        let Some((jack, behind)) = self.circuit.drive else { return };
        let part = self.circuit.part(jack);
        if !part.fitted() {
            return;
        }
        let Some(tip) = part.leg_index("tip") else { return };
        let tip = self.leg(jack, tip);
        let (hot, blocked) = (self.inner("drive".into()), self.inner("drive, blocked".into()));
        // A farad passes every audio frequency: under 0.2 mΩ from 1 kHz, 8 mΩ at 20 Hz.
        let laws = [
            Law::VoltageSource { plus: hot, minus: CHASSIS, volts: 0.0, ac_volts: 1.0 },
            Law::Capacitor { a: hot, b: blocked, farads: 1.0 },
            Law::Resistor { a: blocked, b: tip, ohms: behind.unwrap_or(0.0) },
        ];
        for law in laws {
            self.lowered.network.add("drive", law);
            let origin = Origin { part: None, section: None, heats: false, legs: vec![None, None] };
            self.lowered.elements.push(origin);
        }
    }

    /// Whether valves other than rectifiers emit.
    pub(in crate::solve) fn warm(&self, tube: PartId, letter: &str) -> bool {
        let here = |section: &Section| section.tube == tube && section.letter == letter;
        self.setup.condition != Condition::ColdStart && !self.setup.cold.iter().any(here)
    }
}
