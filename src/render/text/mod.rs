//! Text for people: columns that line up, wrapped to the width, coloured by escape codes.

mod changes;
mod head;
mod page;
mod roles;
mod table;
mod texts;
mod volts;

pub use changes::changes;
pub use head::{assumed, between, counted, head, partly_solved};
pub use page::{FAINT, PLAIN, Page};
pub use roles::roles;
pub use table::{Align, Cell, Table};
pub use texts::texts;
pub use volts::{legend, volts};
