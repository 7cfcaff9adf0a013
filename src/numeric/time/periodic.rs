//! The periodic steady state under a sine: large signals with every capacitor free, bias shifts included.
//!
//! All steps of one period are unknowns together, each joined to the two before it by the second-order backward
//! difference (C. W. Gear, 1971), the first to the last. Newton's iteration over them has no start-up to wait for.
//!
//! ```text
//! RC to chassis in 4 steps of h: V₀ … V₃ unknown together, C·dV/dt at step k by V_k, V_k−1, V_k−2
//! dV/dt at 0   (1.5·V₀ − 2·V₃ + 0.5·V₂)/h: the steps before the first are the last ones
//! right side   the source at sin 0, sin 90°, sin 180°, sin 270° times its peak
//! settled      is what solves all four: a coupling capacitor's shifted mean with it, at once
//! ```

use num_complex::Complex64;

use crate::numeric::ac::linearised::islands;
use crate::numeric::dc::device::Device;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::dc::shorts;
use crate::numeric::dc::stamp::Equations;
use crate::numeric::dc::unknowns::Layout;
use crate::numeric::linear::pattern::Pattern;
use crate::numeric::linear::sparse::Lu;
use crate::numeric::network::{Law, Network, Node};
use crate::numeric::outcome::{Outcome, Unsolved};

/// Newton's steps for one level.
const MOST_STEPS: usize = 40;
/// The last step moves no unknown by more than this, in volts or amperes.
const STEP: f64 = 1e-7;
/// The smallest share of a level's rise that is tried.
const SMALLEST_RISE: f64 = 1.0 / 512.0;
/// Rises to a level at most.
const MOST_RISES: usize = 2000;
/// Junctions don't move further than this in a step, in volts: no overflow on the way.
const LARGEST_STEP: f64 = 50.0;

/// A network under a sine from one of its voltage sources.
#[derive(Debug, Clone)]
pub struct Periodic {
    network: Network,
    layout: Layout,
    island_of: Vec<u32>,
    /// Linear part: row, column, real part, part per radian per second.
    linear: Vec<(u32, u32, f64, f64)>,
    /// What sources put on the right side: row and value.
    right: Vec<(u32, f64)>,
    devices: Vec<Device>,
    source_row: u32,
    size: usize,
    steps: usize,
    /// Seconds of a step.
    step: f64,
    places: Vec<u32>,
    values: Vec<f64>,
    lu: Lu<f64>,
    x: Vec<f64>,
    peak: f64,
}

/// One settled period.
#[derive(Debug, Clone, PartialEq)]
pub struct Period {
    /// Volts of each node at each step; `None` of a node that nothing ties to the chassis.
    volts: Vec<Option<Vec<f64>>>,
}

impl Periodic {
    /// Lays out the period of a network under a sine on the voltage source at a position, in a number of steps.
    pub fn new(network: &Network, source: usize, hertz: f64, steps: usize) -> Result<Periodic, Unsolved> {
        // Starts at rest, which is the solution at a peak of 0: every level is then reached from one that is solved.
        let rest = Prepared::new(network)?.solve(network, None)?;
        let links = shorts::join(network)?;
        let islands = islands(network, &links, &rest.valves, true);
        let layout = Layout::new(network, &links, &islands.island_of, true);
        let equations = Equations::new(network, &links, &islands, &layout, true);
        let mut linear = Vec::new();
        equations.stamp(|row, column, re, im| linear.push((row, column, re, im)));
        let mut right: Vec<(u32, f64)> = Vec::new();
        let mut source_row = None;
        for branch in equations.branches.iter().filter(|branch| !branch.idle) {
            right.push((branch.row, branch.branch.volts));
            if branch.branch.element == source {
                source_row = Some(branch.row);
            }
        }
        for injection in equations.injections.iter().filter(|injection| injection.live) {
            // The right side is what flows in: out of `from`, into `to`.
            right.extend([(injection.from, -injection.amps), (injection.to, injection.amps)]);
        }
        let Some(source_row) = source_row else {
            let element = network.elements.get(source).map_or("source", |e| &e.name).to_owned();
            return Err(Unsolved::before(Outcome::BadValue { element }));
        };
        let size = layout.size;
        let (pattern, places) = pattern(&linear, &equations.devices, size, steps);
        let mut x = Vec::with_capacity(size * steps);
        let one: Vec<f64> = at_rest(network, &layout, &rest, size);
        (0..steps).for_each(|_| x.extend(&one));
        Ok(Periodic {
            network: network.clone(),
            island_of: islands.island_of,
            // Each step has devices of its own: they remember where they were last evaluated.
            devices: (0..steps).flat_map(|_| equations.devices.clone()).collect(),
            values: vec![0.0; pattern.entries() + 1],
            lu: Lu::new(pattern),
            step: 1.0 / (hertz * steps as f64),
            peak: 0.0,
            layout,
            linear,
            right,
            source_row,
            size,
            steps,
            places,
            x,
        })
    }

    /// The settled period at a peak of the sine, in volts, reached from the level settled before.
    pub fn settle(&mut self, peak: f64) -> Result<Period, Unsolved> {
        let mut share = 1.0;
        for _ in 0..MOST_RISES {
            // Exactly: the last rise aims at the peak itself, not at a share of what is left.
            if self.peak == peak {
                return Ok(self.period());
            }
            let target = if share >= 1.0 { peak } else { self.peak + share * (peak - self.peak) };
            // An iteration that failed leaves `x` anywhere.
            let kept = self.x.clone();
            match self.iterate(target) {
                Ok(()) => self.peak = target,
                Err(why) if share < SMALLEST_RISE => return Err(why),
                Err(_) => {
                    self.x = kept;
                    share *= 0.5;
                    continue;
                }
            }
            share = (2.0 * share).min(1.0);
        }
        Err(Unsolved::before(Outcome::OutOfSteps))
    }

    fn iterate(&mut self, peak: f64) -> Result<(), Unsolved> {
        for step in 0..MOST_STEPS {
            let mut rest = self.residual(peak, step == 0);
            self.fill();
            self.lu.factor(&self.values).map_err(|column| {
                let unknown = self.layout.name(&self.network, column.0 % self.size);
                Unsolved::before(Outcome::Singular { unknown })
            })?;
            self.lu.solve(&mut rest);
            let most = rest.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
            if !most.is_finite() {
                return Err(Unsolved::before(Outcome::Diverged));
            }
            let damped = (LARGEST_STEP / most).min(1.0);
            self.x.iter_mut().zip(&rest).for_each(|(x, step)| *x -= damped * step);
            // The step is taken before it is judged: Newton's last one is the best digit of all.
            if most < STEP {
                return Ok(());
            }
        }
        Err(Unsolved::before(Outcome::OutOfSteps))
    }

    /// The three steps that a step's difference joins, with their weights over a step's seconds.
    fn joined(&self, at: usize) -> [(usize, f64); 3] {
        let before = |back: usize| (at + self.steps - back) % self.steps;
        [(at, 1.5), (before(1), -2.0), (before(2), 0.5)].map(|(k, weight)| (k, weight / self.step))
    }

    /// What is out of balance at every row of every step.
    fn residual(&mut self, peak: f64, fresh: bool) -> Vec<f64> {
        let size = self.size;
        let mut rest = vec![0.0; size * self.steps];
        let count = self.devices.len() / self.steps;
        for at in 0..self.steps {
            let joined = self.joined(at);
            let here = |row: u32| (row as usize) < size;
            for &(row, column, re, im) in self.linear.iter().filter(|e| here(e.0) && here(e.1)) {
                let column = column as usize;
                let mut sum = re * self.x[at * size + column];
                if im != 0.0 {
                    sum += im * joined.iter().map(|(k, w)| w * self.x[k * size + column]).sum::<f64>();
                }
                rest[at * size + row as usize] += sum;
            }
            for &(row, value) in self.right.iter().filter(|e| here(e.0)) {
                rest[at * size + row as usize] -= value;
            }
            let angle = std::f64::consts::TAU * at as f64 / self.steps as f64;
            rest[at * size + self.source_row as usize] -= peak * libm::sin(angle);
            // Devices read the chassis from one past the unknowns.
            let mut unknowns = self.x[at * size..(at + 1) * size].to_vec();
            unknowns.push(0.0);
            for device in &mut self.devices[at * count..(at + 1) * count] {
                device.evaluate(&unknowns, fresh);
                let amps = device.amps();
                let total = amps[0] + amps[1] + amps[2];
                for (row, amps) in device.rows.iter().zip([amps[0], amps[1], amps[2], -total]) {
                    if here(*row) {
                        rest[at * size + *row as usize] += amps;
                    }
                }
            }
        }
        rest
    }

    fn fill(&mut self) {
        self.values.fill(0.0);
        let mut places = self.places.iter();
        let mut add = |value: f64| {
            if let Some(place) = places.next() {
                self.values[*place as usize] += value;
            }
        };
        let count = self.devices.len() / self.steps;
        let weights = [1.5, -2.0, 0.5].map(|w| w / self.step);
        for at in 0..self.steps {
            for &(_, _, re, im) in &self.linear {
                add(re + im * weights[0]);
                if im != 0.0 {
                    add(im * weights[1]);
                    add(im * weights[2]);
                }
            }
            for device in &self.devices[at * count..(at + 1) * count] {
                device.stamp(true, |_, _, value| add(value));
            }
        }
    }

    fn period(&self) -> Period {
        let volts = |node: Node| {
            let row = self.layout.row[node] as usize;
            let at = |step: usize| if row < self.size { self.x[step * self.size + row] } else { 0.0 };
            (self.island_of[node] == 0).then(|| (0..self.steps).map(at).collect())
        };
        Period { volts: (0..self.network.nodes.len()).map(volts).collect() }
    }
}

/// Unknowns of one step at rest: nodes' volts; branches' currents are found by the first iteration.
fn at_rest(
    network: &Network,
    layout: &Layout,
    rest: &crate::numeric::point::OperatingPoint,
    size: usize,
) -> Vec<f64> {
    let mut one = vec![0.0; size + 1];
    for node in 0..network.nodes.len() {
        one[layout.row[node] as usize] = rest.volts(node).unwrap_or(0.0);
    }
    one.truncate(size);
    one
}

fn pattern(
    linear: &[(u32, u32, f64, f64)],
    devices: &[Device],
    size: usize,
    steps: usize,
) -> (Pattern, Vec<u32>) {
    let outside = (size * steps) as u32;
    let mut entries = Vec::new();
    for at in 0..steps {
        let mut put = |row: u32, column: u32, back: usize| {
            let inside = (row as usize) < size && (column as usize) < size;
            let base = |k: usize| (k * size) as u32;
            let other = (at + steps - back) % steps;
            let entry = if inside { (base(at) + row, base(other) + column) } else { (outside, outside) };
            entries.push(entry);
        };
        for &(row, column, _, im) in linear {
            put(row, column, 0);
            if im != 0.0 {
                put(row, column, 1);
                put(row, column, 2);
            }
        }
        for device in devices {
            device.stamp(true, |row, column, _| put(row, column, 0));
        }
    }
    Pattern::new(size * steps, &entries)
}

impl Period {
    /// Volts of a node at each step.
    pub fn volts(&self, node: Node) -> Option<&[f64]> {
        self.volts.get(node)?.as_deref()
    }

    /// Mean volts.
    pub fn mean(&self, node: Node) -> Option<f64> {
        let volts = self.volts(node)?;
        Some(volts.iter().sum::<f64>() / volts.len() as f64)
    }

    /// Lowest and highest volts, between the steps by parabolas.
    pub fn extremes(&self, node: Node) -> Option<(f64, f64)> {
        let volts = self.volts(node)?;
        let most = |sign: f64| {
            let top = (0..volts.len()).max_by(|a, b| (sign * volts[*a]).total_cmp(&(sign * volts[*b])))?;
            let (left, right) =
                (volts[(top + volts.len() - 1) % volts.len()], volts[(top + 1) % volts.len()]);
            // The vertex of the parabola through the highest step and its neighbours: with 64 steps a sine's peak is
            // else up to a thousandth short.
            let bend = left - 2.0 * volts[top] + right;
            let rise = right - left;
            Some(if bend == 0.0 { volts[top] } else { volts[top] - rise * rise / (8.0 * bend) })
        };
        Some((most(-1.0)?, most(1.0)?))
    }

    /// A harmonic's peak volts and phase: `re` along the sine, `im` along the cosine.
    pub fn harmonic(&self, node: Node, order: usize) -> Option<Complex64> {
        let volts = self.volts(node)?;
        let mut sum = Complex64::new(0.0, 0.0);
        for (step, volts) in volts.iter().enumerate() {
            let angle = std::f64::consts::TAU * (order * step) as f64 / self.volts(node)?.len() as f64;
            // Sums at equal steps over whole periods are exact for all harmonics below half the number of steps.
            sum += Complex64::new(volts * libm::sin(angle), volts * libm::cos(angle));
        }
        Some(sum * (2.0 / volts.len() as f64))
    }
}

/// The position of a voltage source by name.
pub fn source(network: &Network, name: &str) -> Option<usize> {
    let is =
        |e: &crate::numeric::network::Element| e.name == name && matches!(e.law, Law::VoltageSource { .. });
    network.elements.iter().position(is)
}
