//! What a document says of a circuit beside its parts and nets, carried over to another circuit with the same nets.

use super::{Circuit, Heater, LegId, PartId, Reading, Target, Window};

impl Circuit {
    /// This circuit with the windows, readings, accepted findings and heaters of another, whose nets come first among its own.
    #[must_use]
    pub fn with_words_of(self, other: &Circuit) -> Circuit {
        let part = |id: PartId| self.find(&other.part(id).name);
        let target = |of: Target| {
            Some(match of {
                Target::Net(_) | Target::Between(..) => of,
                Target::Part(id) => Target::Part(part(id)?),
                Target::Leg(leg) => {
                    let there = part(leg.part)?;
                    let name = &other.part(leg.part).legs[leg.leg as usize].name;
                    Target::Leg(LegId { part: there, leg: self.part(there).leg_index(name)? as u32 })
                }
            })
        };
        let window = |of: &Window| Some(Window { target: target(of.target)?, ..of.clone() });
        let heater = |of: &Heater| {
            let valves = of.valves.iter().filter_map(|valve| part(*valve)).collect();
            Some(Heater { transformer: part(of.transformer)?, valves, ..of.clone() })
        };
        let reading = |of: &Reading| Some(Reading { target: target(of.target)?, ..of.clone() });
        Circuit {
            readings: other.readings.iter().filter_map(reading).collect(),
            windows: other.windows.iter().filter_map(window).collect(),
            heaters: other.heaters.iter().filter_map(heater).collect(),
            accepts: other.accepts.clone(),
            ..self
        }
    }
}
