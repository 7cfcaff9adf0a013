//! The command line: arguments to one command, its text to the terminal, and the exit status. The only part
//! that touches files and the terminal.

mod audit;
mod console;
mod diff;
mod driver;
mod input;
mod known;
mod lint;
mod merge;
mod options;
mod packs;
mod progress;
mod reach;
mod replace;
mod response;
mod review;
mod revision;
mod roles;
mod rules;
mod stop;
mod supply;
mod survey;
mod tidy;
mod volts;
mod walk;

use std::ffi::OsString;

use clap::{Parser, Subcommand};

pub use console::Console;
use options::Format;
use reach::Reach;
use stop::Stop;

/// Audits valve guitar amplifiers from plain text: what was changed, what each change does, what is dangerous.
#[derive(Debug, Parser)]
#[command(name = "asfound", version, after_help = EXIT, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// Read documents that `of` and `types from` name wherever they lie, not only in the version-controlled tree of the
    /// first (without one: in the folder above its own)
    #[arg(long, global = true)]
    anywhere: bool,
}

const EXIT: &str = "\
Exit status:
  0  nothing to report
  1  findings at or above the chosen level, or differences
  2  any trouble: unreadable, invalid, unsolvable

Every command has its own help with examples: asfound audit --help";

#[derive(Debug, Subcommand)]
enum Command {
    Audit(audit::Audit),
    Diff(diff::Diff),
    Lint(lint::Lint),
    Review(review::Review),
    Volts(volts::Volts),
    Supply(supply::Supply),
    Response(response::Response),
    Roles(roles::Roles),
    Survey(survey::Survey),
    Tidy(tidy::Tidy),
    Merge(merge::Merge),
    Rules(rules::Rules),
    #[command(name = "git-driver")]
    Driver(driver::Driver),
}

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Status {
    /// Nothing to report.
    Nothing,
    /// Findings, or differences.
    Found,
    /// Unreadable, invalid or unsolvable.
    Trouble,
}

impl Status {
    /// The process's exit status.
    fn code(self) -> u8 {
        match self {
            Status::Nothing => 0,
            Status::Found => 1,
            Status::Trouble => 2,
        }
    }

    /// Found where `yes`.
    fn found(yes: bool) -> Status {
        if yes { Status::Found } else { Status::Nothing }
    }
}

/// Runs one command line and gives the exit status. A reader that goes away early is no trouble.
pub fn run(arguments: impl IntoIterator<Item = OsString>, console: &mut Console) -> u8 {
    match ran(arguments, console) {
        Ok(status) => status.code(),
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => 0,
        Err(error) => {
            // Where even this can't be written, the status tells.
            let _ = console.complain(&format!("asfound: can't write: {error}\n"));
            Status::Trouble.code()
        }
    }
}

fn ran(arguments: impl IntoIterator<Item = OsString>, console: &mut Console) -> std::io::Result<Status> {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            let text = error.render().ansi().to_string();
            if error.use_stderr() {
                console.complain(&text)?;
                return Ok(Status::Trouble);
            }
            console.say(&text)?;
            return Ok(Status::Nothing);
        }
    };
    if arguments.anywhere {
        console.reach = Reach::Anywhere;
    }
    let (format, ended) = match arguments.command {
        Command::Audit(audit) => (audit.format(), audit.run(console)),
        Command::Lint(lint) => (lint.format(), lint.run(console)),
        Command::Rules(rules) => (rules.format(), rules.run(console)),
        Command::Diff(diff) => (diff.format(), diff.run(console)),
        Command::Review(review) => (review.format(), review.run(console)),
        Command::Merge(merge) => (Format::Text, merge.run(console)),
        Command::Driver(driver) => (Format::Text, driver.run(console)),
        Command::Survey(survey) => (survey.format(), survey.run(console)),
        Command::Volts(volts) => (volts.format(), volts.run(console)),
        Command::Supply(supply) => (supply.format(), supply.run(console)),
        Command::Response(response) => (response.format(), response.run(console)),
        Command::Roles(roles) => (roles.format(), roles.run(console)),
        Command::Tidy(tidy) => (Format::Text, tidy.run(console)),
    };
    match ended {
        Ok(status) => Ok(status),
        Err(Stop::Output(error)) => Err(error),
        Err(stop) => stop.tell(format, console),
    }
}
