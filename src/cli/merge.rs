//! `asfound merge BASE OURS THEIRS`

use std::path::Path;

use clap::Args;

use super::console::Console;
use super::replace::replace;
use super::stop::Stop;
use super::{Status, input};
use crate::source::{Source, Sources, has_errors};
use crate::syntax::document::parse;
use crate::syntax::merge::{Conflict, merge};
use crate::syntax::tree::Document;

/// Two records of one job put together, by part
///
/// What only one of the two changed is taken from it, what both say alike is said once, comments of both stay. Where they
/// say different things of one part or place, that is a conflict: both stand in the text between marks such as git sets,
/// and the exit status is 1. No command takes a document with marks in it for a record.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound merge base.amp mine.amp yours.amp > both.amp
  git config merge.amplifier.driver 'asfound merge --write %O %A %B'
  echo '*.amp merge=amplifier' >> .gitattributes")]
pub(super) struct Merge {
    /// The record that both grew out of
    #[arg(value_name = "BASE")]
    base: String,
    /// One of the two
    #[arg(value_name = "OURS")]
    ours: String,
    /// The other
    #[arg(value_name = "THEIRS")]
    theirs: String,
    /// Put the result in place of OURS
    #[arg(long)]
    write: bool,
}

impl Merge {
    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let mut sources = Sources::default();
        let [base, ours, theirs] =
            [&self.base, &self.ours, &self.theirs].map(|path| read(&mut sources, path));
        let merged = merge(&base?, &ours?, &theirs?);
        if self.write {
            replace(Path::new(&self.ours), &merged.text, console)?;
        } else {
            console.say(&merged.text)?;
        }
        for Conflict { about, .. } in &merged.conflicts {
            console.complain(&format!("asfound: the two differ over {about}\n"))?;
        }
        Ok(Status::found(!merged.conflicts.is_empty()))
    }
}

fn read(sources: &mut Sources, path: &str) -> Result<Document, Stop> {
    let text = input::document(path).map_err(Stop::Failure)?;
    let file = sources.add(Source::new(path, text));
    let (document, problems) = parse(file, &sources.source(file).text);
    if has_errors(&problems) {
        return Err(Stop::Problems(problems, Box::new(sources.clone())));
    }
    Ok(document)
}
