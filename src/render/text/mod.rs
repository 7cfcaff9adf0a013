//! Text for people: columns that line up, wrapped to the width, coloured by escape codes.

mod head;
mod page;
mod roles;
mod table;
mod volts;

pub use head::{assumed, head, partly_solved};
pub use page::Page;
pub use roles::roles;
pub use table::{Align, Cell, Table};
pub use volts::{legend, volts};
