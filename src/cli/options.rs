//! Options that several commands share.

use std::path::PathBuf;

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Args, ValueEnum};

use super::packs;
use super::stop::Stop;
use crate::model::Condition;
use crate::rules::{Level, RuleSet};

/// For whom the output is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(super) enum Format {
    /// For people
    #[default]
    Text,
    /// For programs: stable, with the name and version of its schema
    Json,
}

/// How the output is wanted.
#[derive(Debug, Clone, Args)]
pub(super) struct Output {
    /// For people, or for programs
    #[arg(long, value_enum, value_name = "FORM", default_value_t)]
    pub format: Format,
}

/// In which state of the amplifier quantities are computed.
#[derive(Debug, Clone, Args)]
pub(super) struct In {
    /// State of the amplifier
    #[arg(long = "in", value_name = "CONDITION", default_value = "idle", value_parser = condition())]
    pub condition: Condition,
}

/// Which rules judge, and from which level on a finding makes the command fail.
#[derive(Debug, Clone, Args)]
pub(super) struct Judging {
    /// A file or folder of further rules; may be given several times. Rule files beside the document are used without
    /// being named
    #[arg(long = "rules", value_name = "PATH")]
    pub packs: Vec<PathBuf>,
    /// Least level of a finding that makes the exit status 1
    #[arg(long, value_name = "LEVEL", default_value = "warning", value_parser = level())]
    pub fail_on: Level,
}

/// What of the findings counts: all but those of a file, in every state of the amplifier or in one.
#[derive(Debug, Clone, Args)]
pub(super) struct Counting {
    #[command(flatten)]
    pub knowing: Knowing,
    /// Only this state of the amplifier, not every one; effects in it, not at idle
    #[arg(long = "in", value_name = "CONDITION", value_parser = condition())]
    pub condition: Option<Condition>,
}

/// Files of known findings.
#[derive(Debug, Clone, Args)]
pub(super) struct Knowing {
    /// Findings known already: only what is new, or at a worse level, counts; a danger until a reason is written beside it, one to
    /// people always
    #[arg(long, value_name = "FILE")]
    pub known: Option<PathBuf>,
    /// Note what is found in that file, for --known
    #[arg(long, value_name = "FILE")]
    pub write_known: Option<PathBuf>,
}

impl Judging {
    /// The rules, with those beside a document.
    pub(super) fn rules(&self, document: &str) -> Result<RuleSet, Stop> {
        packs::rules_for(&self.packs, document)
    }
}

impl Counting {
    /// The rules restricted to the condition where one is asked for.
    pub(super) fn of(&self, rules: RuleSet) -> RuleSet {
        match self.condition {
            Some(condition) => rules.only_in(condition),
            None => rules,
        }
    }
}

fn level() -> impl TypedValueParser<Value = Level> {
    PossibleValuesParser::new(Level::ALL.map(Level::word))
        .map(|word| Level::of(&word).expect("the parser takes levels alone"))
}

fn condition() -> impl TypedValueParser<Value = Condition> {
    PossibleValuesParser::new(Condition::ALL.map(Condition::word))
        .map(|word| Condition::of(&word).expect("the parser takes conditions alone"))
}

/// Refuses `--whole` where it would do nothing.
pub(super) fn whole_of_text(idle: bool) -> Result<(), Stop> {
    if idle {
        return Err(Stop::Failure("--whole is for text: JSON has every finding as it is".into()));
    }
    Ok(())
}
