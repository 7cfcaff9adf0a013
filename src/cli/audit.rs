//! `asfound audit FILE`

use clap::Args;

use super::console::Console;
use super::input::Opened;
use super::options::{Counting, Format, Judging, Output, whole_of_text};
use super::stop::{Stop, notices, too_large, unsolved};
use super::{Status, known};
use crate::analysis::{self, Heads, Open, Step, audit_in, open_matters, own_cautions, readings_of};
use crate::analysis::{Compared, Coverage, coverage};
use crate::model::{Condition, DocumentKind};
use crate::render::{json, text};

/// Everything about a document: changes, what they do, findings, what has not been looked at
///
/// Changes since the document it rests on and against stock; what each did to rails, electrodes, currents and
/// powers; what the rules find; what has not been looked at yet; what the readings say. Exit status 1 where a
/// finding that nobody accepted is at the chosen level or above, and where there is a danger to people, whatever was
/// accepted.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound audit job-0412.amp                        what the bench found
  asfound audit --fail-on caution plan-0412.amp     stock, found and planned
  asfound audit --in high-mains job-0412.amp        in that state of the amplifier
  asfound audit --rules shop-rules/ --format json job-0412.amp")]
pub(super) struct Audit {
    /// The document
    #[arg(value_name = "FILE")]
    file: String,
    #[command(flatten)]
    judging: Judging,
    #[command(flatten)]
    counting: Counting,
    /// Every finding, change, effect, file and line
    #[arg(long)]
    whole: bool,
    #[command(flatten)]
    output: Output,
}

impl Audit {
    pub(super) fn format(&self) -> Format {
        self.output.format
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        whole_of_text(self.whole && self.format() == Format::Json)?;
        let reach = console.reach;
        let (rules, opened) =
            rayon::join(|| self.judging.rules(&self.file), || Opened::open(&self.file, reach));
        let (rules, opened) = (self.counting.of(rules?), opened?);
        let condition = self.counting.condition.unwrap_or(Condition::Idle);
        let mut audit = audit_in(&opened.circuits, &rules, condition)
            .map_err(|why| Stop::Failure(format!("{} has no {}: {why}", self.file, condition.word())))?;
        known::apply(&self.counting, &self.file, &mut audit, console)?;
        notices(&opened, console)?;
        let trouble = unsolved(&audit.unsolved, &opened, console)?;
        let trouble = trouble.max(too_large(&audit.verdicts.too_large, console)?);
        let status = trouble.max(Status::found(audit.verdicts.worst() >= Some(self.judging.fail_on)));
        let report = Report::new(&opened, &audit);
        let text = match self.format() {
            Format::Json => report.json(&audit.heads(&rules)),
            Format::Text if self.whole => report.whole(console.width),
            Format::Text => report.text(&audit.heads(&rules), console.width),
        };
        console.say(&text)?;
        Ok(status)
    }
}

/// An audit with what the bench asks beside it.
struct Report<'a> {
    opened: &'a Opened,
    audit: &'a analysis::Audit,
    coverage: Option<Coverage>,
    readings: Vec<Compared<'a>>,
    open: Vec<Open>,
}

impl<'a> Report<'a> {
    fn new(opened: &'a Opened, audit: &'a analysis::Audit) -> Report<'a> {
        let top = audit.top();
        // Only a record of the bench looks at parts.
        let record = |kind| matches!(kind, DocumentKind::AsFound | DocumentKind::AsLeft);
        let coverage =
            top.filter(|top| record(top.circuit.kind)).map(|top| coverage(&top.circuit, &top.recognised));
        let readings = top.map_or(Vec::new(), readings_of);
        Report { opened, audit, coverage, readings, open: open_matters(&audit.worked) }
    }

    fn json(&self, heads: &Heads) -> String {
        let sources = &self.opened.loaded.sources;
        let beside = json::Beside {
            heads,
            coverage: self.coverage.as_ref(),
            readings: &self.readings,
            open: &self.open,
        };
        let head = self.opened.head(&self.audit.unsolved);
        json::cautioned_with(&json::audit(head, self.audit, &beside, sources), &self.own_cautions())
    }

    fn own_cautions(&self) -> Vec<String> {
        self.audit.top().map_or_else(Vec::new, own_cautions)
    }

    /// The answer, in one screen.
    fn text(&self, heads: &Heads, width: usize) -> String {
        let mut page = text::Page::new(width);
        text::title(&mut page, &self.opened.stack());
        if let (Some(top), Some(idle)) = (self.audit.top(), self.audit.idle()) {
            text::partly_solved(&mut page, &top.circuit, idle, &self.audit.cut_off);
        }
        text::heads(&mut page, heads, &self.audit.verdicts);
        text::changed_rules(&mut page, &self.audit.verdicts.changed);
        let against = self.audit.against_stock.as_ref().or(self.audit.since.as_ref());
        // Without an operating point nobody knows what a change does.
        if let (Some(step), Some(state)) = (against, &self.audit.state) {
            text::moved(&mut page, heads, &step.effects, (state, self.audit.is_heard(step)));
        }
        if !self.readings.is_empty() {
            text::meter(&mut page, &self.readings);
        }
        text::open_in_short(&mut page, &self.open.iter().collect::<Vec<_>>());
        text::assumed_in_short(&mut page, &self.audit.assumed());
        text::last_line(&mut page, &text::counts(&self.audit.verdicts));
        text::aside(
            &mut page,
            "every finding, figure, file and line: --whole · one rule: asfound rules NAME",
        );
        text::cautions_in_short(&mut page, &self.own_cautions());
        page.finish()
    }

    /// Everything.
    fn whole(&self, width: usize) -> String {
        let mut page = text::Page::new(width);
        let sources = &self.opened.loaded.sources;
        text::head(&mut page, &self.opened.stack());
        if let (Some(top), Some(idle)) = (self.audit.top(), self.audit.idle()) {
            text::partly_solved(&mut page, &top.circuit, idle, &self.audit.cut_off);
        }
        // What is dangerous stands before what is only different.
        text::findings(&mut page, &self.audit.verdicts, sources);
        self.changes(&mut page);
        self.effects(&mut page);
        if let (Some(top), Some(coverage)) = (self.audit.top(), &self.coverage) {
            text::not_looked_at(&mut page, &top.circuit, coverage);
        }
        if let (Some(top), false) = (self.audit.top(), self.readings.is_empty()) {
            text::readings(&mut page, &top.circuit, &self.readings);
        }
        text::open(&mut page, &self.open);
        text::assumed(&mut page, &self.audit.assumed());
        text::last_line(&mut page, &text::summary(&self.audit.verdicts));
        text::cautions(&mut page, &self.own_cautions());
        page.finish()
    }

    /// `sedge-45.amp`: the document that a step starts from.
    fn name(&self, step: &Step) -> String {
        let circuit = &self.audit.worked[step.before].circuit;
        format!("{} ({})", circuit.title, circuit.kind.word())
    }

    fn changes(&self, page: &mut text::Page) {
        let sources = &self.opened.loaded.sources;
        let steps = [("since", &self.audit.since), ("against", &self.audit.against_stock)];
        for (word, step) in steps {
            let Some(step) = step else { continue };
            let changes = &step.comparison.changes;
            let count = text::counted(changes.len(), if word == "since" { "change" } else { "difference" });
            page.heading(&format!("{count} {word} {}", self.name(step)));
            text::changes(page, changes, sources);
        }
    }

    fn effects(&self, page: &mut text::Page) {
        let Some(since) = &self.audit.since else { return };
        let state = self.audit.state.as_deref().unwrap_or("idle");
        page.heading(&format!("Effects at {state}, {} → now", self.name(since)));
        text::effects(page, &since.effects, &since.comparison);
        if !self.audit.three.is_empty() {
            let words = self.audit.worked.last().map_or("now", |w| now_word(w.circuit.kind));
            let beneath = now_word(self.audit.worked[since.before].circuit.kind);
            page.heading("Stock, before and now");
            text::three(page, &self.audit.three, ["stock", beneath, words]);
        }
    }
}

/// What a document tells of, in one word.
fn now_word(kind: DocumentKind) -> &'static str {
    match kind {
        DocumentKind::Stock | DocumentKind::TypeData => "stock",
        DocumentKind::AsFound => "found",
        DocumentKind::Plan => "planned",
        DocumentKind::AsLeft => "left",
    }
}
