//! DC paths: what reaches chassis, over how many ohms, and what the mains passes on its way.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use petgraph::unionfind::UnionFind;

use crate::circuit::{CHASSIS, Circuit, NetId, Part, PartId, Stray};
use crate::model::Kind;
use crate::solve::switches::{positions, switches};

use super::ways::{Way, Ways, track_ways};

/// The ways of one circuit, found once and asked often.
#[derive(Debug, Default)]
pub(crate) struct Paths {
    all: OnceLock<Ways>,
    wires: OnceLock<Ways>,
    grounded: OnceLock<BTreeSet<NetId>>,
    passive: OnceLock<Vec<u32>>,
}

impl Paths {
    pub(super) fn all(&self, circuit: &Circuit) -> &Ways {
        self.all.get_or_init(|| Ways::new(ways(circuit)))
    }

    fn wires(&self, circuit: &Circuit) -> &Ways {
        let wire = |w: &Way| {
            let part = circuit.part(w.part);
            let inside = |stray: &Stray| stray.leak.is_none() && part.stray_nets(stray) == Some((w.a, w.b));
            part.kind == Kind::Link || part.component.shorted || part.component.strays.iter().any(inside)
        };
        self.wires.get_or_init(|| Ways::new(ways(circuit).into_iter().filter(wire)))
    }

    /// Whether a net has a DC path to chassis.
    pub(crate) fn grounded(&self, circuit: &Circuit, net: NetId) -> bool {
        self.grounded.get_or_init(|| self.all(circuit).reached(CHASSIS, |_| true)).contains(&net)
    }

    /// Whether an inlet's earth leads to chassis over wire alone: a resistor or a fuse on the way is no earth.
    pub(crate) fn earthed(&self, circuit: &Circuit, inlet: PartId) -> bool {
        let wire = |w: &Way| circuit.part(w.part).kind == Kind::Link;
        let earth = circuit.leg_net(inlet, "earth");
        let leads = |net| self.wires(circuit).reached(net, wire).contains(&CHASSIS);
        !circuit.part(inlet).component.body.two_core && earth.is_some_and(leads)
    }

    /// Whether a two-leg part is shorted out: both its legs meet over links or shorted parts alone.
    pub(crate) fn linked_out(&self, circuit: &Circuit, id: PartId) -> bool {
        let Some((a, b)) = circuit.ends(id) else { return false };
        let other = |w: &Way| w.part != id;
        // Chassis ends every search but its own, so that both directions are tried.
        let meets = |a, b| self.wires(circuit).reached(a, other).contains(&b);
        a == b || meets(a, b) || meets(b, a)
    }

    /// Whether two nets are one over links and shorted parts.
    pub(crate) fn wired(&self, circuit: &Circuit, a: NetId, b: NetId) -> bool {
        // Chassis ends every search but its own.
        let seen = |from, to| self.wires(circuit).reached(from, |_| true).contains(&to);
        seen(a, b) || seen(b, a)
    }

    /// Nets that a net reaches over wires, fuses, jacks and closed contacts alone.
    pub(crate) fn by_contact(&self, circuit: &Circuit, net: NetId) -> BTreeSet<NetId> {
        let joins = [Kind::Link, Kind::Switch, Kind::Relay, Kind::Jack, Kind::Fuse];
        let passes =
            |w: &Way| joins.contains(&circuit.part(w.part).kind) || circuit.part(w.part).component.shorted;
        self.all(circuit).reached(net, passes)
    }

    /// Whether charge flows from leg to leg of a capacitor over parts that pass current with everything off.
    pub(crate) fn drains(&self, circuit: &Circuit, id: PartId) -> bool {
        let Some((a, b)) = circuit.ends(id) else { return false };
        let group = self.passive.get_or_init(|| passive(circuit));
        group[a.0 as usize] == group[b.0 as usize]
    }
}

/// A group for each net: those that parts join which pass current with everything off.
fn passive(circuit: &Circuit) -> Vec<u32> {
    let mut groups = UnionFind::<u32>::new(circuit.nets.len());
    for way in ways(circuit).iter().filter(|way| PASSIVE.contains(&circuit.part(way.part).kind)) {
        groups.union(way.a.0, way.b.0);
    }
    groups.into_labeling()
}

/// Parts that pass direct current with the amplifier off, switches aside.
const PASSIVE: [Kind; 9] = [
    Kind::Resistor,
    Kind::Pot,
    Kind::Trimmer,
    Kind::Choke,
    Kind::Inductor,
    Kind::Link,
    Kind::Fuse,
    Kind::Lamp,
    Kind::OutputTransformer,
];

/// All ways for direct current, valves and capacitors open, diodes and sources closed.
pub(crate) fn ways(circuit: &Circuit) -> Vec<Way> {
    circuit.part_ids().filter(|id| circuit.part(*id).fitted()).flat_map(|id| ways_of(circuit, id)).collect()
}

fn ways_of(circuit: &Circuit, id: PartId) -> Vec<Way> {
    let part = circuit.part(id);
    let net = |name: &str| part.leg_index(name).and_then(|i| part.legs[i].net);
    let mut found = Vec::new();
    let mut join = |a: Option<NetId>, b: Option<NetId>, ohms: Option<f64>| {
        if let (Some(a), Some(b)) = (a, b) {
            found.push(Way { part: id, a, b, ohms, track: false });
        }
    };
    let ends = (part.legs.first().and_then(|l| l.net), part.legs.get(1).and_then(|l| l.net));
    if part.component.shorted {
        join(ends.0, ends.1, Some(0.0));
    }
    for stray in &part.component.strays {
        if let Some((a, b)) = part.stray_nets(stray) {
            join(Some(a), Some(b), Some(stray.ohms()));
        }
    }
    match part.kind {
        Kind::Resistor | Kind::Thermistor | Kind::Speaker => join(ends.0, ends.1, part.value()),
        Kind::Inductor | Kind::Choke | Kind::Source => {
            join(ends.0, ends.1, Some(part.component.body.ohms.unwrap_or(0.0)));
        }
        // Closed and 0 Ω: the question is whether anything holds a net, and a diode does once something pulls at it.
        Kind::Fuse | Kind::Lamp | Kind::Link | Kind::Diode | Kind::Zener | Kind::Led => {
            join(ends.0, ends.1, Some(0.0));
        }
        Kind::Pot | Kind::Trimmer => found.extend(track_ways(circuit, id, part.wiper_share())),
        Kind::Bridge => {
            for end in ["ac2", "plus", "minus"] {
                join(net("ac1"), net(end), Some(0.0));
            }
        }
        Kind::MainsTransformer | Kind::ReverbTransformer | Kind::OutputTransformer => {
            windings(part, &mut join);
        }
        Kind::Switch | Kind::Relay => {
            for c in &part.component.body.contacts {
                if part.component.body.now.as_deref() == Some(c.position.as_str()) {
                    let lug = |i: u32| part.legs.get(i as usize).and_then(|l| l.net);
                    join(lug(c.a), lug(c.b), Some(0.0));
                }
            }
        }
        Kind::Jack => {
            for (contact, touched) in &part.component.body.normals {
                join(net(contact), net(touched), Some(0.0));
            }
        }
        Kind::Tube => rectifier(circuit, part, &mut join),
        Kind::Capacitor | Kind::Varistor | Kind::Inlet | Kind::Fitting | Kind::Can => {}
    }
    found
}

/// Legs of one winding conduct to each other: those whose names begin alike, or an output transformer's sides.
fn windings(part: &Part, join: &mut impl FnMut(Option<NetId>, Option<NetId>, Option<f64>)) {
    let side = |name: &str| match name.split_once('.') {
        Some((winding, _)) => winding.to_owned(),
        None if matches!(name, "plate-a" | "plate-b" | "plate" | "supply") || name.starts_with("ul") => {
            "primary".to_owned()
        }
        None => "secondary".to_owned(),
    };
    let mut first: BTreeMap<String, NetId> = BTreeMap::new();
    for leg in &part.legs {
        let Some(net) = leg.net else { continue };
        match first.get(&side(&leg.name)) {
            Some(start) => join(Some(*start), Some(net), Some(part.component.body.ohms.unwrap_or(0.0))),
            None => {
                first.insert(side(&leg.name), net);
            }
        }
    }
}

/// With sources at 0 a valve rectifier is taken as closed; every other valve is open.
fn rectifier(
    circuit: &Circuit,
    part: &Part,
    join: &mut impl FnMut(Option<NetId>, Option<NetId>, Option<f64>),
) {
    let of = part.component.body.type_name.as_deref().and_then(|name| circuit.types.tube(name));
    if of.is_some_and(|t| t.construction == crate::circuit::types::TubeConstruction::Rectifier) {
        let net = |name: &str| part.leg_index(name).and_then(|i| part.legs[i].net);
        for plate in ["a.plate", "b.plate"] {
            join(net(plate), net("cathode"), Some(0.0));
        }
    }
}

/// What a conductor of the mains is followed through, besides wires and what else passes current.
#[derive(Clone, Copy)]
struct Through {
    fuses: bool,
    switches: bool,
}

/// What a conductor of the mains leads through is under this: soft starts. More lies across it: bleeders.
const LEAD_OHMS: f64 = 1e3;

/// Nets that a conductor of the mains reaches from the inlet, up to the transformer. A fuse that is shorted is a wire;
/// switches count as closed where they are passed at all.
fn conductor(circuit: &Circuit, inlet: PartId, name: &str, through: Through) -> BTreeSet<NetId> {
    let mut ways: Vec<Way> = ways(circuit)
        .into_iter()
        // Lamps, controls and bleeders lie across the mains, not in it: followed, they would lead from live to
        // neutral.
        .filter(|w| match circuit.part(w.part).kind {
            Kind::Fuse => through.fuses || circuit.part(w.part).component.shorted,
            Kind::Resistor => w.ohms.is_some_and(|ohms| ohms < LEAD_OHMS),
            kind => !matches!(
                kind,
                Kind::MainsTransformer
                    | Kind::Source
                    | Kind::Tube
                    | Kind::Switch
                    | Kind::Relay
                    | Kind::Lamp
                    | Kind::Pot
                    | Kind::Trimmer
            ),
        })
        .collect();
    for id in circuit.part_ids().filter(|id| through.switches && circuit.part(*id).fitted()) {
        let part = circuit.part(id);
        let lug = |i: u32| part.legs.get(i as usize).and_then(|l| l.net);
        for c in &part.component.body.contacts {
            if let (Some(a), Some(b)) = (lug(c.a), lug(c.b)) {
                ways.push(Way { part: id, a, b, ohms: Some(0.0), track: false });
            }
        }
    }
    circuit.leg_net(inlet, name).map_or_else(BTreeSet::new, |net| Ways::new(ways).reached(net, |_| true))
}

/// Past no fuse, switches closed.
const PAST_NO_FUSE: Through = Through { fuses: false, switches: true };
/// Past no switch, whatever fuses there are.
const PAST_NO_SWITCH: Through = Through { fuses: true, switches: false };

/// Whether a fuse or a switch stands in the neutral conductor while none of its kind stands in the live one.
pub(crate) fn in_the_neutral_alone(circuit: &Circuit, id: PartId) -> bool {
    let part = circuit.part(id);
    let through = match part.kind {
        Kind::Fuse if !part.component.shorted => PAST_NO_FUSE,
        Kind::Switch | Kind::Relay => PAST_NO_SWITCH,
        _ => return false,
    };
    let inlets =
        circuit.part_ids().filter(|id| circuit.part(*id).kind == Kind::Inlet && circuit.part(*id).fitted());
    inlets.into_iter().any(|inlet| {
        let neutral = conductor(circuit, inlet, "neutral", through);
        let stands = part.legs.iter().any(|l| l.net.is_some_and(|n| neutral.contains(&n)));
        stands
            // The conductor ends at the part asked about: past it the transformer is not reached, while the live one
            // gets there freely, so that it has no such part.
            && !reaches_primary(circuit, &neutral)
            && reaches_primary(circuit, &conductor(circuit, inlet, "live", through))
    })
}

/// Whether the live conductor reaches a mains transformer past no fuse.
pub(crate) fn unfused(circuit: &Circuit, inlet: PartId) -> bool {
    reaches_primary(circuit, &conductor(circuit, inlet, "live", PAST_NO_FUSE))
}

/// More combinations of switches than this are not gone through: each switch is then thrown by itself.
// Six two-way switches; each further one would double the walks for positions that no one leaves together.
const MOST_COMBINATIONS: usize = 64;
/// A link of more ohms than this is no short of the mains.
// 230 V over it drive 23 A: past that no domestic fuse holds for long.
const SHORT_OHMS: f64 = 10.0;

/// Whether live and neutral of an inlet meet over wire, in any position of the switches, with fuses or past none.
pub(crate) fn mains_shorted(circuit: &Circuit, inlet: PartId, over_fuses: bool) -> bool {
    let [Some(live), Some(neutral)] = ["live", "neutral"].map(|leg| circuit.leg_net(inlet, leg)) else {
        return false;
    };
    let wire = |w: &Way| {
        let part = circuit.part(w.part);
        let bare = part.kind == Kind::Link && part.component.body.value.is_none_or(|ohms| ohms < SHORT_OHMS);
        bare || part.component.shorted || over_fuses && part.kind == Kind::Fuse
    };
    let wires: Vec<Way> = ways(circuit).into_iter().filter(wire).collect();
    positions(circuit, &switches(circuit), MOST_COMBINATIONS).into_iter().any(|at| {
        let closed = circuit.part_ids().flat_map(|id| contacts(circuit, id, at.get(&id)));
        Ways::new(wires.iter().copied().chain(closed)).reached(live, |_| true).contains(&neutral)
    })
}

/// Contacts of a switch that are closed in a position, by default its own.
fn contacts(circuit: &Circuit, id: PartId, position: Option<&String>) -> Vec<Way> {
    let part = circuit.part(id);
    let now = position.or(part.component.body.now.as_ref()).filter(|_| part.fitted());
    let lug = |index: u32| part.legs.get(index as usize).and_then(|leg| leg.net);
    let closed = part.component.body.contacts.iter().filter(|c| Some(&c.position) == now);
    closed
        .filter_map(|c| Some(Way { part: id, a: lug(c.a)?, b: lug(c.b)?, ohms: Some(0.0), track: false }))
        .collect()
}

fn reaches_primary(circuit: &Circuit, seen: &BTreeSet<NetId>) -> bool {
    circuit.parts.iter().any(|part| {
        part.kind == Kind::MainsTransformer
            && part.fitted()
            && part
                .legs
                .iter()
                .any(|l| l.name.starts_with("primary") && l.net.is_some_and(|n| seen.contains(&n)))
    })
}
