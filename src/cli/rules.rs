//! `asfound rules [NAME]`

use std::path::PathBuf;

use clap::Args;

use super::console::Console;
use super::options::{Format, Output};
use super::stop::Stop;
use super::{Status, packs};
use crate::analysis::example_facts;
use crate::render::{json, text};
use crate::rules::{RuleSet, explain, list, prove};
use crate::source::nearest;

/// The rules: list, explain one, prove them by their examples
///
/// Without a name one line each; with a name the rule's reason, source and examples. Proving runs every rule over
/// its own examples; exit status 1 where one disagrees.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound rules
  asfound rules dropper-overloaded
  asfound rules --prove                    every shipped rule
  asfound rules --prove shop-rules/        with the packs of a folder")]
pub(super) struct Rules {
    /// One rule's name
    #[arg(value_name = "NAME", conflicts_with = "prove")]
    name: Option<String>,
    /// Check rules by the examples they carry; PACK is a file or folder of further rules
    #[arg(long, value_name = "PACK", num_args = 0..)]
    prove: Option<Vec<PathBuf>>,
    /// A file or folder of further rules; may be given several times
    #[arg(long = "rules", value_name = "PATH")]
    packs: Vec<PathBuf>,
    #[command(flatten)]
    output: Output,
}

impl Rules {
    pub(super) fn format(&self) -> Format {
        self.output.format
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let mut packs = self.packs.clone();
        packs.extend(self.prove.iter().flatten().cloned());
        let rules = packs::rules(&packs)?;
        if self.prove.is_some() {
            return self.proof(&rules, console);
        }
        match &self.name {
            Some(name) => self.one(name, &rules, console),
            None => self.all(&rules, console),
        }
    }

    fn all(&self, rules: &RuleSet, console: &mut Console) -> Result<Status, Stop> {
        let lines = list(rules);
        if self.format() == Format::Json {
            console.say(&json::pretty(&json::rule_list(&lines)))?;
            return Ok(Status::Nothing);
        }
        let mut page = text::Page::new(console.width);
        text::list(&mut page, &lines);
        console.say(&page.finish())?;
        Ok(Status::Nothing)
    }

    fn one(&self, name: &str, rules: &RuleSet, console: &mut Console) -> Result<Status, Stop> {
        let Some(rule) = rules.rule(name) else {
            let names = list(rules);
            let near = nearest(name, names.iter().map(|line| line.name.as_str()));
            let help =
                near.map_or("`asfound rules` lists them".into(), |near| format!("did you mean {near}?"));
            return Err(Stop::Failure(format!("there is no rule {name}; {help}")));
        };
        let explained = explain(rule);
        if self.format() == Format::Json {
            console.say(&json::pretty(&json::rule(&explained)))?;
            return Ok(Status::Nothing);
        }
        let mut page = text::Page::new(console.width);
        text::rule(&mut page, &explained);
        console.say(&page.finish())?;
        Ok(Status::Nothing)
    }

    fn proof(&self, rules: &RuleSet, console: &mut Console) -> Result<Status, Stop> {
        let broken = prove(rules, &|documents| example_facts(rules, documents));
        let (count, examples) = (rules.rules().count(), rules.rules().map(|r| r.examples().len()).sum());
        let status = Status::found(!broken.is_empty());
        if self.format() == Format::Json {
            console.say(&json::pretty(&json::proof(count, examples, &broken)))?;
            return Ok(status);
        }
        let mut page = text::Page::new(console.width);
        text::proof(&mut page, count, examples, &broken);
        console.say(&page.finish())?;
        Ok(status)
    }
}
