//! Why a command could not do its work.

use std::io;

use super::Status;
use super::console::Console;
use super::input::Opened;
use super::options::Format;
use crate::load::Loaded;
use crate::render::{json, problems};
use crate::source::{Problem, Sources, has_errors};

/// What ends a command early.
#[derive(Debug)]
pub(super) enum Stop {
    /// The terminal or pipe takes no more.
    Output(io::Error),
    /// The tool could not work: one sentence.
    Failure(String),
    /// The documents are at fault.
    Problems(Vec<Problem>, Box<Sources>),
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Stop {
        Stop::Output(error)
    }
}

impl Stop {
    /// A problem with one of the documents of a stack.
    pub(super) fn of(problem: Problem, loaded: &Loaded) -> Stop {
        Stop::Problems(vec![problem], Box::new(loaded.sources.clone()))
    }

    /// Says it, and gives the exit status.
    pub(super) fn tell(self, format: Format, console: &mut Console) -> io::Result<Status> {
        let (failure, problems) = match self {
            Stop::Output(error) => return Err(error),
            Stop::Failure(words) => {
                console.complain(&format!("asfound: {words}\n"))?;
                (Some(words), Vec::new())
            }
            Stop::Problems(list, sources) => {
                console.complain(&problems::problems(&list, &sources, console.width))?;
                (None, json::problems(&list, &sources))
            }
        };
        if format == Format::Json {
            console.say(&json::pretty(&json::FailureJson::of(failure, problems)))?;
        }
        Ok(Status::Trouble)
    }
}

/// Shows problems that did not stop the command.
pub(super) fn notices(opened: &Opened, console: &mut Console) -> io::Result<()> {
    if opened.notices.is_empty() {
        return Ok(());
    }
    console.complain(&problems::problems(&opened.notices, &opened.loaded.sources, console.width))
}

/// Shows what was not solved beyond "partly solved", which makes the run end in trouble; in findings, where a change
/// is known that prevents it.
pub(super) fn unsolved(problems: &[Problem], opened: &Opened, console: &mut Console) -> io::Result<Status> {
    if problems.is_empty() {
        return Ok(Status::Nothing);
    }
    console.complain(&problems::problems(problems, &opened.loaded.sources, console.width))?;
    Ok(if has_errors(problems) { Status::Trouble } else { Status::found(true) })
}

/// Says which rules of packs took more steps than a rule may: what they would find nobody knows.
pub(super) fn too_large(rules: &[String], console: &mut Console) -> io::Result<Status> {
    for rule in rules {
        console.complain(&format!(
            "asfound: the rule {rule} is too large for this document: it could not tell; count over fewer things\n"
        ))?;
    }
    Ok(if rules.is_empty() { Status::Nothing } else { Status::Trouble })
}
