//! A network whose capacitors keep the volts they have at rest: what a fast signal sees, solved as if at DC.
//!
//! ```text
//! Output stage: screens on a rail, cathodes at chassis, grids behind 220k and held coupling capacitors:
//! fixed     chassis, the rail (its reservoir is held), each grid's far side: tied by sources
//! around    plates and grids; elements that touch them, on from node to node, up to the fixed ones
//! cut out   two valves, two stoppers, a winding; each fixed node as a source at its volts at rest
//! ```

use std::collections::{BTreeMap, BTreeSet};

use crate::model::RoleKind;
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::recognise::Recognised;
use crate::solve::signal::model::Rig;

/// Resistance in series with a held capacitor, so that several in a loop don't contradict each other.
const HELD_OHMS: f64 = 0.01;

/// A capacitor without a role is held from here on: under 16 k at 1 kHz, against grid circuits of some hundred k.
const HELD_FARADS: f64 = 10e-9;

/// The rig's network with capacitors held; elements keep their positions.
pub(in crate::solve) fn held(rig: &Rig, recognised: &Recognised) -> Network {
    let mut network = rig.lowered.network.clone();
    for at in 0..rig.lowered.elements.len() {
        let Law::Capacitor { a, b, farads } = network.elements[at].law else { continue };
        let role = rig.lowered.elements[at].part.and_then(|part| recognised.role(part)).map(|role| role.kind);
        let Some(volts) = rig.point.volts_between(a, b).filter(|_| is_held(role, farads)) else { continue };
        let name = network.elements[at].name.clone();
        // A source for a capacitor, at its volts at rest: it takes any current and does not move, as a large one
        // within a period.
        let inner = network.add_node(format!("{name}, inside"));
        network.elements[at].law = Law::VoltageSource { plus: a, minus: inner, volts, ac_volts: 0.0 };
        network.add(name, Law::Resistor { a: inner, b, ohms: HELD_OHMS });
    }
    network
}

fn is_held(role: Option<RoleKind>, farads: f64) -> bool {
    let by_role = matches!(
        role,
        Some(
            RoleKind::CouplingCapacitor
                | RoleKind::CathodeBypass
                | RoleKind::ScreenBypass
                | RoleKind::FilterCapacitor
                | RoleKind::Reservoir
                | RoleKind::InverterGridCapacitor
                | RoleKind::BiasFilter
        )
    );
    // Treble capacitors and the valves' own stay free: a fast signal charges them within its period.
    by_role || farads >= HELD_FARADS
}

/// What of a network takes part: all that hangs together with some nodes without crossing a fixed one.
#[derive(Debug, Clone)]
pub(in crate::solve) struct Cutting {
    /// The smaller network.
    pub(in crate::solve) network: Network,
    /// Node of each node of the whole.
    pub(in crate::solve) node: BTreeMap<Node, Node>,
    /// Element of each element of the whole.
    pub(in crate::solve) element: BTreeMap<usize, usize>,
    /// The source that stands for each fixed node (of the whole).
    pub(in crate::solve) fixed: BTreeMap<Node, usize>,
}

/// Cuts out the part of a network around some nodes; `volts` are those at rest. The sources of `moving` are part
/// of it and fix nothing.
pub(in crate::solve) fn cut_out(
    network: &Network,
    around: &[Node],
    moving: &[usize],
    volts: impl Fn(Node) -> f64,
) -> Cutting {
    let fixed = fixed_nodes(network, moving);
    let mut live: BTreeSet<Node> = around.iter().copied().filter(|n| !fixed.contains(n)).collect();
    let mut taken: BTreeSet<usize> = BTreeSet::new();
    loop {
        let before = taken.len();
        for (index, element) in network.elements.iter().enumerate() {
            if taken.contains(&index) {
                continue;
            }
            let terminals = element.law.terminals();
            if terminals.iter().any(|n| live.contains(n)) {
                taken.insert(index);
                live.extend(terminals.into_iter().filter(|n| !fixed.contains(n)));
            }
        }
        if taken.len() == before {
            break;
        }
    }
    let mut cutting = Cutting {
        network: Network::new(),
        node: [(CHASSIS, CHASSIS)].into(),
        element: BTreeMap::new(),
        fixed: BTreeMap::new(),
    };
    for index in taken {
        cutting.take(network, index, &fixed, &volts);
    }
    cutting
}

impl Cutting {
    fn take(&mut self, network: &Network, index: usize, fixed: &BTreeSet<Node>, volts: &dyn Fn(Node) -> f64) {
        let mut law = network.elements[index].law.clone();
        law.renumber(|node| {
            if let Some(known) = self.node.get(&node) {
                return *known;
            }
            let new = self.network.add_node(network.nodes[node].clone());
            self.node.insert(node, new);
            if fixed.contains(&node) {
                let source =
                    Law::VoltageSource { plus: new, minus: CHASSIS, volts: volts(node), ac_volts: 0.0 };
                let at = self.network.add(network.nodes[node].clone(), source);
                self.fixed.insert(node, at);
            }
            new
        });
        let at = self.network.add(network.elements[index].name.clone(), law);
        self.element.insert(index, at);
    }

    /// Sets the volts of a source by its position in the cutting.
    pub(in crate::solve) fn set(&mut self, source: usize, to: f64) {
        if let Law::VoltageSource { volts, .. } = &mut self.network.elements[source].law {
            *volts = to;
        }
    }
}

/// Nodes that sources and held capacitors tie to the chassis.
fn fixed_nodes(network: &Network, moving: &[usize]) -> BTreeSet<Node> {
    let mut fixed = BTreeSet::from([CHASSIS]);
    loop {
        let before = fixed.len();
        for (_, element) in network.elements.iter().enumerate().filter(|(i, _)| !moving.contains(i)) {
            let (a, b) = match element.law {
                Law::VoltageSource { plus, minus, .. } => (plus, minus),
                Law::Resistor { a, b, ohms } if ohms <= HELD_OHMS => (a, b),
                _ => continue,
            };
            if fixed.contains(&a) || fixed.contains(&b) {
                fixed.extend([a, b]);
            }
        }
        if fixed.len() == before {
            return fixed;
        }
    }
}

impl Law {
    /// Replaces every terminal.
    fn renumber(&mut self, mut to: impl FnMut(Node) -> Node) {
        match self {
            Law::Resistor { a, b, .. } | Law::Capacitor { a, b, .. } | Law::Inductor { a, b, .. } => {
                (*a, *b) = (to(*a), to(*b));
            }
            Law::VoltageSource { plus: a, minus: b, .. }
            | Law::CurrentSource { from: a, to: b, .. }
            | Law::Diode { anode: a, cathode: b, .. }
            | Law::Zener { anode: a, cathode: b, .. }
            | Law::VacuumDiode { anode: a, cathode: b, .. } => (*a, *b) = (to(*a), to(*b)),
            Law::Triode { plate, grid, cathode, .. } => {
                (*plate, *grid, *cathode) = (to(*plate), to(*grid), to(*cathode));
            }
            Law::Pentode { plate, screen, grid, cathode, .. } => {
                (*plate, *screen) = (to(*plate), to(*screen));
                (*grid, *cathode) = (to(*grid), to(*cathode));
            }
            Law::Windings { windings, .. } => {
                for winding in windings {
                    (winding.a, winding.b) = (to(winding.a), to(winding.b));
                }
            }
        }
    }
}
