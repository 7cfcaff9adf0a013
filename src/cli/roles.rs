//! `asfound roles FILE`

use clap::Args;

use super::Status;
use super::console::Console;
use super::input::Opened;
use super::options::{Format, Output};
use super::stop::{Stop, notices};
use crate::recognise::recognise;
use crate::render::{json, text};

/// What every part is for, and the path that proves it
///
/// Rails, stages and roles as recognised from the connections, and the parts that were not recognised.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound roles sedge-45.amp
  asfound roles --format json sedge-45.amp")]
pub(super) struct Roles {
    /// The document
    #[arg(value_name = "FILE")]
    file: String,
    #[command(flatten)]
    output: Output,
}

impl Roles {
    pub(super) fn format(&self) -> Format {
        self.output.format
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let opened = Opened::open(&self.file, console.reach)?;
        notices(&opened, console)?;
        let (circuit, _) = opened.top()?;
        let recognised = recognise(circuit);
        if self.format() == Format::Json {
            console.say(&json::cautioned(&json::roles(opened.head(&[]), circuit, &recognised)))?;
            return Ok(Status::Nothing);
        }
        let mut page = text::Page::new(console.width);
        text::head(&mut page, &opened.stack());
        text::roles(&mut page, circuit, &recognised);
        console.say(&text::cautioned(page))?;
        Ok(Status::Nothing)
    }
}
