//! JSON for programs: a schema name with its version in every document, stable order of keys, 9 significant
//! digits, no figure that is not finite.

mod audit;
mod changes;
mod clipping;
mod effects;
mod findings;
mod head;
mod heads;
mod open;
mod problems;
mod response;
mod review;
mod roles;
mod rules;
mod sarif;
mod supply;
mod survey;
mod volts;

pub use audit::{AuditJson, Beside, audit};
pub use changes::{ChangeJson, MatchedJson, changes, diff, matched};
pub use effects::{EffectJson, effects};
pub use findings::{VerdictsJson, lint, verdicts};
pub use head::{DocumentJson, Head, Report, SolvingJson, document, documents, solving};
pub use heads::{HeadsJson, heads};
pub use open::{OpenJson, open};
pub use problems::{FailureJson, PlaceJson, ProblemJson, problems};
pub use response::{ResponseJson, response};
pub use review::{ReviewJson, review};
pub use roles::roles;
pub use rules::{proof, rule, rule_list};
pub use sarif::{Results, SarifLog, sarif};
pub use supply::{SheetJson, SupplyReportJson, supply, supply_sheet};
pub use survey::survey_line;
pub use volts::{ChartJson, VoltsJson, chart, volts};

use serde::{Serialize, Serializer};

use crate::analysis::CAUTIONS;
use crate::units::significant;

/// Significant digits of a figure.
const DIGITS: usize = 9;

/// A figure: rounded to 9 significant digits: more is not earned at the bound of convergence, `null` where it is not finite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure(pub f64);

impl Serialize for Figure {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.0.is_finite() {
            // Negative zero is plain zero.
            serializer.serialize_f64(significant(self.0, DIGITS) + 0.0)
        } else {
            serializer.serialize_none()
        }
    }
}

/// A report with what to mind before opening, measuring or powering.
#[derive(Debug, Serialize)]
pub(super) struct Cautioned<'a, T> {
    #[serde(flatten)]
    report: T,
    cautions: Vec<&'a str>,
}

impl<'a, T> Cautioned<'a, T> {
    fn new(report: T, own: &'a [String]) -> Cautioned<'a, T> {
        Cautioned { report, cautions: own.iter().map(String::as_str).chain(CAUTIONS).collect() }
    }
}

/// The text of a report that leads someone to open or probe: it carries the cautions.
pub fn cautioned(report: &impl Serialize) -> String {
    cautioned_with(report, &[])
}

/// The same with cautions of this amplifier's own before them.
pub fn cautioned_with(report: &impl Serialize, own: &[String]) -> String {
    pretty(&Cautioned::new(report, own))
}

/// A value as text with a final line break.
pub fn pretty(value: &impl Serialize) -> String {
    // Our values have text keys and finite figures only, so that this can't fail.
    let mut text =
        serde_json::to_string_pretty(value).unwrap_or_else(|why| format!("{{\"error\": \"{why}\"}}"));
    text.push('\n');
    text
}
