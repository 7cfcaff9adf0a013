//! Questions of the bench, each answered from what was recognised and solved: the voltage chart, what the
//! readings say, what has not been looked at.

pub mod causes;
pub mod cautions;
pub mod chart;
pub mod coverage;
pub mod merge;
pub mod reading;
pub mod response;
pub mod supply;
pub mod survey;

pub use causes::{MainCauses, main_causes};
pub use cautions::{CAUTION, CAUTIONS, at_the_plug, in_its_capacitors, unknown_charge};
pub use chart::{Chart, ChartRow, SectionRows, chart};
pub use coverage::{Coverage, coverage};
pub use merge::{Conflict, Merged, merge};
pub use reading::{Compared, Mark, compare, predicted, predicted_within};
pub use response::{Heard, Question, Unheard, gain_of, hear};
pub use supply::{STING_JOULES, SupplySheet, supply_sheet};
pub use survey::{Shared, Surveyed, Told, shared_changes, shared_findings};
