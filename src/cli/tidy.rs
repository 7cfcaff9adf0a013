//! `asfound tidy FILE…`

use std::path::Path;

use clap::Args;

use super::console::Console;
use super::replace::replace;
use super::stop::Stop;
use super::{Status, input};
use crate::render::problems::problems;
use crate::source::{FileId, Source, Sources, has_errors};
use crate::syntax::document::parse;
use crate::syntax::print::print;
use crate::syntax::tree::Document;

/// Documents in their canonical form
///
/// One way to write each statement and value; comments are kept. Without an option the text goes to the screen and
/// the files stay as they are. A file with problems is left alone.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound tidy sedge-45.amp               show the canonical text
  asfound tidy --write *.amp              put it into the files
  asfound tidy --check *.amp              exit status 1 if a file is not in that form")]
pub(super) struct Tidy {
    /// The documents
    #[arg(value_name = "FILE", required = true)]
    files: Vec<String>,
    /// Replace the files
    #[arg(long, conflicts_with = "check")]
    write: bool,
    /// Only say which files would change
    #[arg(long)]
    check: bool,
}

impl Tidy {
    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let mut status = Status::Nothing;
        for path in &self.files {
            let one = match self.one(path, console) {
                Err(Stop::Output(error)) => return Err(Stop::Output(error)),
                Err(stop) => stop.tell(super::options::Format::Text, console)?,
                Ok(one) => one,
            };
            status = status.max(one);
        }
        Ok(status)
    }

    fn one(&self, path: &str, console: &mut Console) -> Result<Status, Stop> {
        let text = input::document(path).map_err(Stop::Failure)?;
        let mut sources = Sources::default();
        let file = sources.add(Source::new(path, text.as_str()));
        let (document, found) = parse(file, &text);
        if has_errors(&found) {
            return Err(Stop::Problems(found, Box::new(sources)));
        }
        if !found.is_empty() {
            console.complain(&problems(&found, &sources, console.width))?;
        }
        let tidied = print(&document);
        if !says_the_same(&document, file, &tidied) {
            return Err(Stop::Failure(format!(
                "{path}: the canonical text would say something else; left alone"
            )));
        }
        if !self.write && !self.check {
            console.say(&tidied)?;
            return Ok(Status::Nothing);
        }
        if tidied == text {
            return Ok(Status::Nothing);
        }
        if self.check {
            console.say(&format!("{path} is not in canonical form\n"))?;
            return Ok(Status::Found);
        }
        replace(Path::new(path), &tidied, console)?;
        console.say(&format!("{path} tidied\n"))?;
        Ok(Status::Nothing)
    }
}

/// Whether the canonical text reads without a problem, prints as itself and keeps every comment.
fn says_the_same(document: &Document, file: FileId, tidied: &str) -> bool {
    let (again, problems) = parse(file, tidied);
    let comments = |document: &Document| -> Vec<String> {
        document
            .lines
            .iter()
            .filter_map(|line| line.comment.as_deref())
            .map(|c| c.trim().to_owned())
            .collect()
    };
    !has_errors(&problems) && print(&again) == tidied && comments(&again) == comments(document)
}
