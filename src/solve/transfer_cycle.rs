//! One cycle of an output stage: at each step the transformer's volts are found at which the valves' currents are
//! those that the load draws.

use std::collections::BTreeMap;

use super::ac::{Drive, Linearised};
use super::gain_ports::{Port, electrode};
use super::network::{CHASSIS, Law, Network, Node, Winding};
use super::outcome::Unsolved;
use super::point::{OperatingPoint, ValvePoint};
use super::prepared::Prepared;
use super::response_rig::{Rig, linked};
use super::transfer::element;
use super::transfer_held::{Cutting, cut_out, held};
use crate::circuit::{Circuit, PartId};
use crate::recognise::{Recognised, Section};
use crate::syntax::tree::Kind;

/// Steps of a cycle.
const STEPS: usize = 48;
/// Cycles until the means have settled, at most.
const CYCLES: usize = 25;
/// Means that move by less than this share have settled.
const SETTLED: f64 = 1e-3;
/// The transformer's volts are found to this, in volts.
const VOLTS: f64 = 1e-4;

/// An output stage ready for cycles.
pub(super) struct Stage {
    /// Index into [`Recognised::stages`].
    pub(super) index: usize,
    pub(super) transformer: PartId,
    pub(super) sections: Vec<Section>,
    pub(super) load_ohms: f64,
    pub(super) speaker_ohms: f64,
    /// Load volts over volts of the driven winding (a half primary of a push-pull stage).
    ratio: f64,
    /// Transformer volts of a winding for each ampere in it.
    half_ohms: f64,
    cutting: Cutting,
    prepared: Prepared,
    /// Sources of the transformer's volts, with their sign.
    windings: Vec<(usize, f64)>,
    grids: Vec<Grid>,
    valves: Vec<Valve>,
    cathodes: BTreeMap<usize, Cathode>,
    rest: OperatingPoint,
}

struct Grid {
    source: usize,
    volts: f64,
    side: f64,
    cathode: Node,
}

struct Valve {
    element: usize,
    side: f64,
    cathode: Option<usize>,
}

/// A held cathode, by the position of its source: volts, and its sections' current and slope, at rest.
struct Cathode {
    volts: f64,
    amps: f64,
    gm: f64,
}

/// One cycle.
pub(super) struct Cycle {
    pub(super) drive: f64,
    pub(super) load_volts: Vec<f64>,
    pub(super) load_line: Vec<(f64, f64)>,
    /// Of each section the sums of plate amps, plate W, screen amps, screen W.
    pub(super) sums: Vec<[f64; 4]>,
    /// Mean difference of the sides' currents.
    mean: f64,
    /// Mean cathode current of each held cathode.
    cathodes: BTreeMap<usize, f64>,
}

impl Stage {
    /// The first output stage whose plates sit on a transformer that a speaker loads.
    pub(super) fn new(
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
        Ok(assemble(rig, (circuit, recognised), stage, &own, &core, &load))
    }

    /// The cycle at a share of full drive, means settled.
    pub(super) fn settle(&mut self, share: f64) -> Option<Cycle> {
        let mut mean: f64 = self.mean_at_rest();
        for (source, cathode) in &self.cathodes {
            self.cutting.set(*source, cathode.volts);
        }
        let mut cycle = self.cycle(share, mean)?;
        for _ in 0..CYCLES {
            let scale = self.valves.iter().map(|v| valve(&self.rest, v.element).plate_amps).sum::<f64>();
            let mut moved = (cycle.mean - mean).abs() / scale;
            mean = f64::midpoint(mean, cycle.mean);
            for (source, cathode) in &self.cathodes {
                let now = volts_of(&self.cutting.network, *source);
                let wanted = cathode.volts * cycle.cathodes.get(source).copied()? / cathode.amps;
                // More volts mean less current: Newton's step by the slope at rest.
                let next = now + (wanted - now) / (1.0 + cathode.gm * cathode.volts.abs() / cathode.amps);
                moved = moved.max((next - now).abs() / cathode.volts.abs().max(1e-3));
                self.cutting.set(*source, next);
            }
            cycle = self.cycle(share, mean)?;
            if moved < SETTLED {
                break;
            }
        }
        Some(cycle)
    }

    fn mean_at_rest(&self) -> f64 {
        self.valves.iter().map(|v| v.side * valve(&self.rest, v.element).plate_amps).sum()
    }

    /// Peak drive at which the first grid reaches its cathode.
    fn full_drive(&self) -> f64 {
        let room = |grid: &Grid| {
            let held = self.cutting.fixed.values().find(|s| {
                matches!(self.cutting.network.elements[**s].law,
                    Law::VoltageSource { plus, .. } if plus == grid.cathode)
            });
            let cathode = match held {
                Some(source) => volts_of(&self.cutting.network, *source),
                None => self.rest.volts(grid.cathode).unwrap_or(0.0),
            };
            cathode - grid.volts
        };
        self.grids.iter().map(room).fold(f64::INFINITY, f64::min).max(0.0)
    }

    fn cycle(&mut self, share: f64, mean: f64) -> Option<Cycle> {
        let drive = share * self.full_drive();
        let mut cycle = Cycle {
            drive,
            load_volts: Vec::new(),
            load_line: Vec::new(),
            sums: vec![[0.0; 4]; self.valves.len()],
            mean: 0.0,
            cathodes: BTreeMap::new(),
        };
        let (mut point, mut volts) = (self.rest.clone(), 0.0);
        let steps = if share == 0.0 { 1 } else { STEPS };
        for step in 0..steps {
            let angle = std::f64::consts::TAU * (step as f64 + 0.5) / steps as f64;
            let swing = if steps == 1 { 0.0 } else { drive * libm::sin(angle) };
            for grid in 0..self.grids.len() {
                let Grid { source, volts, side, .. } = self.grids[grid];
                self.cutting.set(source, volts + side * swing);
            }
            (point, volts) = self.balance(point, volts, mean)?;
            cycle.take(self, &point, volts);
        }
        cycle.mean /= steps as f64;
        cycle.cathodes.values_mut().for_each(|amps| *amps /= steps as f64);
        Some(cycle)
    }

    /// The transformer's volts at which valves and load agree, from those of the step before: Newton's steps by
    /// the plates' conductance, between bounds that only close in.
    fn balance(&mut self, mut point: OperatingPoint, start: f64, mean: f64) -> Option<(OperatingPoint, f64)> {
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut volts = start;
        for _ in 0..60 {
            for (source, sign) in &self.windings {
                self.cutting.set(*source, sign * volts);
            }
            point = self.prepared.solve(&self.cutting.network, Some(&point)).ok()?;
            let amps: f64 = self.valves.iter().map(|v| v.side * valve(&point, v.element).plate_amps).sum();
            let slope: f64 = self.valves.iter().map(|v| valve(&point, v.element).gp).sum();
            let miss = volts - self.half_ohms * (amps - mean);
            if miss > 0.0 {
                high = high.min(volts);
            } else {
                low = low.max(volts);
            }
            let step = miss / (1.0 + self.half_ohms * slope);
            if step.abs() < VOLTS {
                return Some((point, volts));
            }
            let next = volts - step;
            volts = if next > low && next < high { next } else { f64::midpoint(low, high) };
        }
        Some((point, volts))
    }
}

impl Cycle {
    fn take(&mut self, stage: &Stage, point: &OperatingPoint, volts: f64) {
        self.load_volts.push(volts * stage.ratio);
        for (sum, v) in self.sums.iter_mut().zip(&stage.valves) {
            let now = valve(point, v.element);
            let parts = [now.plate_amps, now.plate_watts(), now.screen_amps, now.screen_watts()];
            sum.iter_mut().zip(parts).for_each(|(sum, part)| *sum += part);
            self.mean += v.side * now.plate_amps;
            if let Some(cathode) = v.cathode {
                *self.cathodes.entry(cathode).or_default() += now.cathode_amps();
            }
        }
        if let Some(first) = stage.valves.first() {
            let now = valve(point, first.element);
            self.load_line.push((now.plate_volts, now.plate_amps));
        }
    }
}

fn valve(point: &OperatingPoint, element: usize) -> ValvePoint {
    point.valve(element).copied().unwrap_or_default()
}

fn volts_of(network: &Network, source: usize) -> f64 {
    match network.elements[source].law {
        Law::VoltageSource { volts, .. } => volts,
        _ => 0.0,
    }
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
    let reflected = whole.re - own;
    // Without a load the magnetising inductance alone is left, which is no resistance.
    let sound = reflected > 0.0 && reflected.is_finite() && whole.im.abs() < whole.re;
    let ratio = out.re / reflected;
    Ok(sound.then_some(Loaded { reflected, ratio, speaker_ohms: load.ohms }))
}

fn assemble(
    rig: &Rig,
    (circuit, recognised): (&Circuit, &Recognised),
    index: usize,
    own: &[&Port],
    core: &Core,
    load: &Loaded,
) -> Option<Stage> {
    let mut network = held(rig, recognised);
    let sources = open_transformer(&mut network, core);
    let push_pull = core.sides.len() > 1;
    let sign = |side: usize| if side == 0 { 1.0 } else { -1.0 };
    let node = |s: &Section, name: &str| electrode(circuit, s, name).and_then(|net| rig.node(net));
    let (mut grids, mut around, mut sections) = (Vec::new(), Vec::new(), Vec::new());
    for (side, port) in own.iter().enumerate() {
        for section in &port.sections {
            let (grid, cathode) = (node(section, "grid")?, node(section, "cathode")?);
            around.extend([node(section, "plate")?, cathode]);
            around.extend(node(section, "screen"));
            sections.push((section.clone(), sign(side), element(rig, section)?, cathode));
            if !grids.iter().any(|g: &(usize, Node, f64, Node, f64)| g.1 == grid) {
                let volts = rig.point.volts(grid)?;
                let law = Law::VoltageSource { plus: grid, minus: CHASSIS, volts, ac_volts: 0.0 };
                grids.push((network.add("test source", law), grid, sign(side), cathode, volts));
            }
        }
    }
    let at_rest = |n: Node| rig.point.volts(n).unwrap_or(0.0);
    let mut cutting = cut_out(&network, &around, &sources, at_rest);
    let mut windings = Vec::new();
    for (side, source) in sources.iter().enumerate() {
        windings.push((*cutting.element.get(source)?, sign(side)));
    }
    let grids: Option<Vec<Grid>> = grids
        .into_iter()
        .map(|(_, node, side, cathode, volts)| {
            let cathode = *cutting.node.get(&cathode)?;
            Some(Grid { source: *cutting.fixed.get(&node)?, volts, side, cathode })
        })
        .collect();
    let mut cathodes: BTreeMap<usize, Cathode> = BTreeMap::new();
    let mut valves = Vec::new();
    for (_, side, element, cathode) in &sections {
        let held = cutting.fixed.get(cathode).copied();
        let at_rest_valve = rig.point.valve(*element)?;
        if let Some(held) = held {
            let volts = at_rest(*cathode);
            let cathode = cathodes.entry(held).or_insert(Cathode { volts, amps: 0.0, gm: 0.0 });
            cathode.amps += at_rest_valve.cathode_amps();
            cathode.gm += at_rest_valve.gm + at_rest_valve.gm_to_screen;
        }
        valves.push(Valve { element: *cutting.element.get(element)?, side: *side, cathode: held });
    }
    for (source, _) in &windings {
        cutting.set(*source, 0.0);
    }
    let mut prepared = Prepared::new(&cutting.network).ok()?;
    let rest = prepared.solve(&cutting.network, None).ok()?;
    let halves = if push_pull { 2.0 } else { 1.0 };
    Some(Stage {
        index,
        transformer: core.part,
        sections: sections.into_iter().map(|s| s.0).collect(),
        load_ohms: load.reflected,
        speaker_ohms: load.speaker_ohms,
        ratio: load.ratio * halves,
        half_ohms: load.reflected / (halves * halves),
        grids: grids?,
        cutting,
        prepared,
        windings,
        valves,
        cathodes,
        rest,
    })
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
