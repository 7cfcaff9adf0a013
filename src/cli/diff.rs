//! `asfound diff FILE [OTHER]`

use clap::{Args, ValueEnum};

use super::Status;
use super::console::Console;
use super::input::Opened;
use super::options::{Format, Output};
use super::stop::{Stop, notices};
use crate::analysis::effects_at_idle;
use crate::change::alike::{alike, strangers};
use crate::change::{Side, compare};
use crate::circuit::{Circuit, spelled_out};
use crate::model::DocumentKind;
use crate::recognise::recognise;
use crate::render::{json, text};
use crate::source::Sources;
use crate::syntax::print::print;
use crate::syntax::tree::Document;

/// What differs between a document and what it rests on, or another document
///
/// Compared as circuits, not as texts: the order of statements, spacing and comments do not matter. Exit status 1
/// where something differs.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound diff job-0412.amp                     since the document it rests on
  asfound diff --stock plan-0412.amp            against the stock spec at the bottom
  asfound diff sedge-45.amp sedge-45b.amp       from the first to the second
  asfound diff --by circuit mine.amp yours.amp  whatever the parts and nets are called in each
  asfound diff --effects sedge-45.amp sedge-45b.amp   with what the differences do
  asfound diff --texts sedge-45.amp sedge-45b.amp")]
pub(super) struct Diff {
    /// The document; the first of two, if OTHER is given
    #[arg(value_name = "FILE")]
    file: String,
    /// Another document, compared as the later one
    #[arg(value_name = "OTHER")]
    other: Option<String>,
    /// Compare with the nearest stock spec beneath, not the document directly beneath
    #[arg(long, conflicts_with = "other")]
    stock: bool,
    /// Also what the differences do at idle, and which does how much
    #[arg(long)]
    effects: bool,
    /// Also show both side by side: stock specs as their canonical texts, layers as the circuits they make
    #[arg(long)]
    texts: bool,
    /// Which part is which: by designators, or by the circuit whatever they are called; where not said, by the
    /// circuit if OTHER's designators plainly don't correspond
    #[arg(long, value_enum, value_name = "WHAT", requires = "other")]
    by: Option<By>,
    #[command(flatten)]
    output: Output,
}

/// So many differences by designators are worth a second look.
const MANY: usize = 6;

/// What tells which part is which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum By {
    /// Designators and names of nets
    Names,
    /// What each part is and what it is joined to
    Circuit,
}

/// One of the two sides.
struct Shown<'a> {
    path: &'a str,
    document: &'a Document,
    circuit: &'a Circuit,
}

impl Diff {
    pub(super) fn format(&self) -> Format {
        self.output.format
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let first = Opened::open(&self.file, console.reach)?;
        let Some(other) = &self.other else {
            let (_, depth) = first.top()?;
            let beneath = self.beneath(&first, depth)?;
            notices(&first, console)?;
            let (before, after) = (shown(&first, beneath), shown(&first, depth));
            let problems = json::problems(&first.notices, &first.loaded.sources);
            return self.tell(console, (&before, &after), problems, &first.loaded.sources);
        };
        let second = Opened::beside(first.loaded.sources.clone(), other, console.reach)?;
        notices(&first, console)?;
        notices(&second, console)?;
        let (before, after) = (shown(&first, first.top()?.1), shown(&second, second.top()?.1));
        let notices = [first.notices.as_slice(), second.notices.as_slice()].concat();
        let problems = json::problems(&notices, &second.loaded.sources);
        self.tell(console, (&before, &after), problems, &second.loaded.sources)
    }

    /// Depth of the document to compare with.
    fn beneath(&self, opened: &Opened, depth: usize) -> Result<usize, Stop> {
        let stock = |d: &usize| opened.circuits[*d].kind == DocumentKind::Stock;
        let found = if self.stock { (0..depth).rev().find(stock) } else { depth.checked_sub(1) };
        found.ok_or_else(|| {
            let words = "rests on no other document; name one to compare it with";
            Stop::Failure(format!("{} {words}: asfound diff {} OTHER", self.file, self.file))
        })
    }

    /// How many differences there are by circuit, where designators were taken by default and that is plainly fewer.
    fn fewer_by_circuit(&self, (before, after): (&Circuit, &Circuit), found: usize) -> Option<usize> {
        if self.by.is_some() || self.other.is_none() || found < MANY || strangers(before, after) {
            return None;
        }
        let alike = alike(before, after);
        let recognised = [&alike.before, &alike.after].map(recognise);
        let fewer = alike.compare([&recognised[0], &recognised[1]]).changes.len();
        (2 * fewer < found).then_some(fewer)
    }

    fn tell(
        &self,
        console: &mut Console,
        (before, after): (&Shown, &Shown),
        problems: Vec<json::ProblemJson>,
        sources: &Sources,
    ) -> Result<Status, Stop> {
        let by_circuit = match self.by {
            Some(by) => by == By::Circuit,
            None => self.other.is_some() && strangers(before.circuit, after.circuit),
        };
        let alike = by_circuit.then(|| alike(before.circuit, after.circuit));
        let pair = alike.as_ref().map_or((before.circuit, after.circuit), |a| (&a.before, &a.after));
        let (first, second) = (recognise(pair.0), recognise(pair.1));
        let side = |circuit, recognised| Side { circuit, recognised };
        let by_name = || compare(side(pair.0, &first), side(pair.1, &second));
        let comparison = alike.as_ref().map_or_else(by_name, |a| a.compare([&first, &second]));
        let effects = if self.effects {
            let sides = [side(pair.0, &first), side(pair.1, &second)];
            effects_at_idle(&comparison, sides)
                .map_err(|p| Stop::Problems(vec![p], Box::new(sources.clone())))?
        } else {
            Vec::new()
        };
        let changes = &comparison.changes;
        let status = Status::found(!changes.is_empty());
        if self.format() == Format::Json {
            let matched = alike.as_ref().map(|alike| json::matched(alike, changes));
            let effects = self.effects.then(|| json::effects(&effects, changes));
            let changes = json::changes(changes, sources);
            let (a, b) =
                (json::document(before.path, before.circuit), json::document(after.path, after.circuit));
            console.say(&json::cautioned(&json::diff(a, b, problems, changes, effects, matched)))?;
            return Ok(status);
        }
        let mut page = text::Page::new(console.width);
        text::between(&mut page, (before.path, before.circuit), (after.path, after.circuit));
        if !changes.is_empty() {
            page.heading(&text::counted(changes.len(), "difference"));
            text::changes(&mut page, changes, sources);
        }
        if let Some(alike) = &alike {
            text::matched(&mut page, alike, changes);
        }
        if !effects.is_empty() {
            page.heading("Effects at idle");
            text::effects(&mut page, &effects, &comparison);
        }
        if changes.is_empty() {
            text::last_line(&mut page, "The same, in every part and joint.");
        }
        if let Some(fewer) = self.fewer_by_circuit((before.circuit, after.circuit), changes.len()) {
            let words = text::counted(fewer, "difference");
            text::last_line(
                &mut page,
                &format!("Taken by designators; by what the parts are, {words}: --by circuit"),
            );
        }
        if self.texts {
            page.heading("Spelled out");
            // Of two stock specs the texts themselves; of a layer the whole circuit that it makes.
            let whole = before.document.header().zip(after.document.header());
            let stock = whole.is_some_and(|(a, b)| a.base.is_none() && b.base.is_none());
            let spell = |side: &Shown| if stock { print(side.document) } else { spelled_out(side.circuit) };
            text::texts(&mut page, &spell(before), &spell(after));
        }
        console.say(&text::cautioned(page))?;
        Ok(status)
    }
}

fn shown(opened: &Opened, depth: usize) -> Shown<'_> {
    let document = &opened.loaded.stack[depth];
    let path = &opened.loaded.sources.source(document.file).path;
    Shown { path, document, circuit: &opened.circuits[depth] }
}
