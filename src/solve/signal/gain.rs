//! Gain of each stage, couplings between stages, and the whole way from the drive.
//!
//! An ideal test source at a grid fixes the ratio of every phasor to the grid's, whatever current that takes.
//! So a current into the grid serves as well: one factorisation at a frequency gives all stages.
//!
//! ```text
//! A triode with 100k and 1.5k unbypassed, amperes into its grid instead of a volt at it:
//! inject    1 A into the grid: 470 kV there (its leak), −12 MV at the plate (linear: no limits apply)
//! gain      −12 MV / 470 kV = −25.5: the ratio that a source of 1 V would give
//! input     470 kV / 1 A = 470k: in the same run
//! ```

use num_complex::Complex64;

use crate::circuit::NetId;
use crate::numeric::linear::dense::eliminate;
use crate::numeric::network::{Law, Node};
use crate::numeric::outcome::Unsolved;
use crate::recognise::{Coupling, Recognised};
use crate::solve::signal::model::Rig;
use crate::solve::signal::ports::Port;

/// The frequency at which gains are stated, in hertz.
pub const GAIN_HERTZ: f64 = 1000.0;

/// A product of gains that misses the whole by more than this, in dB, has a loop or a bypass in it.
// Three stages multiply to rounding; 0.1 dB is 1 %, a loop that nobody hears and rules need not name.
const LOOP_DECIBELS: f64 = 0.1;

/// A stage carries the signal where this share of what is at its output is its own.
const CARRYING_SHARE: f64 = 0.1;

/// Gain of one port to one output, at one frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct StageGain {
    /// Index into the ports.
    pub port: usize,
    /// The output net.
    pub output: NetId,
    /// Output over grid; 0 where nothing arrives.
    pub gain: Complex64,
}

/// What a port's grids draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Index into the ports.
    pub port: usize,
    /// Capacitance that the valve itself puts on the grid, the plate's swing included, in farads.
    pub farads: f64,
    /// Impedance of all that feeds the grid and of the valve, at the grid.
    pub ohms: Complex64,
}

/// A coupling's ratio: next grid over output, in the run of the stage that feeds it.
#[derive(Debug, Clone, PartialEq)]
pub struct CouplingGain {
    /// Index into [`Recognised::couplings`].
    pub coupling: usize,
    /// Grid over output.
    pub gain: Complex64,
}

/// All gains at one frequency.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Gains {
    /// In hertz.
    pub hertz: f64,
    /// In signal order.
    pub stages: Vec<StageGain>,
    /// Where a port could be driven.
    pub inputs: Vec<Input>,
    /// Couplings, in the order recognised.
    pub couplings: Vec<CouplingGain>,
    /// From the drive to the output.
    pub whole: Option<Complex64>,
    /// The same as the product of gains and couplings, summed over parallel ways.
    pub product: Option<Complex64>,
    /// Stages whose output over grid differs between the whole run and their own: inside a loop, or bypassed.
    pub in_loop: Vec<usize>,
}

impl Gains {
    /// The product less the whole, in dB.
    pub fn difference(&self) -> Option<f64> {
        Some(decibels(self.product?) - decibels(self.whole?)).filter(|difference| difference.is_finite())
    }

    /// Whether the stages don't multiply to the whole.
    pub fn loop_or_bypass(&self) -> bool {
        let miss = self.whole.zip(self.product).map(|(w, p)| decibels(p / w).abs());
        miss.is_some_and(|miss| miss.is_nan() || miss > LOOP_DECIBELS)
    }

    /// The gain of a port to its first output.
    pub fn of_port(&self, port: usize) -> Option<&StageGain> {
        self.stages.iter().find(|gain| gain.port == port)
    }
}

/// 20·log10 of a ratio's size.
pub fn decibels(ratio: Complex64) -> f64 {
    20.0 * libm::log10(libm::hypot(ratio.re, ratio.im))
}

/// Every gain at a frequency, in hertz.
pub fn gains(rig: &mut Rig, recognised: &Recognised, ports: &[Port], hertz: f64) -> Result<Gains, Unsolved> {
    let mut gains = Gains { hertz, ..Gains::default() };
    rig.linear.tune(hertz)?;
    for (index, port) in ports.iter().enumerate() {
        let Some(run) = drive_port(rig, port)? else { continue };
        gains.take_run(rig, recognised, (index, port), &run);
    }
    if rig.driven {
        rig.linear.excite()?;
        gains.take_whole(rig, recognised, ports);
    }
    Ok(gains)
}

/// The gain of one port to one output, at the frequency tuned to; `None` where it can't be driven.
pub(crate) fn gain_at(rig: &mut Rig, port: &Port, output: NetId) -> Result<Option<Complex64>, Unsolved> {
    if let ([grid], []) = (port.grids.as_slice(), port.held.as_slice()) {
        let (Some(grid), Some(output)) = (rig.node(*grid), rig.node(output)) else { return Ok(None) };
        rig.linear.inject(&[(grid, 1.0)])?;
        let ratio = |rig: &Rig| Some(rig.linear.phasor(output)? / rig.linear.phasor(grid)?);
        return Ok(ratio(rig).filter(|gain| gain.is_finite()));
    }
    let run = drive_port(rig, port)?;
    Ok(run.and_then(|run| run.at(rig, output)))
}

/// Puts 1 V at all grids of a port and 0 V at those of its other side; gives every phasor and the current that
/// the port takes. `None` where a grid can't be driven.
pub(in crate::solve) fn drive_port(rig: &mut Rig, port: &Port) -> Result<Option<Run>, Unsolved> {
    let nets = port.grids.iter().chain(&port.held);
    let nodes: Option<Vec<Node>> = nets.map(|grid| rig.node(*grid)).collect();
    let Some(nodes) = nodes else { return Ok(None) };
    if let [node] = nodes[..] {
        rig.linear.inject(&[(node, 1.0)])?;
        let Some(own) = rig.linear.phasor(node).filter(|own| own.norm() > 0.0) else { return Ok(None) };
        let every = 0..rig.lowered.network.nodes.len();
        let volts = every.map(|n| rig.linear.phasor(n).unwrap_or_default() / own).collect();
        return Ok(Some(Run { volts, amps: Complex64::new(1.0, 0.0) / own }));
    }
    let mut runs = Vec::new();
    for node in &nodes {
        rig.linear.inject(&[(*node, 1.0)])?;
        let every = (0..rig.lowered.network.nodes.len()).map(|n| rig.linear.phasor(n).unwrap_or_default());
        runs.push(every.collect::<Vec<_>>());
    }
    // What each grid's current does to each grid: solved for the currents that put 1 V on one side and 0 V on the
    // other.
    let mut matrix: Vec<Complex64> = nodes.iter().flat_map(|row| runs.iter().map(|run| run[*row])).collect();
    let wanted = |at: usize| Complex64::new(if at < port.grids.len() { 1.0 } else { 0.0 }, 0.0);
    let mut amps: Vec<Complex64> = (0..nodes.len()).map(wanted).collect();
    if !eliminate(&mut matrix, &mut amps) || !amps.iter().all(|amps| amps.is_finite()) {
        return Ok(None);
    }
    let mut volts = vec![Complex64::new(0.0, 0.0); rig.lowered.network.nodes.len()];
    for (run, amps) in runs.iter().zip(&amps) {
        for (sum, phasor) in volts.iter_mut().zip(run) {
            *sum += phasor * amps;
        }
    }
    let total: Complex64 = amps[..port.grids.len()].iter().sum();
    Ok(Some(Run { volts, amps: total }))
}

/// Phasors of every node with 1 V at a port's grids, and the current that takes.
#[derive(Debug, Clone)]
pub(in crate::solve) struct Run {
    pub(in crate::solve) volts: Vec<Complex64>,
    pub(in crate::solve) amps: Complex64,
}

impl Run {
    pub(in crate::solve) fn at(&self, rig: &Rig, net: NetId) -> Option<Complex64> {
        rig.node(net).map(|node| self.volts[node])
    }
}

impl Gains {
    fn take_run(&mut self, rig: &Rig, recognised: &Recognised, (index, port): (usize, &Port), run: &Run) {
        for output in &port.outputs {
            let gain = run.at(rig, *output).unwrap_or_default();
            self.stages.push(StageGain { port: index, output: *output, gain });
        }
        let ohms = Complex64::new(1.0, 0.0) / run.amps;
        self.inputs.push(Input { port: index, farads: grid_farads(rig, port, run), ohms });
        for (at, coupling) in recognised.couplings.iter().enumerate() {
            let here = coupling.from == port.stage && !self.couplings.iter().any(|c| c.coupling == at);
            let (Some(out), Some(grid)) = (run.at(rig, coupling.output), run.at(rig, coupling.input)) else {
                continue;
            };
            if here && out.norm() > 0.0 {
                self.couplings.push(CouplingGain { coupling: at, gain: grid / out });
            }
        }
        self.couplings.sort_by_key(|c| c.coupling);
    }

    /// The whole run is solved; follows the product of gains and couplings beside it.
    fn take_whole(&mut self, rig: &Rig, recognised: &Recognised, ports: &[Port]) {
        let Some(output) = rig.output else { return };
        self.whole = rig.phasor(output);
        let mut at_grid: Vec<Complex64> = Vec::new();
        let mut product = None;
        for (index, port) in ports.iter().enumerate() {
            // Grids driven together get the same.
            let into = |c: &&CouplingGain| recognised.couplings[c.coupling].input == port.grids[0];
            let fed: Vec<&CouplingGain> = self.couplings.iter().filter(into).collect();
            // The first stage has no coupling before it: what the drive puts there, as solved.
            let grid = if fed.is_empty() {
                rig.phasor(port.grids[0]).unwrap_or_default()
            } else {
                fed.iter().map(|c| self.arriving(c, &recognised.couplings[c.coupling], ports, &at_grid)).sum()
            };
            at_grid.push(grid);
            let own = self.stages.iter().filter(|s| s.port == index);
            for gain in own.filter(|s| s.output == output) {
                product = Some(product.unwrap_or(Complex64::new(0.0, 0.0)) + grid * gain.gain);
            }
        }
        self.product = product;
        self.in_loop = self.stages_in_loop(rig, ports);
    }

    /// What a coupling brings to its grid.
    fn arriving(
        &self,
        gain: &CouplingGain,
        coupling: &Coupling,
        ports: &[Port],
        at_grid: &[Complex64],
    ) -> Complex64 {
        let stages = self.stages.iter().filter(|s| {
            // Only stages before this one have their grid's volts yet: what would come from later ones is a loop,
            // told as such.
            s.output == coupling.output && ports[s.port].stage == coupling.from && s.port < at_grid.len()
        });
        stages.map(|s| at_grid[s.port] * s.gain * gain.gain).sum()
    }

    /// Stages that matter to the whole and whose output is not what their own gain makes of their grid.
    fn stages_in_loop(&self, rig: &Rig, ports: &[Port]) -> Vec<usize> {
        let mut found: Vec<usize> = Vec::new();
        for own in &self.stages {
            let stage = ports[own.port].stage;
            let Some(out) = rig.phasor(own.output).filter(|out| out.norm() > 0.0) else { continue };
            // Both sides of a push-pull stage make its output together.
            let side = |s: &&StageGain| ports[s.port].stage == stage && s.output == own.output;
            let of = |s: &StageGain| s.gain * rig.phasor(ports[s.port].grids[0]).unwrap_or_default();
            let expected: Complex64 = self.stages.iter().filter(side).map(of).sum();
            // A stage beside the signal (a tremolo's oscillator) has other volts at its output than its own: no loop.
            let carries = expected.norm() > CARRYING_SHARE * out.norm();
            if carries && decibels(expected / out).abs() > LOOP_DECIBELS && !found.contains(&stage) {
                found.push(stage);
            }
        }
        found
    }
}

/// The current into the valves' own electrodes, as capacitance: Cgk·(1 − Vk) + Cgp·(1 − Vp) for 1 V at the grid
/// (J. M. Miller, 1920).
fn grid_farads(rig: &Rig, port: &Port, run: &Run) -> f64 {
    let tubes: Vec<&str> =
        port.sections
            .iter()
            .filter_map(|s| {
                let at = rig.lowered.elements.iter().position(|o| {
                    o.part == Some(s.tube) && o.section.as_deref() == Some(s.letter.as_str())
                })?;
                Some(rig.lowered.network.elements[at].name.as_str())
            })
            .collect();
    let grids: Vec<Node> = port.grids.iter().filter_map(|g| rig.node(*g)).collect();
    let mut total = 0.0;
    for (element, origin) in rig.lowered.network.elements.iter().zip(&rig.lowered.elements) {
        let Law::Capacitor { a, b, farads } = element.law else { continue };
        // Only the valves' own: they belong to no part's legs and bear the valve's name.
        if origin.part.is_none() && tubes.contains(&element.name.as_str()) && grids.contains(&a) {
            total += farads * (run.volts[a] - run.volts[b]).re;
        }
    }
    total
}
