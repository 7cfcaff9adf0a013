//! `asfound git-driver`: what git calls to show how a document changed.

use clap::Args;

use super::Status;
use super::console::Console;
use super::input::{self, Opened};
use super::stop::Stop;
use crate::change::{Side, compare};
use crate::recognise::recognise;
use crate::render::{problems, text};
use crate::source::Sources;

/// For git: how a document changed, as a circuit
///
/// Git calls it with seven words for each file of a `git diff`. Set it up once:
///
///   git config diff.amplifier.command 'asfound git-driver'
///
/// and in `.gitattributes` the line `*.amp diff=amplifier`. For `git log -p`, which runs no driver, canonical texts
/// compare best: git config diff.amplifier.textconv 'asfound tidy'.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  git config diff.amplifier.command 'asfound git-driver'
  git config diff.amplifier.textconv 'asfound tidy'
  echo '*.amp diff=amplifier' >> .gitattributes")]
pub(super) struct Driver {
    /// Where the document stands in the work tree; what it rests on is read from there
    #[arg(value_name = "PATH")]
    path: String,
    /// Its old text
    #[arg(value_name = "OLD")]
    old: String,
    /// The old text's name in git
    #[arg(value_name = "OLD-NAME")]
    old_name: String,
    /// Its mode
    #[arg(value_name = "OLD-MODE")]
    old_mode: String,
    /// Its new text
    #[arg(value_name = "NEW")]
    new: String,
    /// The new text's name in git, its mode, and more where it was renamed
    #[arg(value_name = "NEW-NAME", num_args = 0..)]
    new_name: Vec<String>,
}

/// What git gives for a file that is not there.
const NOWHERE: [&str; 2] = ["/dev/null", "nul"];

impl Driver {
    /// Git takes any exit status but 0 for a crash, so that trouble is told in the output.
    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let there = |file: &str| !NOWHERE.contains(&file);
        let told = match (there(&self.old), there(&self.new)) {
            (false, _) => format!("{}: a new document\n", self.path),
            (_, false) => format!("{}: the document is gone\n", self.path),
            _ => self.compared(console.width).unwrap_or_else(|stop| trouble(stop, console.width)),
        };
        console.say(&told)?;
        Ok(Status::Nothing)
    }

    fn compared(&self, width: usize) -> Result<String, Stop> {
        let open = |sources: Sources, from: &str| {
            Opened::by(sources, &self.path, &mut |path| {
                input::text(if path == self.path { from } else { path })
            })
        };
        let before = open(Sources::default(), &self.old)?;
        let after = open(before.loaded.sources.clone(), &self.new)?;
        let (first, second) = (before.top()?.0, after.top()?.0);
        let (a, b) = (recognise(first), recognise(second));
        let changes =
            compare(Side { circuit: first, recognised: &a }, Side { circuit: second, recognised: &b });
        let mut page = text::Page::new(width);
        page.heading(&format!("{}: {}", self.path, text::counted(changes.changes.len(), "difference")));
        text::changes(&mut page, &changes.changes, &after.loaded.sources);
        if changes.changes.is_empty() {
            text::last_line(&mut page, "The same circuit, told otherwise.");
        }
        Ok(page.finish())
    }
}

fn trouble(stop: Stop, width: usize) -> String {
    match stop {
        Stop::Output(why) => format!("asfound: {why}\n"),
        Stop::Failure(words) => format!("asfound: {words}\n"),
        Stop::Problems(list, sources) => problems::problems(&list, &sources, width),
    }
}
