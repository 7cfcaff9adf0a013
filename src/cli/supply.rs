//! `asfound supply FILE`

use clap::Args;

use super::Status;
use super::console::Console;
use super::input::Opened;
use super::options::{Format, In, Output};
use super::stop::{Stop, notices};
use crate::analysis::{SupplySheet, at_the_plug, in_its_capacitors, supply_sheet};
use crate::analysis::{unsolved_of, work_out};
use crate::numeric::Unsolved;
use crate::numeric::time::discharge::Valves;
use crate::render::{json, text};
use crate::solve::decay::{Charge, stored_charge};
use crate::solve::{Setup, Solved};

/// The supply over one period of the mains, and how long it stays dangerous after switch-off
///
/// What each rectifier, winding and filter capacitor carries, against its rating: mean, peak and rms current, volts held
/// off, ripple, the first charge. Then the energy in every capacitor and the time until it holds less than 60 V, through
/// what is connected.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound supply fallow-18.amp                   at idle
  asfound supply --in high-mains fallow-18.amp   at the mains' upper limit
  asfound supply --format json fallow-18.amp     for programs")]
pub(super) struct Supply {
    /// The document
    #[arg(value_name = "FILE")]
    file: String,
    #[command(flatten)]
    state: In,
    #[command(flatten)]
    output: Output,
}

impl Supply {
    pub(super) fn format(&self) -> Format {
        self.output.format
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let opened = Opened::open(&self.file, console.reach)?;
        let condition = self.state.condition;
        let (circuit, _) = opened.top()?;
        let unsolvable =
            |unsolved: Unsolved| Stop::of(unsolved_of(&opened.circuits, condition, unsolved), &opened.loaded);
        let worked =
            work_out(&opened.circuits, &[condition]).map_err(|problem| Stop::of(*problem, &opened.loaded))?;
        let setups = Setup::cases(condition, circuit, &worked.recognised)
            .map_err(|why| Stop::Failure(format!("{} has no {}: {why}", self.file, condition.word())))?;
        notices(&opened, console)?;
        let cases: Vec<&Solved> = worked.solved.cases(condition).iter().map(|case| &case.solved).collect();
        let charge = |(setup, solved)| stored_charge(circuit, setup, Some(solved), Valves::Cold);
        let charges = setups.iter().zip(cases.iter().copied()).map(charge);
        let charges: Vec<Charge> = charges.collect::<Result<_, _>>().map_err(unsolvable)?;
        let sheets: Vec<SupplySheet> = cases
            .iter()
            .zip(&charges)
            .map(|(solved, charge)| supply_sheet(&worked.circuit, solved, charge))
            .collect();
        let plug = worked.pulled_plug();
        let kept = charges.iter().flat_map(|charge| in_its_capacitors(circuit, charge));
        let cautions: Vec<String> = at_the_plug(plug).into_iter().chain(kept).collect();
        if self.format() == Format::Json {
            let sheets = sheets.iter().map(json::supply_sheet).collect();
            let plug = (&worked.circuit, plug);
            let report = json::supply(opened.head(&[]), condition.word(), sheets, plug);
            console.say(&json::cautioned_with(&report, &cautions))?;
            return Ok(Status::Nothing);
        }
        let mut page = text::Page::new(console.width);
        text::head(&mut page, &opened.stack());
        for sheet in &sheets {
            text::supply(&mut page, sheet);
            text::assumed(&mut page, &sheet.solved.assumed);
        }
        text::plug(&mut page, plug);
        text::cautions(&mut page, &cautions);
        console.say(&page.finish())?;
        Ok(Status::Nothing)
    }
}
