//! What hands can reach in the circuits that rules look at, worked out once for each.

use std::collections::BTreeSet;
use std::sync::OnceLock;

use super::facts::{Facts, Worked};
use crate::circuit::PartId;
use crate::solve::touch::{Hazard, Route, hazards};

/// Hazards to whoever touches one circuit.
#[derive(Debug, Default)]
pub(crate) struct Touch {
    all: OnceLock<Vec<Hazard>>,
}

impl Touch {
    fn all(&self, view: &Worked) -> &[Hazard] {
        self.all.get_or_init(|| hazards(&view.circuit, &view.solved))
    }

    /// The worst hazard that a part makes on some routes. Where the document beneath has not all the parts that carry
    /// it, those that it doesn't have are to blame, not the sound ones on the way.
    pub(crate) fn of(&self, facts: &Facts, part: PartId, routes: &[Route]) -> Option<Hazard> {
        let changed = changed(facts);
        let blamed = |hazard: &Hazard| {
            let new: BTreeSet<PartId> = hazard.carriers.intersection(&changed).copied().collect();
            if new.is_empty() { hazard.joiners.contains(&part) } else { new.contains(&part) }
        };
        let here = self.all(&facts.now).iter().filter(|h| routes.contains(&h.route) && blamed(h));
        here.max_by(|a, b| b.by_class_y.cmp(&a.by_class_y).then(a.amps.total_cmp(&b.amps))).cloned()
    }
}

/// Parts that differ from the stock spec, or from the document beneath.
fn changed(facts: &Facts) -> BTreeSet<PartId> {
    facts.changes.iter().chain(&facts.differences).filter_map(|change| change.after_part).collect()
}
