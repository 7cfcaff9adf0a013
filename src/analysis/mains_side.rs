//! Which nets have no DC path to chassis by design: those of the mains, and windings with their loads.

use std::collections::BTreeSet;

use crate::circuit::{CHASSIS, Circuit, NetId, PartId};
use crate::model::Kind;
use crate::solve::{Solved, Undefined};
use crate::source::{FileId, Problem, ProblemCode, Span};

/// Nets on the mains side of the transformer: joined to the inlet or a primary without passing a transformer.
pub fn mains_side(circuit: &Circuit) -> BTreeSet<NetId> {
    let mut found: BTreeSet<NetId> = BTreeSet::new();
    let mut open: Vec<NetId> = Vec::new();
    for part in circuit.parts.iter().filter(|p| p.fitted()) {
        for leg in &part.legs {
            let starts = match part.kind {
                Kind::Inlet => leg.name != "earth",
                Kind::MainsTransformer => leg.name.starts_with("primary"),
                _ => false,
            };
            open.extend(leg.net.filter(|_| starts));
        }
    }
    while let Some(net) = open.pop() {
        if net == CHASSIS || !found.insert(net) {
            continue;
        }
        for id in circuit.parts_on(net).into_iter().filter(|id| carries_mains(circuit, *id)) {
            open.extend(circuit.part(id).legs.iter().filter_map(|leg| leg.net));
        }
    }
    found
}

/// Parts through which the mains reaches the primary, or that lie across it.
fn carries_mains(circuit: &Circuit, part: PartId) -> bool {
    matches!(
        circuit.part(part).kind,
        Kind::Fuse
            | Kind::Switch
            | Kind::Relay
            | Kind::Link
            | Kind::Thermistor
            | Kind::Varistor
            | Kind::Capacitor
            | Kind::Inductor
            | Kind::Choke
            | Kind::Resistor
            | Kind::Lamp
    )
}

/// Nets without defined volts that nobody says are meant so: not marked `open`, not on the mains side, not a winding
/// with its loads alone, not the earth of a lead that has none.
pub fn cut_off(circuit: &Circuit, solved: &Solved) -> Vec<Undefined> {
    let mains = mains_side(circuit);
    let meant = |net: NetId| {
        mains.contains(&net)
            || winding_alone(circuit, net)
            || marked_open(circuit, net)
            || earth_of_two_cores(circuit, net)
    };
    solved.undefined.iter().filter(|u| !meant(u.net)).cloned().collect()
}

/// A stock spec is complete: each net cut off in it is a problem.
pub fn stock_islands(circuit: &Circuit, solved: &Solved) -> Vec<Problem> {
    let nets: Vec<NetId> = cut_off(circuit, solved).iter().map(|undefined| undefined.net).collect();
    islands(circuit, &nets).into_iter().collect()
}

/// One problem for all of them: one forgotten return cuts off many nets.
fn islands(circuit: &Circuit, nets: &[NetId]) -> Option<Problem> {
    let (first, others) = nets.split_first()?;
    let names: Vec<&str> = nets.iter().take(MOST_NAMED).map(|net| circuit.net(*net).name.as_str()).collect();
    let more = nets.len().saturating_sub(MOST_NAMED);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let have = if nets.len() == 1 { "has" } else { "have" };
    let message =
        format!("{}{more} {have} no DC path to chassis, so the volts there are undefined", names.join(", "));
    let mut problem =
        Problem::error(ProblemCode::StockIsland, place_of(circuit, *first), message).here("sits there");
    for net in others.iter().take(MOST_NAMED - 1) {
        problem = problem.also(place_of(circuit, *net), format!("and {}", circuit.net(*net).name));
    }
    Some(problem.help(
        "a stock spec is complete: look for a supply whose `minus` goes nowhere, a rail that no `source` or \
         rectifier feeds, a return left out; of a leg that is meant to be alone say `open LEG`",
    ))
}

/// Most nets named in one problem.
const MOST_NAMED: usize = 4;

fn place_of(circuit: &Circuit, net: NetId) -> Span {
    let here = circuit.net(net);
    let part = here.legs.first().map(|leg| circuit.part(leg.part).declared);
    let span = here.declared.as_ref().map(|d| d.span).or(part);
    span.unwrap_or(Span { file: FileId(0), start: 0, end: 0 })
}

fn marked_open(circuit: &Circuit, net: NetId) -> bool {
    circuit.net(net).legs.iter().any(|leg| circuit.part(leg.part).legs[leg.leg as usize].open)
}

/// A lead of two cores has no earth to be joined.
fn earth_of_two_cores(circuit: &Circuit, net: NetId) -> bool {
    circuit.net(net).legs.iter().all(|leg| {
        let part = circuit.part(leg.part);
        part.component.body.two_core && part.legs[leg.leg as usize].name == "earth"
    })
}

fn winding_alone(circuit: &Circuit, net: NetId) -> bool {
    circuit.net(net).legs.iter().all(|leg| {
        matches!(
            circuit.part(leg.part).kind,
            Kind::MainsTransformer
                | Kind::ReverbTransformer
                | Kind::OutputTransformer
                | Kind::Lamp
                | Kind::Speaker
                | Kind::Jack
                | Kind::Switch
                | Kind::Link
                | Kind::Fuse
                | Kind::Fitting
        )
    })
}
