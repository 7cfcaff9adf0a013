//! What windows and readings are of: a net, a leg, a part, or two nets; and those that are of nothing.

use super::board::Spot;
use super::place::legs_in_words;
use super::snapshot::Snapshot;
use super::{LegId, PartId, Reading, Target, Window, natural};
use crate::model::Condition;
use crate::source::{Problem, ProblemCode, Spanned, nearest};
use crate::syntax::tree::{MeterSaid, Place, Said, Statement, Word};
use crate::units::Unit;

impl Snapshot<'_> {
    pub(super) fn windows(&mut self, problems: &mut Vec<Problem>) -> Vec<Window> {
        let pending = self.board.windows.clone();
        let mut windows: Vec<Window> = Vec::new();
        for entry in pending {
            match self.target(&entry.place, entry.window.unit) {
                Ok(target) => {
                    // A later document's window on the same thing takes the place of an earlier one's.
                    let window = Window { target, ..entry.window };
                    let same = |w: &Window| {
                        (w.target, w.unit, &w.condition) == (window.target, window.unit, &window.condition)
                    };
                    windows.retain(|w| !same(w));
                    windows.push(window);
                }
                Err(problem) => problems.push(problem),
            }
        }
        windows.sort_by(|a, b| (a.target, a.unit, &a.condition).cmp(&(b.target, b.unit, &b.condition)));
        windows
    }

    pub(super) fn readings(
        &mut self,
        statements: &[&Statement],
        problems: &mut Vec<Problem>,
    ) -> Vec<Reading> {
        let mut readings = Vec::new();
        for statement in statements {
            let Said::Meter(said) = &statement.said else { continue };
            problems.extend(said.condition.as_ref().and_then(unknown_condition));
            match self.reading(said) {
                Ok(target) => readings.push(reading(said, target, statement)),
                Err(problem) => problems.push(problem),
            }
        }
        readings.sort_by(by_place);
        readings
    }

    fn reading(&mut self, said: &MeterSaid) -> Result<Target, Problem> {
        let first = self.target(&said.place, said.value.value.unit.unwrap_or(Unit::Volt))?;
        let Some(to) = &said.to else { return self.shows(said, first) };
        match (first, self.target(to, Unit::Volt)?) {
            (Target::Net(a), Target::Net(b)) => Ok(Target::Between(a, b)),
            _ => Err(Problem::error(
                ProblemCode::NotAPlace,
                to.span,
                "a difference is read between two places",
            )),
        }
    }

    /// A reading of what is there to be read: of a fitted part, and not of the ground against itself.
    fn shows(&self, said: &MeterSaid, target: Target) -> Result<Target, Problem> {
        let place = &said.place;
        let about = |code, text: String| Problem::error(code, place.span, text);
        match target {
            Target::Net(super::CHASSIS) => {
                let problem =
                    about(ProblemCode::WithItself, "chassis is 0 V: volts are read against it".to_owned());
                Err(problem.here("the reference").help("name the place that was read"))
            }
            Target::Part(part) | Target::Leg(LegId { part, .. }) if !self.is_fitted(part) => {
                let problem =
                    about(ProblemCode::NotFitted, format!("{} is not there to be read", place.value));
                Err(problem.here("not fitted").help("read between places of the board: `meter B1 to B2 12V`"))
            }
            _ => Ok(target),
        }
    }

    fn is_fitted(&self, part: PartId) -> bool {
        let name = self.part_of.iter().find(|(_, id)| **id == part).map(|(name, _)| name);
        name.is_some_and(|name| self.board.parts[name].part.fitted())
    }

    /// Volts are of a net (or across a part), amps are into a leg, watts of a part.
    fn target(&mut self, place: &Place, unit: Unit) -> Result<Target, Problem> {
        let volts = matches!(unit, Unit::Volt | Unit::Watt);
        if let Some(part) = self.part_of.get(&place.value).copied() {
            return if unit == Unit::Watt {
                Ok(Target::Part(part))
            } else {
                self.through(place, part, volts)
            };
        }
        if unit == Unit::Watt {
            let text = format!("{} is of a part, and `{}` is a place", unit.quantity(), place.value);
            let problem = Problem::error(ProblemCode::NotAPart, place.span, text).here("not a part");
            return Err(problem.help("a place has volts, a leg amperes, a part watts"));
        }
        if !volts && self.board.net_names.contains_key(&place.value) {
            let text =
                format!("a current is read into a leg or through a part, and `{}` is a net", place.value);
            let problem = Problem::error(ProblemCode::NotALeg, place.span, text).here("a net");
            return Err(
                problem.help("name a leg, as `V5.cathode`, or the part the current goes through, as `R40`")
            );
        }
        if !volts {
            let (part, leg) = self.board.leg_at(place, self.types)?;
            let Some(part) = self.part_of.get(&part).copied() else {
                return Err(Problem::error(
                    ProblemCode::UnknownPart,
                    place.span,
                    format!("{part} is not there"),
                ));
            };
            return Ok(Target::Leg(LegId { part, leg: leg as u32 }));
        }
        let net = match self.board.spot(place, self.types)? {
            Spot::Net(net) => net,
            Spot::Joint(joint) => self.board.joints[joint].net,
        };
        Ok(Target::Net(self.net_of[net]))
    }

    /// Volts across a part, or the current through it: of a part with two ends.
    fn through(&self, place: &Place, part: PartId, volts: bool) -> Result<Target, Problem> {
        let owner = &self.board.parts[&place.value];
        if owner.legs.len() != 2 {
            let text = format!("{} has no two ends to read between", place.value);
            let problem = Problem::error(ProblemCode::WhichLeg, place.span, text).here("which of its legs?");
            return Err(problem.help(legs_in_words(owner)));
        }
        Ok(if volts { Target::Part(part) } else { Target::Leg(LegId { part, leg: 0 }) })
    }
}

/// The order of readings, whatever the order of their lines: by place as people count, then by what was read there.
fn by_place(a: &Reading, b: &Reading) -> std::cmp::Ordering {
    let rest = |r: &Reading| (r.unit, r.ac, r.condition.clone());
    natural(&a.place, &b.place)
        .then_with(|| rest(a).cmp(&rest(b)))
        .then_with(|| a.hertz.unwrap_or(0.0).total_cmp(&b.hertz.unwrap_or(0.0)))
        .then_with(|| a.value.total_cmp(&b.value))
}

/// A condition that is none, with the nearest.
pub(super) fn unknown_condition(word: &Word) -> Option<Problem> {
    let known = Condition::ALL.map(Condition::word);
    if known.contains(&word.value.as_str()) {
        return None;
    }
    let text = format!("`{}` is no condition of an amplifier", word.value);
    let problem = Problem::error(ProblemCode::UnknownCondition, word.span, text).here("unknown");
    Some(match nearest(&word.value, known) {
        Some(near) => problem.help(format!("did you mean `{near}`?")),
        None => problem.help(format!("conditions are {}", known.join(", "))),
    })
}

fn reading(said: &MeterSaid, target: Target, statement: &Statement) -> Reading {
    let number = |value: &Option<crate::syntax::tree::Value>| value.as_ref().map(|v| v.value.value);
    let place = match &said.to {
        Some(to) => format!("{} to {}", said.place.value, to.value),
        None => said.place.value.clone(),
    };
    Reading {
        target,
        place,
        value: said.value.value.value,
        unit: said.value.value.unit.unwrap_or(Unit::Volt),
        ac: said.ac,
        hertz: number(&said.hertz),
        condition: said.condition.as_ref().map_or_else(|| "idle".to_owned(), |c| c.value.clone()),
        accuracy: number(&said.with.0),
        meter_ohms: number(&said.with.1),
        span: statement.span,
    }
}

pub(super) fn measured_mains(statements: &[&Statement]) -> Option<Spanned<f64>> {
    statements.iter().find_map(|s| match &s.said {
        Said::Mains { volts, limits: None, hertz: None } => {
            Some(Spanned { value: volts.value.value, span: s.span })
        }
        _ => None,
    })
}
