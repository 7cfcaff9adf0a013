//! Where the supplies begin: sources, and rectifiers on a mains transformer's windings.
//!
//! ```text
//! T1.ht a – D1 → A, T1.ht b – D2 → A, centre at chassis; T1.ht a – R 47k – n, D3 (cathode at n) → −:
//! ac        ht.a, ht.b; n, behind a resistor and with a diode: derived
//! forward   from ht.a over D1 to A: a plus output, from which no diode goes on: a start
//! backward  from n against D3: a minus output, no start, so a negative supply
//! claims    D1, D2 rectifiers, D3 the bias rectifier, the 47k its dropper
//! ```

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::spell::Spot;
use super::view::{GROUND, Node, Step};
use super::work::Work;
use crate::circuit::{Circuit, Heater, PartId, TubeModel, Winding};
use crate::model::{Kind, RoleKind};
use crate::recognise::flow::Flow;

/// Below this, volts feed heaters, relays and lamps, not plates (common practice).
pub(super) const LOW_VOLTS: f64 = 40.0;
/// A resistance from a rectifier's minus to chassis up to this carries the whole current: back bias (common practice).
const RETURN_OHMS: f64 = 1000.0;

/// Finds sources and rectifiers and claims their parts.
pub(super) fn begin(work: &mut Work) {
    sources(work);
    let low = windings(work);
    let derived = derived_ac(work);
    let mut ends = Ends { low, derived, ..Ends::default() };
    rectify(work, &mut ends);
    steady_ends(work, &ends);
    starts(work, &ends);
    diodes(work, &ends);
}

#[derive(Default)]
struct Ends {
    low: BTreeSet<Node>,
    /// Nodes behind a part in series with a winding, with that part.
    derived: BTreeMap<Node, Step>,
    /// Outputs above: the diode that ends there and whether the winding is low.
    plus: BTreeMap<Node, (Step, bool)>,
    /// Outputs below, raw bias among them.
    minus: BTreeMap<Node, (Step, bool)>,
    /// Diodes crossed on the way to a plus or a minus output.
    crossed: Vec<(Step, Node, bool)>,
}

fn sources(work: &mut Work) {
    for part in work.view.parts_of_kind(Kind::Source) {
        let ends = (work.view.leg(part, "plus"), work.view.leg(part, "minus"));
        let (Some(plus), Some(minus)) = ends else { continue };
        let name = work.circuit().part(part).name.clone();
        let volts = work.circuit().part(part).component.body.value;
        let fed = work.view.joined(part);
        match (work.view.node(plus), work.view.node(minus)) {
            // Plus at chassis: a source that stands on its head is a negative supply.
            (Some(GROUND), Some(node)) if node != GROUND => {
                let why = format!("chassis — {name} — {}", work.node_name(node));
                work.negative.push(node);
                work.claim(part, RoleKind::SupplySource, why);
            }
            (Some(node), minus) if node != GROUND => {
                let Some(entry) = work.view.seat(plus) else { continue };
                let why = format!("{name} — {}", work.net_name(entry));
                if minus.is_some() && volts.is_none_or(|v| v >= LOW_VOLTS) {
                    work.starts.push((node, entry, fed, why.clone()));
                }
                work.claim(part, RoleKind::SupplySource, why);
            }
            _ => work.claim(part, RoleKind::SupplySource, name),
        }
    }
}

/// AC ends of the secondaries; returns those of low windings.
fn windings(work: &mut Work) -> BTreeSet<Node> {
    let mut low = BTreeSet::new();
    for part in work.view.parts_of_kind(Kind::MainsTransformer) {
        let body = &work.circuit().part(part).component.body;
        let circuit = work.circuit();
        let secondary =
            |w: &&Winding| !w.name.starts_with("primary") && !heats_rectifier(circuit, part, &w.name);
        for winding in body.windings.iter().filter(secondary) {
            let mut ends = vec![("a".to_owned(), winding.volts), ("b".to_owned(), winding.volts)];
            ends.extend(winding.taps.iter().map(|(name, volts, _)| (name.clone(), *volts)));
            for (end, volts) in ends {
                let node = work.view.node_at(part, &format!("{}.{end}", winding.name));
                let Some(node) = node.filter(|n| *n != GROUND) else { continue };
                work.ac.insert(node);
                if volts < LOW_VOLTS {
                    low.insert(node);
                }
            }
        }
    }
    // A standby switch may stand between winding and rectifier.
    for throw in work.view.throws.clone() {
        for (near, far) in [(throw.a, throw.b), (throw.b, throw.a)] {
            if work.ac.contains(&near) && !low.contains(&near) && far != GROUND {
                work.ac.insert(far);
            }
        }
    }
    low
}

/// Whether a winding heats a rectifier valve: where that one's cathode is its heater, it stands at the HT.
fn heats_rectifier(circuit: &Circuit, transformer: PartId, winding: &str) -> bool {
    let rectifier = |valve: &PartId| {
        let tube = circuit
            .part(*valve)
            .component
            .body
            .type_name
            .as_deref()
            .and_then(|name| circuit.types.tube(name));
        tube.is_some_and(|tube| matches!(tube.model, Some(TubeModel::Rectifier { .. })))
    };
    let feeds = |heater: &Heater| heater.transformer == transformer && heater.winding == winding;
    circuit.heaters.iter().any(|heater| feeds(heater) && heater.valves.iter().all(rectifier))
}

/// Nodes with a diode behind a resistor or capacitor from a winding.
fn derived_ac(work: &mut Work) -> BTreeMap<Node, Step> {
    let mut derived = BTreeMap::new();
    for node in work.ac.clone() {
        for step in work.view.steps_by(node, &[Flow::Resistive, Flow::Capacitive]) {
            let Some(end) = work.view.chain(step).last().map(Step::end) else { continue };
            if end != GROUND && !work.ac.contains(&end) && !work.has_pins(end) && swings(work, step, end) {
                derived.entry(end).or_insert(step);
            }
        }
    }
    work.ac.extend(derived.keys().copied());
    derived
}

/// Whether a winding's alternating volts arrive at the diodes of a node: not where a reservoir holds it still, as a
/// doubler's output beside the resistors and capacitors from its middle.
fn swings(work: &Work, step: Step, end: Node) -> bool {
    let diodes = work.view.steps_by(end, &[Flow::Diode]);
    let both = diodes.iter().any(|s| s.back) && diodes.iter().any(|s| !s.back);
    let held = work.view.steps_by(end, &[Flow::Capacitive]).iter().any(|s| work.is_big(s.part()));
    let by_capacitor = step.arm.flow == Flow::Capacitive;
    // What charges a large capacitor in series must let it go the other way too: a half-wave doubler's.
    if by_capacitor && work.is_big(step.part()) {
        both
    } else {
        !diodes.is_empty() && (by_capacitor || !held)
    }
}

/// Ends of high windings that stand still, as a rail that feeds something: a doubler's middle on its lower reservoir,
/// the centre of a winding with a bridge.
fn steady_ends(work: &mut Work, ends: &Ends) {
    let fed = ends.crossed.iter().any(|(s, _, forward)| *forward && work.view.joined(s.part()));
    for part in work.view.parts_of_kind(Kind::MainsTransformer) {
        let windings = &work.circuit().part(part).component.body.windings;
        for winding in windings.iter().filter(|w| w.volts >= LOW_VOLTS && !w.name.starts_with("primary")) {
            for end in ["a", "b", "centre"] {
                let Some(leg) = work.view.leg(part, &format!("{}.{end}", winding.name)) else { continue };
                let (Some(node), Some(entry)) = (work.view.node(leg), work.view.seat(leg)) else { continue };
                let still = match end {
                    "centre" => bridged(work, ends, part, &winding.name),
                    _ => held_still(work, node),
                };
                if node != GROUND && still && serves(work, node, ends) {
                    let why = format!("{} — {}", work.circuit().part(part).name, work.net_name(entry));
                    work.ac.remove(&node);
                    work.starts.push((node, entry, fed, why));
                }
            }
        }
    }
}

/// Whether a winding's end leads over diodes both to an output and from chassis.
fn bridged(work: &Work, ends: &Ends, transformer: PartId, winding: &str) -> bool {
    let end = work.view.node_at(transformer, &format!("{winding}.a"));
    let crossed = |to_ground: bool| {
        ends.crossed.iter().any(|(s, ac, forward)| {
            Some(*ac) == end && *forward != to_ground && (s.end() == GROUND) == to_ground
        })
    };
    crossed(true) && crossed(false)
}

/// A large capacitor straight to chassis.
fn held_still(work: &Work, node: Node) -> bool {
    let down = |s: &Step| s.end() == GROUND && work.is_big(s.part());
    work.view.steps_by(node, &[Flow::Capacitive]).iter().any(down)
}

/// Declared a rail, or something is fed from it at once or over a filter of its own.
fn serves(work: &Work, node: Node, ends: &Ends) -> bool {
    let declared = work.view.nets(node).iter().any(|n| work.declared_rail(*n));
    let filter = |s: Step| {
        let end = work.view.chain(s).last().map_or(GROUND, Step::end);
        end != GROUND && !ends.plus.contains_key(&end) && !work.ac.contains(&end) && held_still(work, end)
    };
    let onward = work.view.steps_by(node, &[Flow::Resistive, Flow::Wound]).into_iter().any(filter);
    declared || super::rails::feeds(work, node, None) > 0 || onward
}

/// Follows diodes from every AC node, forward to plus outputs and backward to minus outputs.
fn rectify(work: &Work, ends: &mut Ends) {
    for node in &work.ac {
        // Both directions from every end: a bridge's diodes are met forward from one end and backward from the other.
        for forward in [true, false] {
            let mut queue = VecDeque::from([*node]);
            let mut seen = BTreeSet::from([*node]);
            while let Some(at) = queue.pop_front() {
                for step in diode_steps(work, at, forward) {
                    let end = step.end();
                    if !work.ac.contains(&end) && seen.insert(end) {
                        // Diodes on from an output to a winding are those of a supply that stands on it.
                        let onward = diode_steps(work, end, forward);
                        let last = end == GROUND || onward.iter().all(|s| work.ac.contains(&s.end()));
                        let low = ends.low.contains(node);
                        ends.crossed.push((step, *node, forward));
                        match (last, forward) {
                            (true, true) => drop(ends.plus.entry(end).or_insert((step, low))),
                            (true, false) => drop(ends.minus.entry(end).or_insert((step, low))),
                            (false, _) => queue.push_back(end),
                        }
                    } else if !work.ac.contains(&end) {
                        ends.crossed.push((step, *node, forward));
                    }
                }
            }
        }
    }
}

/// Diodes out of a node in their forward direction, or against it.
fn diode_steps(work: &Work, node: Node, forward: bool) -> Vec<Step> {
    let mut steps = work.view.steps_by(node, &[Flow::Diode]);
    steps.retain(|s| {
        // Zeners clamp and LEDs show: neither makes a supply.
        s.back != forward && work.kind(s.part()) != Kind::Zener && work.kind(s.part()) != Kind::Led
    });
    steps
}

fn starts(work: &mut Work, ends: &Ends) {
    for (node, (step, low)) in &ends.plus {
        if *node == GROUND || *low {
            continue;
        }
        let Some(entry) = work.view.seat(step.exit()) else { continue };
        let fed = ends.crossed.iter().any(|(s, _, f)| *f && s.end() == *node && work.view.joined(s.part()));
        let why = format!("{} — {}", work.circuit().part(step.part()).name, work.net_name(entry));
        work.starts.push((*node, entry, fed, why));
    }
    for node in ends.minus.keys() {
        // A supply that stands on another one's output is no negative one.
        // Both a plus and a minus output: the node between two stacked supplies.
        if *node != GROUND && !ends.plus.contains_key(node) && !returns(work, *node) {
            work.negative.push(*node);
        }
    }
}

/// Whether a minus output is only the return of the plus one.
fn returns(work: &Work, node: Node) -> bool {
    let resistor =
        |s: &Step| s.end() == GROUND && work.view.value(s.part()).is_some_and(|r| r <= RETURN_OHMS);
    work.view.steps_by(node, &[Flow::Resistive]).iter().any(resistor)
}

fn diodes(work: &mut Work, ends: &Ends) {
    let biased = |work: &Work, ac: Node| {
        ends.crossed.iter().any(|(s, a, f)| *a == ac && !f && work.negative.contains(&s.end()))
    };
    let mut found: Vec<(PartId, RoleKind, String)> = Vec::new();
    for (step, ac, forward) in &ends.crossed {
        let bias = if *forward {
            step.end() == GROUND && biased(work, *ac)
        } else {
            work.negative.contains(&step.end())
        };
        let kind = if bias { RoleKind::BiasRectifier } else { RoleKind::Rectifier };
        let why = work.path(Spot::Node(*ac), &[*step], Spot::Node(step.end()));
        found.push((step.part(), kind, why));
    }
    for (node, step) in &ends.derived {
        let doubles = step.arm.flow == Flow::Capacitive && work.is_big(step.part());
        let kind = match (biased(work, *node), doubles) {
            (true, _) => RoleKind::BiasDropper,
            (false, true) => RoleKind::Reservoir,
            (false, false) => RoleKind::InrushLimiter,
        };
        for link in work.view.chain(*step) {
            let why = work.path(
                Spot::Node(if step.back { step.arm.to } else { step.arm.from }),
                &[*step],
                Spot::Node(*node),
            );
            found.push((link.part(), kind, why));
        }
    }
    // A bias rectifier's claim goes before a rectifier's: one diode has one use.
    found.sort_by_key(|(part, kind, _)| (*kind == RoleKind::Rectifier, *part));
    for (part, kind, why) in found {
        work.claim(part, kind, why);
    }
}
