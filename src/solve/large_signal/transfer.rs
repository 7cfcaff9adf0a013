//! Large signals, quasi-static: a stage's output against its grid with every coupling, bypass, screen and filter
//! capacitor at the volts it has at rest, and where it clips. Feedback through the output transformer is open.
//!
//! ```text
//! A triode at −1.5 V and 150 V, mu 100: cut off within about 1.5 + 150/100 + 0.1 = 3.1 V, so steps of 97 mV
//! slope     −60 at rest; march upwards: −60, −59, … each step's share of it by the share of the drive that arrives
//! up        at +1.5 V the grid conducts: behind 100 kΩ the source delivers half, 0.5: clipped by grid current
//! down      at −1.4 V the slope is 29: clipped by cut-off
//! asymmetry 1.5 / 1.4 = 1.07, within 1.25: centred
//! ```

use crate::circuit::Circuit;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::{CHASSIS, Law, Network, Node};
use crate::numeric::outcome::Unsolved;
use crate::numeric::point::{OperatingPoint, ValvePoint};
use crate::recognise::{Recognised, Section};
use crate::solve::large_signal::frozen::held;
use crate::solve::signal::gain::{GAIN_HERTZ, Gains, drive_port};
use crate::solve::signal::model::Rig;
use crate::solve::signal::ports::{Port, electrode};

/// The slope's share of that at rest at which a stage has clipped: half, −6 dB.
// Common practice, no source: where half of a small signal is left its distortion is heard by anyone.
const CLIPPED_SHARE: f64 = 0.5;
/// Steps to the grid volts at which a valve would be cut off.
const STEPS: f64 = 32.0;
/// Most steps to one side.
const MOST_STEPS: usize = 120;
/// A valve carries next to nothing below this share of its current at rest.
const CUT_OFF_SHARE: f64 = 0.25;
/// Limits within this ratio of each other are centred (common practice, no source).
const CENTRED: f64 = 1.25;

/// A stage's large-signal behaviour.
#[derive(Debug, Clone, PartialEq)]
pub struct Transfer {
    /// Index into the ports.
    pub port: usize,
    /// Volts from rest at the grid and at the output (of an inverter between its outputs), rising grid.
    pub curve: Vec<(f64, f64)>,
    /// Slope at rest.
    pub slope: f64,
    /// Where a rising grid clips.
    pub up: Option<Limit>,
    /// Where a falling grid clips.
    pub down: Option<Limit>,
}

/// A clipping limit: where the slope, as the grid's source sees it, has fallen to half.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Volts at the grid, from rest.
    pub grid: f64,
    /// Volts at the output, from rest.
    pub output: f64,
    /// What ends it.
    pub cause: Clips,
}

/// What makes a stage clip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clips {
    /// The grid draws current that its source can't give.
    GridCurrent,
    /// A valve is cut off.
    CutOff,
    /// The plate has no volts left.
    PlateBottoms,
    /// A following grid draws current.
    NextGrid,
}

impl Clips {
    /// In text and JSON.
    pub fn word(self) -> &'static str {
        match self {
            Clips::GridCurrent => "grid current",
            Clips::CutOff => "cut-off",
            Clips::PlateBottoms => "plate bottoms",
            Clips::NextGrid => "next grid conducts",
        }
    }
}

/// Where a stage rests between its limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// About in the middle.
    Centred,
    /// Nearer to grid current: a rising grid clips first.
    Hot,
    /// Nearer to cut-off: a falling grid clips first.
    Cold,
}

impl Class {
    /// In text and JSON.
    pub fn word(self) -> &'static str {
        match self {
            Class::Centred => "centred",
            Class::Hot => "hot",
            Class::Cold => "cold",
        }
    }
}

impl Transfer {
    /// Room upwards over room downwards, at the grid.
    pub fn asymmetry(&self) -> Option<f64> {
        Some(self.up?.grid / -self.down?.grid)
    }

    /// Where it rests.
    pub fn class(&self) -> Option<Class> {
        match (self.asymmetry(), self.up, self.down) {
            (Some(ratio), ..) if ratio > CENTRED => Some(Class::Cold),
            (Some(ratio), ..) if ratio < 1.0 / CENTRED => Some(Class::Hot),
            (Some(_), ..) => Some(Class::Centred),
            (None, Some(_), None) => Some(Class::Hot),
            (None, None, Some(_)) => Some(Class::Cold),
            _ => None,
        }
    }
}

/// The transfer of every port that is no output stage's.
pub fn transfers(
    rig: &mut Rig,
    circuit: &Circuit,
    recognised: &Recognised,
    ports: &[Port],
    gains: &Gains,
) -> Result<Vec<Transfer>, Unsolved> {
    let network = held(rig, recognised);
    rig.linear.tune(GAIN_HERTZ)?;
    let mut found = Vec::new();
    for (index, port) in ports.iter().enumerate() {
        // Its load is the transformer's, which at DC is a short: `power` works it out cycle by cycle.
        if recognised.stages[port.stage].kind.is_output() {
            continue;
        }
        let Some(share) = share(rig, circuit, port)? else { continue };
        let of = Of { rig, circuit, recognised, ports, gains };
        if let Some(mut sweep) = Sweep::new(&of, &network, index, share) {
            found.extend(sweep.transfer());
        }
    }
    Ok(found)
}

/// Share of the grid's swing that is between grid and cathode, at 1 kHz.
fn share(rig: &mut Rig, circuit: &Circuit, port: &Port) -> Result<Option<f64>, Unsolved> {
    let Some(run) = drive_port(rig, port)? else { return Ok(None) };
    let cathode = port.sections.first().and_then(|s| electrode(circuit, s, "cathode"));
    let follows = cathode.and_then(|net| run.at(rig, net)).unwrap_or_default();
    // A follower's cathode goes along: of a volt at the grid some hundredths are left to it. At 0 the steps would be
    // endless.
    Ok(Some((1.0 - follows.re).clamp(0.005, 1.0)))
}

/// What all stages share.
struct Of<'a> {
    rig: &'a Rig,
    circuit: &'a Circuit,
    recognised: &'a Recognised,
    ports: &'a [Port],
    gains: &'a Gains,
}

/// A valve element, and the impedance that its grid's source has at 1 kHz.
type Behind = (usize, f64);

/// One stage driven by ideal sources at its grids.
struct Sweep<'a> {
    rig: &'a Rig,
    port: usize,
    network: Network,
    prepared: Prepared,
    rest: OperatingPoint,
    sources: Vec<(usize, f64)>,
    own: Vec<Behind>,
    next: Vec<Behind>,
    outputs: Vec<Node>,
    /// Share of the grid's swing that is between grid and cathode.
    share: f64,
}

impl Of<'_> {
    /// Impedance of what feeds a port's grids.
    fn ohms(&self, port: usize) -> f64 {
        let input = self.gains.inputs.iter().find(|input| input.port == port);
        input.map_or(0.0, |input| input.ohms.norm())
    }

    /// Valves on the grids that a port's stage feeds.
    fn next(&self, port: usize) -> Vec<Behind> {
        let stage = self.ports[port].stage;
        let mut found = Vec::new();
        for coupling in self.recognised.couplings.iter().filter(|c| c.from == stage && c.to != stage) {
            let fed = self.ports.iter().enumerate().filter(|(_, p)| p.grids.contains(&coupling.input));
            for (index, port) in fed {
                let here = |s: &&Section| electrode(self.circuit, s, "grid") == Some(coupling.input);
                let elements = port.sections.iter().filter(here).filter_map(|s| element(self.rig, s));
                found.extend(elements.map(|e| (e, self.ohms(index))));
            }
        }
        found
    }
}

impl<'a> Sweep<'a> {
    /// `None` where the stage can't be driven: a grid that a source holds already.
    fn new(of: &Of<'a>, held: &Network, index: usize, share: f64) -> Option<Sweep<'a>> {
        let (rig, port) = (of.rig, &of.ports[index]);
        let outputs: Vec<Node> = port.outputs.iter().filter_map(|net| rig.node(*net)).collect();
        let own: Vec<Behind> =
            port.sections.iter().filter_map(|s| Some((element(rig, s)?, of.ohms(index)))).collect();
        let mut network = held.clone();
        let mut sources = Vec::new();
        for grid in port.grids.iter().filter_map(|net| rig.node(*net)) {
            let volts = rig.point.volts(grid)?;
            let law = Law::VoltageSource { plus: grid, minus: CHASSIS, volts, ac_volts: 0.0 };
            sources.push((network.add("test source", law), volts));
        }
        let mut prepared = Prepared::new(&network).ok()?;
        let rest = prepared.solve(&network, None).ok()?;
        let usable = !outputs.is_empty() && !own.is_empty();
        let next = of.next(index);
        let sweep = Sweep { rig, port: index, network, prepared, rest, sources, own, next, outputs, share };
        usable.then_some(sweep)
    }

    fn transfer(&mut self) -> Option<Transfer> {
        let step = self.scale()? / STEPS;
        let rest = self.rest.clone();
        let slope = {
            // Both sides of rest, closer than a step: a middle difference, in which the bend cancels.
            let above = self.at(0.1 * step, &rest)?;
            let below = self.at(-0.1 * step, &rest)?;
            (self.output(&above)? - self.output(&below)?) / (0.2 * step)
        };
        // Each from rest outwards: every solve starts beside its answer.
        let (up, down) = (self.march(step, slope), self.march(-step, slope));
        let mut curve: Vec<(f64, f64)> = down.0.into_iter().rev().collect();
        curve.push((0.0, 0.0));
        curve.extend(up.0);
        Some(Transfer { port: self.port, curve, slope, up: up.1, down: down.1 })
    }

    /// Grid volts that would about cut the first valve off.
    fn scale(&self) -> Option<f64> {
        let (element, _) = *self.own.first()?;
        let valve = self.rig.point.valve(element)?;
        let (volts, mu) = match self.network.elements[element].law {
            Law::Triode { model, .. } => (valve.plate_volts, model.mu),
            Law::Pentode { model, .. } => (valve.screen_volts, model.mu),
            _ => return None,
        };
        Some((valve.grid_volts.abs() + volts.abs() / mu + 0.1) / self.share)
    }

    fn at(&mut self, grid: f64, start: &OperatingPoint) -> Option<OperatingPoint> {
        for (source, at_rest) in &self.sources {
            if let Law::VoltageSource { volts, .. } = &mut self.network.elements[*source].law {
                *volts = at_rest + grid;
            }
        }
        self.prepared.solve(&self.network, Some(start)).ok()
    }

    /// The output from rest, as the difference of two outputs where there are two.
    fn output(&self, point: &OperatingPoint) -> Option<f64> {
        let from_rest = |node: &Node| Some(point.volts(*node)? - self.rest.volts(*node)?);
        match self.outputs.as_slice() {
            [one] => from_rest(one),
            [one, other, ..] => Some(from_rest(one)? - from_rest(other)?),
            [] => None,
        }
    }

    /// What the grid's source still delivers, as a share of the drive at rest.
    fn delivered(&self, point: &OperatingPoint) -> f64 {
        let drawn = |point: &OperatingPoint| {
            let of = |(element, ohms): &Behind| valve(point, *element).ggrid * ohms * self.share;
            1.0 + self.own.iter().map(of).sum::<f64>()
        };
        // Source ohms and grid conductance make a divider; at rest it may draw already, which is in the gain.
        drawn(&self.rest) / drawn(point)
    }

    fn march(&mut self, step: f64, slope: f64) -> (Vec<(f64, f64)>, Option<Limit>) {
        let mut curve = Vec::new();
        let (mut grid, mut output, mut share) = (0.0, 0.0, 1.0);
        let mut point = self.rest.clone();
        let mut limit: Option<Limit> = None;
        for _ in 0..MOST_STEPS {
            let Some(next) = self.at(grid + step, &point) else { break };
            let Some(now) = self.output(&next) else { break };
            // The slope belongs to the middle of the step.
            let new_share = (now - output) / step / slope * self.delivered(&next);
            if new_share < CLIPPED_SHARE && limit.is_none() {
                // Between this step's middle and the last one's, where the share was; straight between them.
                let along = ((share - CLIPPED_SHARE) / (share - new_share)).clamp(0.0, 1.0);
                let grid = grid + (along - 0.5) * step;
                let output = output + (now - output) * (along - 0.5).max(0.0);
                limit = Some(Limit { grid, output, cause: self.cause(&next) });
            }
            (grid, output, share, point) = (grid + step, now, new_share, next);
            curve.push((grid, output));
            let far = limit.is_some_and(|l| grid.abs() > 1.5 * l.grid.abs() + step.abs());
            if far {
                break;
            }
        }
        (curve, limit)
    }

    fn cause(&self, point: &OperatingPoint) -> Clips {
        let draws = |(element, ohms): &Behind| {
            let now = valve(point, *element).ggrid * ohms;
            // Half of the source's swing is lost in the grid, and it was not drawing as much at rest.
            now > 0.5 && now > 2.0 * valve(&self.rest, *element).ggrid * ohms
        };
        let starved = |(element, _): &Behind| {
            valve(point, *element).plate_amps < CUT_OFF_SHARE * valve(&self.rest, *element).plate_amps
        };
        // The driver first: a stage whose grid conducts is also near the end of its plate's swing, and the cause is
        // the grid.
        if self.delivered(point) < 0.7 {
            Clips::GridCurrent
        } else if self.next.iter().any(draws) {
            Clips::NextGrid
        } else if self.own.iter().any(starved) {
            Clips::CutOff
        } else {
            Clips::PlateBottoms
        }
    }
}

fn valve(point: &OperatingPoint, element: usize) -> ValvePoint {
    point.valve(element).copied().unwrap_or_default()
}

/// The element of a valve section.
pub(in crate::solve) fn element(rig: &Rig, section: &Section) -> Option<usize> {
    let here = |origin: &crate::solve::lower::Origin| {
        origin.part == Some(section.tube) && origin.section.as_deref() == Some(section.letter.as_str())
    };
    rig.lowered.elements.iter().position(here)
}
