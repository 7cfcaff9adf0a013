//! Rule files to verdicts: what is dangerous, overstressed, missing or not stock.
//!
//! Text comes in through [`RuleSet::shipped`] and [`RuleSet::extended`], is read by the grammar in
//! `grammar/rules.pest`, checked for names, units and completeness, and asked about [`Facts`] by [`check()`]. Rules
//! read facts only: they know no statement of a document and no file. Every thing a rule looks at ends as flagged,
//! passed or could not tell; what is missing is never guessed.

pub mod ast;
mod charge;
mod check;
mod compile;
mod compile_call;
mod context;
pub mod derating;
pub mod dimension;
mod domain;
mod eval;
mod explain;
mod facts;
pub mod finding;
pub mod functions;
mod head;
mod known;
mod laxer;
mod leaks;
mod level;
mod load;
mod names;
pub mod nouns;
mod ohms;
mod page;
mod parse;
mod parse_expr;
mod parse_message;
mod paths;
mod prove;
mod reach;
mod rule;
mod set;
mod shipped;
mod signals;
mod touch;
pub mod value;
mod warm_up;
mod ways;

pub use check::{Again, ask_again, check};
pub use derating::{INSIDE_CELSIUS, bearable_share};
pub use explain::{Explained, Heading, LanguageEntry, Line, explain, language, list};
pub use facts::{Facts, Worked};
pub use finding::{Accepted, Basis, CouldNotTell, Finding, FiredValue, Tally, Verdicts};
pub use known::{Known, KnownFinding};
pub use level::{Level, Severity};
pub use nouns::{GROUPS, Group};
pub use page::{Example, HEADINGS, MEASURES};
pub use prove::{Broken, Solve, prove, prove_rule};
pub use rule::{Rule, RuleChange};
pub use set::RuleSet;
pub use shipped::{SHIPPED, as_built, read_anew};
