//! `asfound git-driver`: what git calls to show how a document changed.

use clap::Args;

use super::Status;
use super::console::Console;
use super::input::{self, Opened};
use super::reach::Reach;
use super::stop::Stop;
use crate::change::{Side, compare};
use crate::recognise::recognise;
use crate::render::{problems, text};
use crate::source::Sources;
use crate::syntax::print::print;
use crate::syntax::tree::{Document, Said};

/// For git: how a document changed, as a circuit
///
/// Git calls it with seven words for each file of a `git diff`. Set it up once:
///
///   git config diff.amplifier.command 'asfound git-driver'
///
/// and in `.gitattributes` the line `*.amp diff=amplifier`. For `git log -p`, which runs no driver, canonical texts
/// compare best; one that can't be read is shown as it stands. Where the circuit is the same, what else is said
/// of it is told: windows, readings, accepted findings.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  git config diff.amplifier.command 'asfound git-driver'
  git config diff.amplifier.textconv 'f() { asfound tidy \"$1\" 2>/dev/null || cat \"$1\"; }; f'
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
            _ => self
                .compared(console.width, console.reach)
                .unwrap_or_else(|stop| trouble(stop, console.width)),
        };
        console.say(&told)?;
        Ok(Status::Nothing)
    }

    fn compared(&self, width: usize, reach: Reach) -> Result<String, Stop> {
        let open = |sources: Sources, from: &str| {
            let mut beneath = reach.reader(&self.path);
            Opened::by(sources, &self.path, &mut |path| {
                if path == self.path { input::text(from) } else { beneath(path) }
            })
        };
        let before = open(Sources::default(), &self.old)?;
        let after = open(before.loaded.sources.clone(), &self.new)?;
        let (first, second) = (before.top()?.0, after.top()?.0);
        let (a, b) = (recognise(first), recognise(second));
        let changes =
            compare(Side { circuit: first, recognised: &a }, Side { circuit: second, recognised: &b });
        let same = changes.changes.is_empty();
        let mut page = text::Page::new(width);
        page.heading(&format!("{}: {}", self.path, text::counted(changes.changes.len(), "difference")));
        text::changes(&mut page, &changes.changes, &after.loaded.sources);
        let said = |opened: &Opened| opened.loaded.stack.last().map(|document| said(document, same));
        let (old, new) = (said(&before).unwrap_or_default(), said(&after).unwrap_or_default());
        if same {
            let words = if old == new { "told in another order" } else { "with something else said of it" };
            text::last_line(&mut page, &format!("The same circuit, {words}."));
        }
        text::only_in_one(&mut page, &old, &new);
        Ok(page.finish())
    }
}

/// Statements in their canonical words, sorted: all of them, or those that say nothing of the circuit (windows, readings,
/// accepted findings, what was looked at).
fn said(document: &Document, all: bool) -> Vec<String> {
    let beside = |said: &Said| {
        matches!(
            said,
            Said::Window { .. } | Said::Meter(_) | Said::Accept { .. } | Said::Checked(_) | Said::Note(_)
        )
    };
    let mut document = document.clone();
    document.lines.retain(|line| line.statement.as_ref().is_some_and(|of| all || beside(&of.said)));
    document.lines.iter_mut().for_each(|line| line.comment = None);
    let mut lines: Vec<String> = print(&document).lines().map(|line| line.trim().to_owned()).collect();
    lines.retain(|line| !line.is_empty());
    lines.sort();
    lines
}

fn trouble(stop: Stop, width: usize) -> String {
    match stop {
        Stop::Output(why) => format!("asfound: {why}\n"),
        Stop::Failure(words) => format!("asfound: {words}\n"),
        Stop::Problems(list, sources) => problems::problems(&list, &sources, width),
    }
}
