//! `asfound lint FILE`

use clap::{Args, ValueEnum};

use super::console::Console;
use super::input::Opened;
use super::options::{Counting, Format, Judging, whole_of_text};
use super::stop::{Stop, notices, too_large, unsolved};
use super::{Status, known};
use crate::analysis::judge;
use crate::render::{json, problems, text};
use crate::rules::{RuleSet, Verdicts};
use crate::source::has_errors;

/// What the rules find in a document, and nothing else
///
/// What is dangerous, overstressed, missing or not stock. Exit status 1 where a finding that nobody accepted is at
/// the chosen level or above, and where there is a danger to people, whatever was accepted.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound lint job-0412.amp
  asfound lint --fail-on danger job-0412.amp
  asfound lint --in cold-start sedge-45.amp         in that state of the amplifier alone
  asfound lint --write-known known.txt job-0412.amp  take an archive as it is
  asfound lint --known known.txt job-0412.amp        only what is new counts
  asfound lint --rules shop-rules/ --format json plan-0412.amp")]
pub(super) struct Lint {
    /// The document
    #[arg(value_name = "FILE")]
    file: String,
    #[command(flatten)]
    judging: Judging,
    #[command(flatten)]
    counting: Counting,
    /// Every finding with its file and line, or as a result of its own
    #[arg(long)]
    whole: bool,
    /// For people, for programs, or for code review
    #[arg(long, value_enum, value_name = "FORM", default_value_t)]
    format: Form,
}

/// For whom the output is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Form {
    /// For people
    #[default]
    Text,
    /// For programs: stable, with the name and version of its schema
    Json,
    /// For code review: SARIF 2.1.0, findings with stable fingerprints
    Sarif,
}

impl Lint {
    pub(super) fn format(&self) -> Format {
        if self.format == Form::Json { Format::Json } else { Format::Text }
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        match self.judged(console) {
            // A log of a document that can't be judged is a log all the same.
            Err(Stop::Problems(list, sources)) if self.format == Form::Sarif => {
                console.complain(&problems::problems(&list, &sources, console.width))?;
                let (none, nothing) = (RuleSet::default(), Verdicts::default());
                console.say(&json::pretty(&json::sarif(
                    "",
                    &none,
                    (&nothing, json::Results::Nothing),
                    &list,
                    false,
                    &sources,
                )))?;
                Ok(Status::Trouble)
            }
            other => other,
        }
    }

    fn judged(&self, console: &mut Console) -> Result<Status, Stop> {
        whole_of_text(self.whole && self.format == Form::Json)?;
        let reach = console.reach;
        let (rules, opened) =
            rayon::join(|| self.judging.rules(&self.file), || Opened::open(&self.file, reach));
        let (rules, opened) = (self.counting.of(rules?), opened?);
        let mut audit = judge(&opened.circuits, &rules);
        if let Some(condition) = self.counting.condition
            && let Some(why) = audit.top().and_then(|top| top.solved.not_applicable.get(&condition))
        {
            return Err(Stop::Failure(format!("{} has no {}: {why}", self.file, condition.word())));
        }
        known::apply(&self.counting, &self.file, &mut audit, console)?;
        notices(&opened, console)?;
        let trouble = unsolved(&audit.unsolved, &opened, console)?;
        let trouble = trouble.max(too_large(&audit.verdicts.too_large, console)?);
        let status = trouble.max(Status::found(audit.verdicts.worst() >= Some(self.judging.fail_on)));
        let sources = &opened.loaded.sources;
        if self.format == Form::Sarif {
            let problems = [opened.notices.as_slice(), audit.unsolved.as_slice()].concat();
            let solved = !has_errors(&audit.unsolved);
            let title = audit.top().map_or("", |top| top.circuit.title.as_str());
            let heads = audit.heads(&rules);
            let of = if self.whole { json::Results::Findings(&heads) } else { json::Results::Heads(&heads) };
            let log = json::sarif(title, &rules, (&audit.verdicts, of), &problems, solved, sources);
            console.say(&json::pretty(&log))?;
            return Ok(status);
        }
        if self.format == Form::Json {
            let verdicts = json::verdicts(&audit.verdicts, sources);
            let head = opened.head(&audit.unsolved);
            console.say(&json::cautioned(&json::lint(
                head,
                audit.partly_solved(),
                verdicts,
                json::heads(&audit.heads(&rules), &audit.verdicts.findings),
            )))?;
            return Ok(status);
        }
        let mut page = text::Page::new(console.width);
        if let (Some(top), Some(idle)) = (audit.top(), audit.idle()) {
            text::partly_solved(&mut page, &top.circuit, idle, &audit.cut_off);
        }
        if self.whole {
            text::findings(&mut page, &audit.verdicts, sources);
        } else {
            text::heads(&mut page, &audit.heads(&rules), &audit.verdicts);
            text::changed_rules(&mut page, &audit.verdicts.changed);
        }
        text::last_line(&mut page, &text::summary(&audit.verdicts));
        console.say(&text::cautioned(page))?;
        Ok(status)
    }
}
