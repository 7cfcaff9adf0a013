//! Monte Carlo: every figure drawn, every draw solved exactly, on all cores, with the same result on any number.
//!
//! ```text
//! 500 samples in runs of 125: four runs, on any number of cores
//! run 1      samples 0 … 124, one after the other on a copy of the equations, pivots handed on
//! sample 7   R1 draws the 7th number of "R1", V1 the 7th of "V1": no order of parts, no other sample in it
//! so         the same 500 answers, bit for bit, whatever the machine has
//! ```

use rayon::prelude::*;

use crate::numeric::dc::answer::assemble_into;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::Network;
use crate::numeric::outcome::Unsolved;
use crate::numeric::point::OperatingPoint;
use crate::numeric::statistics::draw::Stream;
use crate::numeric::statistics::quantile::Gathered;
use crate::numeric::statistics::quantity::Quantity;
use crate::numeric::statistics::{Varied, Within};

/// Samples that one core works through with one set of equations. Their pivots carry over from one sample to the
/// next, so the number decides last digits, and must not depend on the cores.
const RUN: usize = 125;
/// Samples between two sums: what stays in memory.
// Sixteen runs keep as many cores busy; of a quantity 2,000 values stay in memory, however many are drawn.
const BATCH: usize = 16 * RUN;

/// How many samples, from which seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sampling {
    /// Number of samples.
    pub samples: usize,
    /// Decides all draws.
    pub seed: u64,
}

/// What many samples came to.
#[derive(Debug, Clone)]
pub struct Sampled {
    /// One for each quantity; `None` where it is undefined at the nominal values.
    pub statistics: Vec<Option<Statistic>>,
    /// Samples drawn.
    pub samples: usize,
    /// Samples without an operating point: in no statistic.
    pub failed: usize,
    /// How the first of those ended.
    pub first_failure: Option<Unsolved>,
}

/// One quantity's distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Statistic {
    /// Samples in which it is defined.
    pub samples: usize,
    /// At the nominal values.
    pub value: f64,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub deviation: f64,
    /// From the 1 % point to the 99 % point.
    pub within: Within,
}

/// Draws and solves. `point` must be an answer for `network`; every sample starts from it. `progress` is told how
/// many samples are done.
pub fn sample(
    network: &Network,
    point: &OperatingPoint,
    varied: &[Varied],
    quantities: &[Quantity],
    sampling: Sampling,
    progress: &mut dyn FnMut(usize),
) -> Result<Sampled, Unsolved> {
    let mut prepared = Prepared::new(network)?;
    let point = prepared.solve(network, Some(point))?;
    let asked: Vec<(usize, &Quantity, f64)> = quantities
        .iter()
        .enumerate()
        .filter(|(_, of)| of.fits(network))
        .filter_map(|(at, of)| Some((at, of, of.of(&point)?)))
        .collect();
    let streams = varied.iter().map(|one| Stream::new(sampling.seed, &one.name)).collect();
    let base = Sampler { prepared, nominal: network, network: network.clone(), point, varied, streams };
    let mut gathered: Vec<Gathered> =
        asked.iter().map(|(_, _, value)| Gathered::new(*value, sampling.samples)).collect();
    // Chunks of no width are not allowed; with nothing asked the samples are still solved, and failures counted.
    let width = asked.len().max(1);
    let mut values = vec![f64::NAN; BATCH.min(sampling.samples) * width];
    let (mut failed, mut first_failure) = (0, None);
    for first in (0..sampling.samples).step_by(BATCH) {
        let many = BATCH.min(sampling.samples - first);
        let runs = values[..many * width].par_chunks_mut(RUN * width).enumerate();
        let ends: Vec<Failures> =
            runs.map(|(run, values)| base.clone().run(first + run * RUN, &asked, values, width)).collect();
        for end in ends {
            failed += end.count;
            // Runs come back in order whichever was done first: the first failure is that of the lowest sample.
            first_failure = first_failure.or(end.first);
        }
        let values = &values[..many * width];
        gathered.par_iter_mut().enumerate().for_each(|(at, of)| {
            values.iter().skip(at).step_by(width).for_each(|value| of.add(*value));
        });
        progress(first + many);
    }
    let mut statistics = vec![None; quantities.len()];
    for ((at, _, value), of) in asked.iter().zip(&mut gathered) {
        statistics[*at] = statistic(*value, of);
    }
    Ok(Sampled { statistics, samples: sampling.samples, failed, first_failure })
}

fn statistic(value: f64, of: &mut Gathered) -> Option<Statistic> {
    let (low, high) = of.ends();
    let within = Within { low, high };
    let known = of.count() > 0;
    known.then(|| Statistic {
        samples: of.count(),
        value,
        mean: of.mean(),
        deviation: of.deviation(),
        within,
    })
}

/// Samples without an operating point.
#[derive(Default)]
struct Failures {
    count: usize,
    first: Option<Unsolved>,
}

/// One core's equations and values.
#[derive(Clone)]
struct Sampler<'a> {
    prepared: Prepared,
    nominal: &'a Network,
    network: Network,
    point: OperatingPoint,
    varied: &'a [Varied],
    streams: Vec<Stream>,
}

impl Sampler<'_> {
    /// Solves samples from `first` on, a row of values each.
    fn run(
        mut self,
        first: usize,
        asked: &[(usize, &Quantity, f64)],
        values: &mut [f64],
        width: usize,
    ) -> Failures {
        let start = self.point.unknowns.clone();
        let mut failures = Failures::default();
        for (at, row) in values.chunks_mut(width).enumerate() {
            self.draw((first + at) as u64);
            match self.solve(&start) {
                Ok(apart) => {
                    let point = apart.as_ref().unwrap_or(&self.point);
                    for (value, (_, quantity, _)) in row.iter_mut().zip(asked) {
                        *value = quantity.of(point).unwrap_or(f64::NAN);
                    }
                }
                Err(end) => {
                    // NaN marks "no value" inside here alone; whoever gathers leaves it out and counts.
                    row.fill(f64::NAN);
                    failures.count += 1;
                    failures.first.get_or_insert(end);
                }
            }
        }
        failures
    }

    /// Sets all values to those of one sample.
    fn draw(&mut self, sample: u64) {
        for one in self.varied {
            // All first, then all scaled: two figures may set one element, and factors multiply.
            one.restore(&mut self.network, self.nominal);
        }
        for (one, stream) in self.varied.iter().zip(&self.streams) {
            one.scale(&mut self.network, one.spread.at(stream.at(sample)));
        }
    }

    /// Leaves the answer in `point`, or gives it where it needed equations of its own.
    fn solve(&mut self, start: &[f64]) -> Result<Option<OperatingPoint>, Unsolved> {
        if self.prepared.solve_again(&self.network, start)? {
            assemble_into(&self.prepared, &self.network, &mut self.point);
            return Ok(None);
        }
        // On a copy: another layout would serve this sample only and be thrown away with the next.
        self.prepared.clone().solve(&self.network, None).map(Some)
    }
}
