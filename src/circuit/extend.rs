//! Statements that give a part further legs: windings of a transformer, contacts of a switch.

use super::board::Spot;
use super::laying::Laying;
use super::part::{Contact, Winding};
use crate::model::Kind;
use crate::source::{Problem, ProblemCode};
use crate::syntax::tree::{Place, Said, Statement, Value, WindingSaid, Word};

impl Laying<'_> {
    /// Second pass: windings and contacts give their parts further legs.
    pub(super) fn extend(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Winding(said) => self.extend_winding(said),
            Said::Contact { switch, position, a, b } => {
                self.extend_contact(switch, position, [a, b]);
            }
            _ => {}
        }
    }

    pub(super) fn winding_name(&mut self, name: &Place) -> Option<(String, String)> {
        let (part, winding) = name.value.split_once('.').unwrap_or((&name.value, ""));
        let known = self.board.known_part(part, name.span);
        self.note(known)?;
        if winding.is_empty() {
            let problem = Problem::error(
                ProblemCode::UnknownPlace,
                name.span,
                "a winding is named after its transformer",
            );
            self.problems.push(problem.help(format!("write `{part}.primary`, `{part}.ht`, `{part}.heat` …")));
            return None;
        }
        Some((part.to_owned(), winding.to_owned()))
    }

    fn extend_winding(&mut self, said: &WindingSaid) {
        let Some((part, winding)) = self.winding_name(&said.name) else { return };
        if !self.can_be_wound(&part, said) {
            return;
        }
        let ends: &[&str] = if said.centre_tapped { &["a", "centre", "b"] } else { &["a", "b"] };
        let taps = said.taps.iter().map(|(name, ..)| name.value.as_str());
        let names: Vec<String> =
            ends.iter().copied().chain(taps).map(|end| format!("{winding}.{end}")).collect();
        let taken = self.board.parts[&part].part.component.body.windings.iter().any(|w| w.name == winding);
        if taken {
            self.problems.push(
                Problem::error(
                    ProblemCode::DeclaredTwice,
                    said.name.span,
                    format!("{} is declared twice", said.name.value),
                )
                .also(self.board.parts[&part].part.declared, "of this transformer"),
            );
            return;
        }
        for name in names {
            self.board.add_leg(&part, &name);
        }
        if let Some(owner) = self.board.parts.get_mut(&part) {
            owner.part.component.body.windings.push(Winding {
                name: winding,
                volts: said.volts.value.value,
                centre_tapped: said.centre_tapped,
                ohms: said.ohms.as_ref().map(|o| o.value.value),
                unloaded: said.unloaded.as_ref().map(|u| u.value.value),
                amps: said.amps.as_ref().map(|a| a.value.value),
                taps: said
                    .taps
                    .iter()
                    .map(|(name, volts, end)| (name.value.clone(), volts.value.value, end.value.clone()))
                    .collect(),
            });
        }
    }

    /// Windings are of mains transformers; what else is wound has clauses of its own. Taps lie within the winding.
    fn can_be_wound(&mut self, part: &str, said: &WindingSaid) -> bool {
        let owner = &self.board.parts[part].part;
        let wound = owner.kind == Kind::MainsTransformer;
        if !wound {
            let text = format!(
                "{part} has no windings of this kind: it is {}",
                crate::syntax::document::an(owner.kind.word())
            );
            let help = match owner.kind {
                Kind::OutputTransformer | Kind::ReverbTransformer => {
                    "its windings are clauses of its own line: `primary 6k6 90R a side taps 4R 8R`"
                }
                _ => "a `winding` belongs to a part that is declared as `transformer T1 mains`",
            };
            let problem = Problem::error(ProblemCode::WrongKind, said.name.span, text)
                .also(owner.declared, "declared here");
            self.problems.push(problem.help(help));
        }
        for (name, volts, end) in &said.taps {
            self.tap_fits(said, (name, volts, end));
        }
        wound
    }

    fn tap_fits(&mut self, said: &WindingSaid, (name, volts, end): (&Word, &Value, &Word)) {
        let ends: &[&str] = if said.centre_tapped { &["a", "b", "centre"] } else { &["a", "b"] };
        if !ends.contains(&end.value.as_str()) {
            let text = format!("{} has no end `{}`", said.name.value, end.value);
            let help = format!("a tap is counted from one of its ends: {}", ends.join(", "));
            self.problems.push(Problem::error(ProblemCode::UnknownLeg, end.span, text).help(help));
        }
        if volts.value.value >= said.volts.value.value {
            let text = format!("tap `{}` lies outside its winding", name.value);
            let problem = Problem::error(ProblemCode::WrongValue, volts.span, text)
                .also(said.volts.span, "the winding's volts");
            self.problems
                .push(problem.help("a tap has fewer volts than the winding, or than each side of it"));
        }
    }

    /// Gives the switch a lug for each side of the contact: a named one (`S1.a1`), or a new one joined to a place.
    fn extend_contact(&mut self, switch: &Word, position: &Word, sides: [&Place; 2]) {
        let known = self.board.known_part(&switch.value, switch.span);
        if self.note(known).is_none() {
            return;
        }
        let owner = &self.board.parts[&switch.value].part;
        if !matches!(owner.kind, Kind::Switch | Kind::Relay) {
            let problem =
                Problem::error(ProblemCode::WrongKind, switch.span, format!("{} is no switch", switch.value));
            self.problems.push(problem.also(owner.declared, "it is declared here"));
            return;
        }
        if !owner.component.body.positions.contains(&position.value) {
            let positions = owner.component.body.positions.join(", ");
            let problem =
                Problem::error(ProblemCode::UnknownPosition, position.span, "not a position of this switch")
                    .also(owner.declared, "its positions are declared here");
            self.problems.push(problem.help(format!("its positions are {positions}")));
            return;
        }
        let prefix = format!("{}.", switch.value);
        let lugs = sides.map(|place| {
            let name = place.value.strip_prefix(&prefix).unwrap_or(&place.value).to_owned();
            let legs = &self.board.parts[&switch.value].legs;
            match legs.iter().position(|l| l.name == name) {
                Some(index) => index as u32,
                None => self.board.add_leg(&switch.value, &name) as u32,
            }
        });
        if let Some(owner) = self.board.parts.get_mut(&switch.value) {
            owner.part.component.body.contacts.push(Contact {
                position: position.value.clone(),
                a: lugs[0],
                b: lugs[1],
            });
        }
    }

    /// Joins the lugs that a contact made for places outside the switch.
    pub(super) fn join_contact(&mut self, statement: &Statement) {
        let Said::Contact { switch, a, b, .. } = &statement.said else { return };
        if !self.board.parts.contains_key(&switch.value) {
            return;
        }
        let prefix = format!("{}.", switch.value);
        for place in [a, b] {
            if place.value.starts_with(&prefix) {
                continue;
            }
            let Some(lug) = self.board.parts[&switch.value].legs.iter().position(|l| l.name == place.value)
            else {
                continue;
            };
            let home = self.board.parts[&switch.value].legs[lug].home;
            self.join_spot(Spot::Joint(home), place);
        }
    }
}
