//! From converged unknowns to the answer: volts, the current into every terminal, power.

use crate::numeric::dc::islands::Mode;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::{Law, Network};
use crate::numeric::point::{OperatingPoint, ValvePoint};

/// Reads an operating point off converged equations.
pub(crate) fn assemble(prepared: &Prepared, network: &Network) -> OperatingPoint {
    let mut point = OperatingPoint {
        volts: Vec::with_capacity(network.nodes.len()),
        island_of: prepared.islands.island_of.clone(),
        first_terminal: Vec::with_capacity(network.elements.len() + 1),
        amps: Vec::with_capacity(3 * network.elements.len()),
        watts: Vec::with_capacity(network.elements.len()),
        valves: vec![None; network.elements.len()],
        islands: prepared.islands.list.clone(),
        floating_grids: prepared.islands.floating_grids.clone(),
        unknowns: Vec::with_capacity(prepared.iteration.x.len()),
    };
    assemble_into(prepared, network, &mut point);
    point
}

/// As [`assemble`], into a point of the same equations: nothing is allocated but for ideal links.
pub(crate) fn assemble_into(prepared: &Prepared, network: &Network, point: &mut OperatingPoint) {
    let x = &prepared.iteration.x;
    point.unknowns.clone_from(x);
    point.volts.clear();
    point.volts.extend(prepared.layout.row.iter().map(|&row| x[row as usize]));
    [&mut point.amps, &mut point.watts].into_iter().for_each(Vec::clear);
    point.first_terminal.clear();
    // The point may be another sample's: a valve that is cut off now must not keep its figures.
    point.valves.fill(None);
    for device in &prepared.iteration.equations.devices {
        point.valves[device.element] = Some(device.point);
    }
    let mut branch_amps = prepared.iteration.equations.branches.iter().map(|branch| x[branch.row as usize]);
    for (index, element) in network.elements.iter().enumerate() {
        point.first_terminal.push(point.amps.len() as u32);
        let kind = (prepared.islands.modes[index] == Mode::Live, prepared.links.branched[index]);
        push_amps(point, index, &element.law, kind, &mut branch_amps);
    }
    point.first_terminal.push(point.amps.len() as u32);
    carry_links(prepared, network, &point.first_terminal, &mut point.amps);
    for (index, element) in network.elements.iter().enumerate() {
        let watts = watts(point, index, &element.law);
        point.watts.push(watts);
    }
}

/// Appends the currents into the element's terminals; links follow later.
fn push_amps(
    point: &mut OperatingPoint,
    index: usize,
    law: &Law,
    (live, branched): (bool, bool),
    branch_amps: &mut impl Iterator<Item = f64>,
) {
    let mut pair = |amps: f64| point.amps.extend([amps, -amps]);
    match *law {
        Law::Resistor { a, b, ohms } if ohms > 0.0 && !branched => {
            pair((point.volts[a] - point.volts[b]) / ohms);
        }
        // Held open until all other currents are known: what a link carries is what meets at its ends.
        Law::Resistor { ohms: 0.0, .. } | Law::Capacitor { .. } => pair(0.0),
        Law::Resistor { .. } | Law::Inductor { .. } | Law::VoltageSource { .. } => {
            pair(branch_amps.next().unwrap_or_default());
        }
        Law::Windings { ref windings, .. } => {
            for _ in windings {
                pair(branch_amps.next().unwrap_or_default());
            }
        }
        Law::CurrentSource { amps, .. } => pair(if live { amps } else { 0.0 }),
        Law::Triode { plate, grid, cathode, .. } => {
            let valve = across(point, index, [plate, cathode, grid, cathode]);
            point.amps.extend([valve.plate_amps, valve.grid_amps, -valve.cathode_amps()]);
        }
        Law::Pentode { plate, screen, grid, cathode, .. } => {
            let valve = across(point, index, [plate, screen, grid, cathode]);
            point.amps.extend([valve.plate_amps, valve.screen_amps, valve.grid_amps, -valve.cathode_amps()]);
        }
        Law::Diode { anode, cathode, .. }
        | Law::Zener { anode, cathode, .. }
        | Law::VacuumDiode { anode, cathode, .. } => {
            let valve = across(point, index, [anode, cathode, cathode, cathode]);
            point.amps.extend([valve.plate_amps, -valve.plate_amps]);
        }
    }
}

/// The valve's figures, with the volts between its electrodes where they are defined.
fn across(
    point: &mut OperatingPoint,
    index: usize,
    [plate, screen, grid, cathode]: [usize; 4],
) -> ValvePoint {
    let volts = [plate, screen, grid].map(|node| point.volts_between(node, cathode));
    // The devices' own volts are those of the rows, where an island's reference stands at 0 V and looks defined; and
    // a junction may have been evaluated a hair behind.
    let Some(valve) = &mut point.valves[index] else { return ValvePoint::default() };
    valve.plate_volts = volts[0].unwrap_or(0.0);
    valve.screen_volts = volts[1].unwrap_or(0.0);
    valve.grid_volts = volts[2].unwrap_or(0.0);
    *valve
}

/// Finds the currents of ideal links: each carries what flows out of all that hangs on it. `first` is the place
/// of each element's first terminal among `amps`.
pub(crate) fn carry_links(prepared: &Prepared, network: &Network, first: &[u32], amps: &mut [f64]) {
    if prepared.links.tree.is_empty() {
        return;
    }
    let mut out = vec![0.0; network.nodes.len()];
    for (element, &start) in network.elements.iter().zip(first) {
        let mut at = start as usize;
        element.law.each_terminal(|node| {
            out[node] += amps[at];
            at += 1;
        });
    }
    // Leaves first: when a link's turn comes all that hangs on its leaf has been passed on to it.
    for link in &prepared.links.tree {
        let into_leaf = out[link.leaf];
        out[link.root] += into_leaf;
        let first = first[link.element] as usize;
        let from_root =
            matches!(network.elements[link.element].law, Law::Resistor { a, .. } if a == link.root);
        let into_first = if from_root { into_leaf } else { -into_leaf };
        amps[first] = into_first;
        amps[first + 1] = -into_first;
    }
}

/// The power that the element absorbs.
fn watts(point: &OperatingPoint, index: usize, law: &Law) -> f64 {
    let amps = point.amps(index);
    match *law {
        // From the current, not the volts: those of a small resistance between large volts have no digits left.
        Law::Resistor { ohms, .. } | Law::Inductor { ohms, .. } => amps[0] * amps[0] * ohms,
        Law::VoltageSource { volts, .. } => amps[0] * volts,
        Law::CurrentSource { from, to, .. } => amps[0] * (point.volts[from] - point.volts[to]),
        Law::Windings { ref windings, .. } => {
            windings.iter().zip(amps.chunks(2)).map(|(winding, amps)| amps[0] * amps[0] * winding.ohms).sum()
        }
        Law::Triode { .. }
        | Law::Pentode { .. }
        | Law::Diode { .. }
        | Law::Zener { .. }
        | Law::VacuumDiode { .. } => point
            .valve(index)
            .map_or(0.0, |valve| valve.plate_watts() + valve.screen_watts() + valve.grid_watts()),
        Law::Capacitor { .. } => 0.0,
    }
}
