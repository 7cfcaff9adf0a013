//! `asfound review FILE`

use std::path::Path;

use clap::Args;

use super::Status;
use super::console::Console;
use super::input::Opened;
use super::options::{Format, Judging, Output, whole_of_text};
use super::reach::Reach;
use super::revision::open_at;
use super::stop::{Stop, notices, too_large, unsolved};
use crate::analysis::review;
use crate::render::{json, text};

/// One page to approve: what a document brings, clears and leaves, against an earlier one
///
/// Findings brought, cleared and still there; stated windows before and after; the changes, and what each does. Against
/// the document beneath, or another document or revision by --base. Exit status 1 where it brings a finding at the
/// chosen level or above, or leaves a danger to people.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound review plan-0412.amp                       against what it rests on
  asfound review --base sedge-45.amp plan-0412.amp   against another document
  asfound review --base HEAD~1 job-0412.amp          against a revision of itself")]
pub(super) struct Review {
    /// The document
    #[arg(value_name = "FILE")]
    file: String,
    /// An earlier document, or a revision in which the document is looked up
    #[arg(long, value_name = "DOCUMENT|REVISION")]
    base: Option<String>,
    /// Every finding, change, effect, file and line
    #[arg(long)]
    whole: bool,
    #[command(flatten)]
    judging: Judging,
    #[command(flatten)]
    output: Output,
}

impl Review {
    pub(super) fn format(&self) -> Format {
        self.output.format
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        whole_of_text(self.whole && self.format() == Format::Json)?;
        let rules = self.judging.rules(&self.file)?;
        let opened = Opened::open(&self.file, console.reach)?;
        let base = self.base(&opened, console.reach)?;
        let (before, earlier) = if let Some(base) = &base {
            (&base.circuits[..], base.stack())
        } else {
            let beneath = opened.circuits.len() - 1;
            (&opened.circuits[..beneath], opened.stack()[..beneath].to_vec())
        };
        let Some(review) = review(before, &opened.circuits, &rules) else {
            let words = "rests on no other document; name what to review it against";
            return Err(Stop::Failure(format!("{} {words}: --base DOCUMENT", self.file)));
        };
        notices(&opened, console)?;
        let sources = base.as_ref().map_or(&opened.loaded.sources, |base| &base.loaded.sources);
        let trouble = unsolved(&review.unsolved, base.as_ref().unwrap_or(&opened), console)?;
        let trouble = trouble.max(too_large(&review.too_large, console)?);
        let status = trouble.max(Status::found(review.worst() >= Some(self.judging.fail_on)));
        if self.format() == Format::Json {
            let mut problems = json::problems(&opened.notices, sources);
            problems.extend(json::problems(&review.unsolved, sources));
            // The base's problems stand in texts that this document's may not hold.
            let head = json::Head { documents: json::documents(&opened.stack()), problems };
            let report = json::review(head, json::documents(&earlier), &review, sources);
            console.say(&json::cautioned(&report))?;
            return Ok(status);
        }
        let mut page = text::Page::new(console.width);
        if let (Some(from), Some(to)) = (earlier.last(), opened.stack().last()) {
            let from_name =
                self.base.as_ref().map_or(from.0.to_owned(), |base| format!("{} ({base})", from.0));
            text::between(&mut page, (&from_name, from.1), *to);
        }
        if self.whole {
            text::review(&mut page, &review, sources);
            text::last_line(&mut page, &text::review_summary(&review));
        } else {
            text::review_in_short(&mut page, &review);
            text::aside(&mut page, "every finding, change, effect, file and line: --whole");
        }
        console.say(&text::cautioned(page))?;
        Ok(status)
    }

    /// What --base names: a document where there is such a file, else a revision.
    fn base(&self, opened: &Opened, reach: Reach) -> Result<Option<Opened>, Stop> {
        let Some(base) = &self.base else { return Ok(None) };
        let sources = opened.loaded.sources.clone();
        if !Path::new(base).exists() {
            return open_at(sources, base, &self.file).map(Some);
        }
        let found = Opened::beside(sources, base, reach)?;
        let later = found.stack().iter().rev().skip(1).any(|(path, _)| *path == self.file);
        if later {
            return Err(Stop::Failure(format!(
                "{base} rests on {}: it is the later one of the two",
                self.file
            )));
        }
        Ok(Some(found))
    }
}
