//! What hands can reach in the circuits that rules look at, worked out once for each.

use std::collections::BTreeSet;
use std::sync::OnceLock;

use super::context::Known;
use super::facts::{Facts, Worked};
use crate::circuit::PartId;
use crate::solve::decay::HARMLESS_VOLTS;
use crate::solve::touch::{
    Hazard, PLUG_FARADS, PlugCharge, PulledPlug, Reach, Route, hazards, plug_charge, primary_joiners,
};

/// Hazards to whoever touches one circuit.
#[derive(Debug, Default)]
pub(crate) struct Touch {
    all: OnceLock<Reach>,
    primary: OnceLock<BTreeSet<PartId>>,
    plug: OnceLock<PulledPlug>,
}

impl Touch {
    fn all(&self, view: &Worked) -> &Reach {
        self.all.get_or_init(|| hazards(&view.circuit, &view.solved))
    }

    /// Whether a part joins the primary to another winding.
    pub(crate) fn joins_primary(&self, view: &Worked, part: PartId) -> bool {
        self.primary.get_or_init(|| primary_joiners(&view.circuit)).contains(&part)
    }

    /// What is left between two pins of a pulled plug of which this capacitor holds the most: the worst that is more than
    /// harmless, else the most energy. What is harmless is known only where every case was worked out.
    pub(crate) fn at_the_plug(&self, view: &Worked, capacitor: PartId) -> Known<Option<&PlugCharge>> {
        let all = self.pulled_plug(view);
        let here = all.charges.iter().filter(|charge| charge.capacitors.first() == Some(&capacitor));
        let harms = |charge: &PlugCharge| charge.volts > HARMLESS_VOLTS && charge.farads > PLUG_FARADS;
        let worst = here.max_by(|a, b| harms(a).cmp(&harms(b)).then(a.joules.total_cmp(&b.joules)));
        match &all.unjudged {
            Some(why) if !worst.is_some_and(harms) => Err(why.clone()),
            _ => Ok(worst),
        }
    }

    /// What a pulled plug keeps.
    pub(crate) fn pulled_plug(&self, view: &Worked) -> &PulledPlug {
        self.plug.get_or_init(|| plug_charge(&view.circuit))
    }

    /// The worst hazard that a part makes on some routes. Where the document beneath has not all the parts that carry
    /// it, those that it doesn't have are to blame, not the sound ones on the way. A part is known to make none only
    /// where every case was worked out.
    pub(crate) fn of(&self, facts: &Facts, part: PartId, routes: &[Route]) -> Known<Option<Hazard>> {
        let changed = changed(facts);
        let blamed = |hazard: &Hazard| {
            let new: BTreeSet<PartId> = hazard.carriers.intersection(&changed).copied().collect();
            if new.is_empty() { hazard.joiners.contains(&part) } else { new.contains(&part) }
        };
        let all = self.all(&facts.now);
        let on_route = all.hazards.iter().filter(|h| routes.contains(&h.route));
        let stops = |h: &Hazard| h.may_be_stopped_by(&facts.now.circuit, &changed);
        let (open, sure): (Vec<&Hazard>, Vec<&Hazard>) = on_route.partition(|h| !stops(h).is_empty());
        let here: Vec<&Hazard> = sure.into_iter().filter(|h| blamed(h)).collect();
        if here.is_empty() && open.iter().any(|h| stops(h).contains(&part)) {
            let name = &facts.now.circuit.part(part).name;
            return Err(format!("whether {name} keeps hands safe is unknown: state its value"));
        }
        let worst =
            here.into_iter().max_by(|a, b| b.by_class_y.cmp(&a.by_class_y).then(a.amps.total_cmp(&b.amps)));
        let unjudged = all.unjudged.iter().find(|case| routes.contains(&case.route));
        match (worst, unjudged) {
            // A worse one may stand behind what class Y capacitors pass.
            (Some(hazard), None) => Ok(Some(hazard.clone())),
            (Some(hazard), Some(_)) if !hazard.by_class_y => Ok(Some(hazard.clone())),
            (_, Some(case)) => {
                let state =
                    if case.state.is_empty() { String::new() } else { format!("with {}: ", case.state) };
                Err(format!("what reaches hands can't be worked out: {state}{}", case.why))
            }
            (None, None) if all.thrown_singly.contains(&part) => Err(
                "not every combination of switches was gone through: there are too many, so that each was thrown alone"
                    .to_owned(),
            ),
            (None, None) => Ok(None),
        }
    }
}

/// Parts that differ from the stock spec, or from the document beneath.
fn changed(facts: &Facts) -> BTreeSet<PartId> {
    facts.changes.iter().chain(&facts.differences).filter_map(|change| change.after_part).collect()
}
