//! An output stage taken out of its amplifier: its valves between the held supplies, its transformer opened into
//! sources, its load as the plates see it.

use std::collections::BTreeMap;

use crate::circuit::{Circuit, PartId};
use crate::model::Kind;
use crate::numeric::ac::linearised::{Drive, Linearised};
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::{CHASSIS, Law, Network, Node, Winding};
use crate::numeric::outcome::Unsolved;
use crate::recognise::{Recognised, Section};
use crate::solve::large_signal::cycle::{Cathode, Grid, Stage, Valve};
use crate::solve::large_signal::frozen::{Cutting, cut_out, held};
use crate::solve::large_signal::transfer::element;
use crate::solve::signal::model::{Rig, linked};
use crate::solve::signal::ports::{Port, electrode};

/// The first output stage whose plates sit on a transformer that a speaker loads, loaded as at a frequency.
pub(in crate::solve) fn output_stage(
    rig: &Rig,
    circuit: &Circuit,
    recognised: &Recognised,
    ports: &[Port],
    hertz: f64,
) -> Result<Option<Stage>, Unsolved> {
    let Some(stage) = recognised.stages.iter().position(|s| s.kind.is_output()) else { return Ok(None) };
    let own: Vec<&Port> = ports.iter().filter(|p| p.stage == stage).collect();
    let Some(core) = core(rig, circuit, &own) else { return Ok(None) };
    let Some(load) = loaded(rig, &own, &core, hertz)? else { return Ok(None) };
    let Some(mut opened) = Opened::new(rig, circuit, held(rig, recognised), &own, &core) else {
        return Ok(None);
    };
    opened.windings.iter().for_each(|(source, _)| opened.cutting.set(*source, 0.0));
    let rest = Prepared::new(&opened.cutting.network).and_then(|mut prepared| {
        let rest = prepared.solve(&opened.cutting.network, None)?;
        Ok((prepared, rest))
    });
    let Ok((prepared, rest)) = rest else { return Ok(None) };
    let halves = core.sides.len() as f64;
    Ok(Some(Stage {
        index: stage,
        transformer: core.part,
        sections: opened.sections,
        load_ohms: load.reflected,
        speaker_ohms: load.speaker_ohms,
        ratio: load.ratio * halves,
        // By the square of the turns: a half sees a quarter of what lies plate to plate.
        half_ohms: load.reflected / (halves * halves),
        grids: opened.grids,
        cutting: opened.cutting,
        prepared,
        windings: opened.windings,
        valves: opened.valves,
        cathodes: opened.cathodes,
        rest,
    }))
}

/// The output transformer of a stage.
struct Core {
    element: usize,
    part: PartId,
    /// Winding of each side, and the node of its plate.
    sides: Vec<(Winding, Node)>,
}

fn core(rig: &Rig, circuit: &Circuit, own: &[&Port]) -> Option<Core> {
    let plates: Vec<Node> = own
        .iter()
        .map(|port| electrode(circuit, port.sections.first()?, "plate").and_then(|net| rig.node(net)))
        .collect::<Option<_>>()?;
    rig.lowered.network.elements.iter().enumerate().find_map(|(index, element)| {
        let Law::Windings { windings, .. } = &element.law else { return None };
        let part = rig.lowered.elements[index].part?;
        let output = circuit.part(part).kind == Kind::OutputTransformer;
        // A stopper of 0 Ω or a link may stand between plate and transformer.
        let on = |plate: &Node| {
            let plates = linked(&rig.lowered.network, vec![*plate]);
            windings.iter().find_map(|w| {
                let end = [w.a, w.b].into_iter().find(|end| plates.contains(end))?;
                Some((*w, end))
            })
        };
        let sides: Option<Vec<(Winding, Node)>> = plates.iter().map(on).collect();
        sides.filter(|_| output).map(|sides| Core { element: index, part, sides })
    })
}

/// What the primary shows at a frequency, the stage's own valves away.
struct Loaded {
    /// Of the whole driven primary, its resistance taken off.
    reflected: f64,
    /// Speaker volts for a volt of all driven windings together.
    ratio: f64,
    speaker_ohms: f64,
}

fn loaded(rig: &Rig, own: &[&Port], core: &Core, hertz: f64) -> Result<Option<Loaded>, Unsolved> {
    let Some(load) = rig.load else { return Ok(None) };
    let mut network = rig.lowered.network.clone();
    for section in own.iter().flat_map(|port| &port.sections) {
        if let Some(at) = element(rig, section) {
            let ends = network.elements[at].law.ends();
            network.elements[at].law = Law::Capacitor { a: ends[0], b: ends[0], farads: 0.0 };
        }
    }
    let mut linear = Linearised::new(&network, &rig.point, Drive::Sources)?;
    linear.tune(hertz)?;
    let far = |side: &(Winding, Node)| if side.0.a == side.1 { side.0.b } else { side.0.a };
    let (from, to) = match core.sides.as_slice() {
        [one] => (one.1, far(one)),
        [one, other, ..] => (one.1, other.1),
        [] => return Ok(None),
    };
    linear.inject(&[(from, 1.0), (to, -1.0)])?;
    let across = |a: Node, b: Node| Some(linear.phasor(a)? - linear.phasor(b)?);
    let (Some(whole), Some(out)) = (across(from, to), across(load.nodes.0, load.nodes.1)) else {
        return Ok(None);
    };
    let own: f64 = core.sides.iter().take(2).map(|side| side.0.ohms).sum();
    // The winding's own resistance stays with the plates, where the network has it, or it would count twice.
    let reflected = whole.re - own;
    // Without a load the magnetising inductance alone is left, which is no resistance.
    let sound = reflected > 0.0 && reflected.is_finite() && whole.im.abs() < whole.re;
    let ratio = out.re / reflected;
    Ok(sound.then_some(Loaded { reflected, ratio, speaker_ohms: load.ohms }))
}

/// The stage's part of the network with sources at its grids and for its windings.
struct Opened {
    cutting: Cutting,
    sections: Vec<Section>,
    grids: Vec<Grid>,
    windings: Vec<(usize, f64)>,
    valves: Vec<Valve>,
    cathodes: BTreeMap<usize, Cathode>,
}

/// A section with its side, its element and its nodes, in the whole network.
struct Seat {
    section: Section,
    side: f64,
    element: usize,
    grid: Node,
    cathode: Node,
}

impl Opened {
    fn new(rig: &Rig, circuit: &Circuit, mut network: Network, own: &[&Port], core: &Core) -> Option<Opened> {
        let sources = open_transformer(&mut network, core);
        let (seats, around) = seats(rig, circuit, own)?;
        let mut driven: Vec<Node> = Vec::new();
        for seat in &seats {
            if !driven.contains(&seat.grid) {
                driven.push(seat.grid);
                let volts = rig.point.volts(seat.grid)?;
                let law = Law::VoltageSource { plus: seat.grid, minus: CHASSIS, volts, ac_volts: 0.0 };
                network.add("test source", law);
            }
        }
        let at_rest = |n: Node| rig.point.volts(n).unwrap_or(0.0);
        let cutting = cut_out(&network, &around, &sources, at_rest);
        let winding = |(side, source): (usize, &usize)| Some((*cutting.element.get(source)?, sign(side)));
        let windings: Option<Vec<(usize, f64)>> = sources.iter().enumerate().map(winding).collect();
        let grid = |node: &Node| {
            let seat = seats.iter().find(|seat| seat.grid == *node)?;
            Some(Grid {
                source: *cutting.fixed.get(node)?,
                volts: at_rest(*node),
                side: seat.side,
                cathode: *cutting.node.get(&seat.cathode)?,
            })
        };
        let grids: Option<Vec<Grid>> = driven.iter().map(grid).collect();
        let mut cathodes: BTreeMap<usize, Cathode> = BTreeMap::new();
        let mut valves = Vec::new();
        for seat in &seats {
            let held = cutting.fixed.get(&seat.cathode).copied();
            let valve = rig.point.valve(seat.element)?;
            if let Some(held) = held {
                let new = Cathode { volts: at_rest(seat.cathode), amps: 0.0, gm: 0.0 };
                let cathode = cathodes.entry(held).or_insert(new);
                cathode.amps += valve.cathode_amps();
                cathode.gm += valve.gm + valve.gm_to_screen;
            }
            let element = *cutting.element.get(&seat.element)?;
            valves.push(Valve { element, side: seat.side, cathode: held });
        }
        let sections = seats.into_iter().map(|seat| seat.section).collect();
        Some(Opened { windings: windings?, grids: grids?, cutting, sections, valves, cathodes })
    }
}

/// The first side's currents count up, the second's down.
fn sign(side: usize) -> f64 {
    if side == 0 { 1.0 } else { -1.0 }
}

/// Every section of the stage, and the nodes of their plates, cathodes and screens.
fn seats(rig: &Rig, circuit: &Circuit, own: &[&Port]) -> Option<(Vec<Seat>, Vec<Node>)> {
    let node = |s: &Section, name: &str| electrode(circuit, s, name).and_then(|net| rig.node(net));
    let (mut seats, mut around) = (Vec::new(), Vec::new());
    for (side, port) in own.iter().enumerate() {
        for section in &port.sections {
            let (grid, cathode) = (node(section, "grid")?, node(section, "cathode")?);
            around.extend([node(section, "plate")?, cathode]);
            around.extend(node(section, "screen"));
            let element = element(rig, section)?;
            seats.push(Seat { section: section.clone(), side: sign(side), element, grid, cathode });
        }
    }
    Some((seats, around))
}

/// Puts a source and the winding's resistance for each side of the primary, and a resistor for each winding of
/// the secondary; gives the sources' positions. Positive volts take from each side's plate what it draws.
fn open_transformer(network: &mut Network, core: &Core) -> Vec<usize> {
    let Law::Windings { windings, .. } = network.elements[core.element].law.clone() else {
        return Vec::new();
    };
    let name = network.elements[core.element].name.clone();
    let far = |side: &(Winding, Node)| if side.0.a == side.1 { side.0.b } else { side.0.a };
    let spare = Law::Capacitor { a: CHASSIS, b: CHASSIS, farads: 0.0 };
    network.elements[core.element].law = spare;
    let mut sources = Vec::new();
    for side in &core.sides {
        let inner = network.add_node(format!("{name}, inside"));
        let law = Law::VoltageSource { plus: far(side), minus: inner, volts: 0.0, ac_volts: 0.0 };
        sources.push(network.add(name.clone(), law));
        network.add(name.clone(), Law::Resistor { a: inner, b: side.1, ohms: side.0.ohms });
    }
    for winding in windings.iter().filter(|w| !core.sides.iter().any(|side| side.0 == **w)) {
        network.add(name.clone(), Law::Resistor { a: winding.a, b: winding.b, ohms: 1.0 });
    }
    sources
}
