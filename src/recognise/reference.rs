//! Where a grid's direct path leads: the net that sets its volts, and the resistors on the way.
//!
//! ```text
//! Grid – 10k stopper – n; n – 1M – chassis; n – 100k – plate of the stage before:
//! open      n at 10k
//! next      the plate at 110k, before chassis at 1010k: nearest by resistance
//! answer    the plate's net, 110k: direct coupling sets the grid, whatever the leak says
//! (Shortest ways: E. W. Dijkstra, 1959; the open nodes are few, so the nearest is looked for in a list.)
//! ```

use std::collections::BTreeMap;

use super::recognised::{Recognised, Section};
use super::view::{Arm, GROUND, Node, Step, View};
use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::model::Kind;
use crate::recognise::flow::Flow;

/// Where a grid's direct path leads.
#[derive(Debug, Clone, PartialEq)]
pub struct GridReference {
    /// The net that sets the grid's volts: chassis, a bias net, a cathode's, a plate's of the stage before.
    pub net: NetId,
    /// Parts from the grid to it, in series.
    pub parts: Vec<PartId>,
    /// Their resistance with controls as set; `None` where a value is not known.
    pub ohms: Option<f64>,
}

/// The nearest reference of a section's grid by resistance, through what is really joined. `None`: the grid floats.
pub(super) fn grid_reference(
    circuit: &Circuit,
    recognised: &Recognised,
    section: &Section,
) -> Option<GridReference> {
    let view = View::as_connected(circuit);
    let leg = |electrode: &str| {
        let name = if section.letter.is_empty() {
            electrode.to_owned()
        } else {
            format!("{}.{electrode}", section.letter)
        };
        view.node_at(section.tube, &name)
    };
    let grid = leg("grid")?;
    let cathode = leg("cathode");
    let mut best: BTreeMap<Node, Way> = BTreeMap::from([(grid, Way::default())]);
    let mut open = vec![grid];
    while let Some(node) = nearest(&mut open, &best) {
        let way = best[&node].clone();
        // The grid's own node may be a plate's or a rail: only what it leads to is a reference.
        if node != grid && settles(&view, recognised, node, cathode) || node == GROUND {
            let mut parts = way.parts;
            parts.dedup();
            return Some(GridReference {
                net: net_in(&view, recognised, node),
                parts,
                ohms: way.known.then_some(way.ohms),
            });
        }
        for step in view.steps_by(node, &[Flow::Resistive, Flow::Wound]) {
            let ohms = resistance(circuit, &step.arm);
            // An unknown value counts 0 Ω: the way is told, its resistance is not.
            let next = way.with(step, ohms);
            let better = best.get(&step.end()).is_none_or(|w| next.ohms < w.ohms);
            if better {
                best.insert(step.end(), next);
                open.push(step.end());
            }
        }
    }
    None
}

#[derive(Debug, Clone)]
struct Way {
    parts: Vec<PartId>,
    ohms: f64,
    known: bool,
}

impl Default for Way {
    fn default() -> Way {
        Way { parts: Vec::new(), ohms: 0.0, known: true }
    }
}

impl Way {
    fn with(&self, step: Step, ohms: Option<f64>) -> Way {
        let mut parts = self.parts.clone();
        parts.push(step.part());
        Way { parts, ohms: self.ohms + ohms.unwrap_or(0.0), known: self.known && ohms.is_some() }
    }
}

/// Takes the open node with the least resistance.
fn nearest(open: &mut Vec<Node>, best: &BTreeMap<Node, Way>) -> Option<Node> {
    let (index, _) = open
        .iter()
        .enumerate()
        .min_by(|(_, a), (_, b)| best[a].ohms.total_cmp(&best[b].ohms).then(a.cmp(b)))?;
    Some(open.swap_remove(index))
}

/// Whether a node sets volts: a bias net, a rail, a cathode (the section's own), another valve's plate.
fn settles(view: &View, recognised: &Recognised, node: Node, cathode: Option<Node>) -> bool {
    let nets = view.nets(node);
    let known =
        nets.iter().any(|n| recognised.bias.contains(n) || recognised.rails.iter().any(|r| r.net == *n));
    let plate = |leg: &LegId| {
        let part = view.circuit.part(leg.part);
        part.kind == Kind::Tube && part.legs[leg.leg as usize].name.rsplit('.').next() == Some("plate")
    };
    node == GROUND || known || cathode == Some(node) || view.legs_at(node).iter().any(plate)
}

fn net_in(view: &View, recognised: &Recognised, node: Node) -> NetId {
    let nets = view.nets(node);
    let known =
        nets.iter().find(|n| recognised.bias.contains(n) || recognised.rails.iter().any(|r| r.net == **n));
    *known.unwrap_or(&nets[0])
}

/// Resistance of an arm: of a pot, by its shaft and taper.
fn resistance(circuit: &Circuit, arm: &Arm) -> Option<f64> {
    let part = circuit.part(arm.part);
    if arm.flow == Flow::Wound {
        return part.component.body.ohms.or(Some(0.0));
    }
    let value = part.value()?;
    if !arm.pot {
        return Some(value);
    }
    let below = part.wiper_share();
    let (low, high) = (arm.a.leg.min(arm.b.leg), arm.a.leg.max(arm.b.leg));
    match (low, high) {
        (0, 1) => Some(value * (1.0 - below)),
        (1, 2) => Some(value * below),
        (2, tap) => part.component.body.taps.get(tap as usize - 3).map(|t| value * t),
        _ => None,
    }
}
