//! Text for people: columns that line up, wrapped to the width, coloured by escape codes.

mod changes;
mod clipping;
mod effects;
mod findings;
mod head;
mod matched;
mod page;
mod plot;
mod record;
mod response;
mod review;
mod roles;
mod rule;
mod style;
mod supply;
mod survey;
mod table;
mod texts;
mod volts;

pub use changes::changes;
pub use effects::{effects, three};
pub use findings::{changed_rules, findings, summary};
pub use head::{assumed, between, counted, head, partly_solved};
pub use matched::matched;
pub use page::Page;
pub use record::{aside, cautioned, cautions, last_line, not_looked_at, open, readings};
pub use response::response;
pub use review::{review, review_summary};
pub use roles::roles;
pub use rule::{list, proof, rule};
pub use style::wrapped;
pub use supply::{plug, supply};
pub use survey::survey;
pub use table::{Align, Cell, Table};
pub use texts::{only_in_one, texts};
pub use volts::{legend, spread_note, volts};
