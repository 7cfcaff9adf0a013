//! A condition applied to a circuit.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{CHASSIS, LegId, Part, PartId};
use crate::model::Condition;
use crate::recognise::Section;

/// A condition applied to one circuit: what is out, how switches stand, how high the mains is.
#[derive(Debug, Clone)]
pub struct Setup {
    /// The condition.
    pub condition: Condition,
    /// Which of several: "V3a cold", "R49 open"; `None` where the condition has one case.
    pub case: Option<String>,
    /// Mains volts over nominal.
    pub mains_share: f64,
    /// Whether the mains limits are assumed.
    pub limits_assumed: bool,
    /// Parts taken out.
    pub removed: BTreeSet<PartId>,
    /// Sections that emit nothing yet.
    pub cold: Vec<Section>,
    /// Legs without contact.
    pub open: Vec<LegId>,
    /// Switches that stand elsewhere than stated.
    pub positions: BTreeMap<PartId, String>,
}

/// Whether a source stands with its plus on chassis.
pub(super) fn below_chassis(source: &Part) -> bool {
    source.leg_index("plus").is_some_and(|plus| source.legs[plus].net == Some(CHASSIS))
}
