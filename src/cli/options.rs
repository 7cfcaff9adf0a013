//! Options that several commands share.

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Args, ValueEnum};

use crate::solve::Condition;

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

fn condition() -> impl TypedValueParser<Value = Condition> {
    PossibleValuesParser::new(Condition::ALL.map(Condition::word))
        .map(|word| Condition::of(&word).unwrap_or(Condition::Idle))
}
