//! Text for people: columns that line up, wrapped to the width, coloured by escape codes.

mod changes;
mod clipping;
mod effects;
mod findings;
mod head;
mod heads;
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
pub use findings::{changed_rules, counts, findings, summary};
pub use head::{assumed, assumed_in_short, between, counted, head, partly_solved, title};
pub use heads::{heads, moved};
pub use matched::matched;
pub use page::Page;
pub use record::{
    aside, cautioned, cautions, cautions_in_short, last_line, meter, not_looked_at, open, open_in_short,
    readings,
};
pub use response::response;
pub use review::{review, review_in_short, review_summary};
pub use roles::roles;
pub use rule::{list, proof, rule};
pub use style::wrapped;
pub use supply::{plug, supply};
pub use survey::survey;
pub use table::{Align, Cell, Table};
pub use texts::{only_in_one, texts};
pub use volts::{legend, spread_note, volts};
