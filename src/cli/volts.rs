//! `asfound volts FILE`

use clap::Args;

use super::Status;
use super::console::Console;
use super::input::Opened;
use super::options::{Format, In, Output};
use super::progress::Progress;
use super::stop::{Stop, notices, unsolved};
use crate::analysis::{self, Worked, work_out};
use crate::analysis::{Chart, chart};
use crate::model::Condition;
use crate::numeric::Unsolved;
use crate::numeric::statistics::Sampling;
use crate::render::{json, text};
use crate::solve::tolerance::{Windows, monte_carlo};
use crate::solve::{Setup, Solved};
use crate::source::Problem;

/// The voltage chart: rails and electrodes, predicted, with windows and readings
///
/// Every rail and every electrode of every valve section, predicted from the circuit, with the window that the
/// documents state and the readings that the top document holds.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound volts job-0412.amp                   at idle
  asfound volts --in cold-start sedge-45.amp   before the valves conduct
  asfound volts --spread sedge-45.amp          with where 98 amplifiers of 100 lie
  asfound volts --samples 10000 sedge-45.amp   the same by amplifiers drawn at random
  asfound volts --format json job-0412.amp     for programs")]
pub(super) struct Volts {
    /// The document
    #[arg(value_name = "FILE")]
    file: String,
    #[command(flatten)]
    state: In,
    #[command(flatten)]
    spreading: Spreading,
    #[command(flatten)]
    output: Output,
}

/// Whether predictions come with the spread that parts and valves give them.
#[derive(Debug, Args)]
struct Spreading {
    /// Show where 98 amplifiers of 100 lie, by tolerances of parts and spread of valves
    #[arg(long)]
    spread: bool,
    /// The same by solving so many amplifiers drawn at random
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(100..=1_000_000))]
    samples: Option<u32>,
    /// Decides the draws: the same seed gives the same result on any machine
    #[arg(long, value_name = "N", requires = "samples", default_value_t = 1)]
    seed: u64,
}

impl Spreading {
    /// The solved circuit with the spread asked for.
    fn of(&self, worked: &Worked, solved: &Solved) -> Result<Solved, Unsolved> {
        let windows = if self.spread { solved.windows.clone() } else { Windows::default() };
        let plain = Solved { windows, ..solved.clone() };
        let Some(samples) = self.samples else { return Ok(plain) };
        let cases = Setup::cases(solved.condition, &worked.circuit, &worked.recognised);
        let here = |setup: &Setup| setup.case == solved.case;
        let Some(setup) = cases.unwrap_or_default().into_iter().find(here) else { return Ok(plain) };
        let sampling = Sampling { samples: samples as usize, seed: self.seed };
        let mut progress = Progress::new("amplifiers", u64::from(samples));
        let (solved, _) =
            monte_carlo(&worked.circuit, &setup, sampling, &mut |done| progress.at(done as u64))?;
        Ok(solved)
    }
}

impl Volts {
    pub(super) fn format(&self) -> Format {
        self.output.format
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let opened = Opened::open(&self.file, console.reach)?;
        let condition = self.state.condition;
        opened.top()?;
        let worked =
            work_out(&opened.circuits, &[condition]).map_err(|problem| Stop::of(*problem, &opened.loaded))?;
        notices(&opened, console)?;
        let islands = stock_islands(&opened).map_err(|problem| Stop::of(*problem, &opened.loaded))?;
        let status = unsolved(&islands, &opened, console)?;
        if let Some(why) = worked.solved.not_applicable.get(&condition) {
            return Err(Stop::Failure(format!("{} has no {}: {why}", self.file, condition.word())));
        }
        let cases =
            worked.solved.cases(condition).iter().map(|case| self.spreading.of(&worked, &case.solved));
        let cases = cases.collect::<Result<Vec<Solved>, Unsolved>>();
        let cases = cases
            .map_err(|end| Stop::Failure(format!("{}: the spread can't be worked out: {end}", self.file)))?;
        let text = if self.format() == Format::Json {
            Self::json(&opened, &worked, condition, &cases)
        } else {
            Self::text(&opened, &worked, &cases, console.width)
        };
        console.say(&text)?;
        Ok(status)
    }

    fn json(opened: &Opened, worked: &Worked, condition: Condition, cases: &[Solved]) -> String {
        let cut_off: Vec<_> = cases.iter().map(|case| analysis::cut_off(&worked.circuit, case)).collect();
        let charts: Vec<Chart> = cases.iter().map(|case| case_chart(worked, case)).collect();
        let solving = cases.iter().zip(&cut_off).map(|(case, off)| json::solving(&worked.circuit, case, off));
        let charts = solving.zip(&charts).map(|(solving, chart)| json::chart(solving, chart)).collect();
        json::cautioned(&json::volts(opened.head(&[]), condition, charts))
    }

    fn text(opened: &Opened, worked: &Worked, cases: &[Solved], width: usize) -> String {
        let mut page = text::Page::new(width);
        text::head(&mut page, &opened.stack());
        for case in cases {
            let chart = case_chart(worked, case);
            text::partly_solved(&mut page, &worked.circuit, case, &analysis::cut_off(&worked.circuit, case));
            page.heading(&format!("Volts to chassis, {}", case.told_with_mains(&worked.circuit)));
            text::volts(&mut page, &chart);
            text::spread_note(&mut page, &chart);
            text::assumed(&mut page, &case.assumed);
            text::legend(&mut page, &worked.circuit, &chart);
        }
        text::cautioned(page)
    }
}

fn case_chart<'a>(worked: &'a Worked, case: &'a Solved) -> Chart<'a> {
    let as_read = worked.solved.for_readings(case.condition).unwrap_or(case);
    chart(&worked.circuit, &worked.recognised, case, as_read)
}

/// Nets that the stock spec at the bottom leaves without a DC path.
fn stock_islands(opened: &Opened) -> Result<Vec<Problem>, Box<Problem>> {
    let worked = work_out(&opened.circuits[..1], &[Condition::Idle])?;
    Ok(worked.solved.idle().map_or_else(Vec::new, |idle| analysis::stock_islands(&worked.circuit, idle)))
}
