//! Other parts in a part's joints: a new body, or stand-ins in series or parallel.

use crate::circuit::board::{Board, BoardPart, Spot};
use crate::circuit::body::tube_legs;
use crate::circuit::laying::Laying;
use crate::circuit::part::{Body, Component, Contact, Origin, State};
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Span};
use crate::syntax::document::settle;
use crate::syntax::tree::{Replacement, Said, Spec, Statement, Word};

impl Laying<'_> {
    pub(super) fn replace(&mut self, statement: &Statement) {
        let Said::Replaced { part, by, .. } = &statement.said else { return };
        if !self.about(part, statement.span) {
            return;
        }
        match by {
            Replacement::One(spec) => self.new_body(part, spec),
            Replacement::Series(specs) => self.stand_in(part, specs, true, statement.span),
            Replacement::Parallel(specs) => self.stand_in(part, specs, false, statement.span),
        }
    }

    /// A new body in the same joints; what isn't stated of it is unknown. What belongs to the board or the
    /// front panel stays: positions, contacts, windings, normals and the shaft.
    fn new_body(&mut self, part: &Word, spec: &Spec) {
        let Some(old) = self.board.parts.get(&part.value).map(|o| o.part.component.body.clone()) else {
            return;
        };
        let (spec, unfit) = settle(spec, self.board.parts[&part.value].part.kind);
        self.problems.extend(unfit);
        let spec = &spec;
        let mut body = Body::of(spec);
        let kept = |new: Vec<_>, old: Vec<_>| if new.is_empty() { old } else { new };
        // The knob stands where it stood, whoever changed the control beneath it.
        body.at = body.at.or(old.at);
        body.positions = kept(body.positions, old.positions);
        body.now = body.now.or(old.now);
        self.contacts_stay(part, &body.positions, &old.contacts);
        body.output_taps = if body.output_taps.is_empty() { old.output_taps } else { body.output_taps };
        (body.contacts, body.windings, body.normals) = (old.contacts, old.windings, old.normals);
        if self.board.parts[&part.value].part.kind == Kind::Tube {
            self.new_tube(part, spec);
        }
        if let Some(word) = &spec.type_name {
            self.known_diode(self.board.parts[&part.value].part.kind, word);
        }
        for tap in &body.output_taps {
            if !self.board.parts[&part.value].legs.iter().any(|leg| leg.name == tap.0) {
                self.board.add_leg(&part.value, &tap.0);
            }
        }
        if let Some(owner) = self.board.parts.get_mut(&part.value) {
            // Whole: readings, leaks and shorts were the old component's and go with it.
            owner.part.component = Component::new(body);
            owner.part.replaced = true;
            owner.part.state = State::Fitted;
            for leg in &mut owner.legs {
                // A new part is soldered into the old joints. Legs that were moved or lifted were the old part's.
                (leg.at, leg.lifted) = (Some(leg.home), false);
            }
        }
    }

    /// The contacts of a switch stay with it, and close in its positions.
    fn contacts_stay(&mut self, part: &Word, positions: &[String], contacts: &[Contact]) {
        let lost = contacts.iter().find(|contact| !positions.contains(&contact.position));
        if let Some(Contact { position, .. }) = lost {
            let text = format!(
                "{} has a contact that closes in `{position}`, which is none of these positions",
                part.value
            );
            let problem =
                Problem::error(ProblemCode::UnknownPosition, part.span, text).here("its contacts stay");
            self.problems.push(
                problem.help("keep its positions, and write the wiring as it is: `cut`, `joined`, `bridged`"),
            );
        }
    }

    /// Another valve type in the same socket: joints stay by electrode name, further electrodes get new joints.
    fn new_tube(&mut self, part: &Word, spec: &Spec) {
        let legs = tube_legs(spec.type_name.as_ref(), self.types, &mut self.problems);
        for leg in legs {
            if !self.board.parts[&part.value].legs.iter().any(|l| l.name == leg) {
                self.board.add_leg(&part.value, &leg);
            }
        }
    }

    /// `replaced by series R9a 2k7, R9b 2k2`: the stand-ins take over the part's joints.
    fn stand_in(&mut self, part: &Word, specs: &[(Word, Spec)], series: bool, span: Span) {
        let owner = &self.board.parts[&part.value];
        let [one, two] = owner.legs.as_slice() else {
            let problem =
                Problem::error(ProblemCode::WrongKind, part.span, "only a part with two legs has stand-ins");
            self.problems.push(problem);
            return;
        };
        // Homes, not where the old legs are: a stand-in goes into the holes, even if the old part hung by one leg.
        let (first, last) = (one.home, two.home);
        let template = owner.part.clone();
        let mut previous = Spot::Joint(first);
        for (index, (name, spec)) in specs.iter().enumerate() {
            if let Some(taken) = self.board.parts.get(&name.value) {
                let text = format!("`{}` is declared twice", name.value);
                let problem = Problem::error(ProblemCode::DeclaredTwice, name.span, text)
                    .also(taken.part.declared, "first here");
                self.problems.push(problem);
                continue;
            }
            let mut stand = template.clone();
            stand.name.clone_from(&name.value);
            let (spec, unfit) = settle(spec, template.kind);
            self.problems.extend(unfit);
            stand.component = Component::new(Body::of(&spec));
            stand.origin = Origin::StandsFor { part: part.value.clone() };
            (stand.declared, stand.said, stand.looked_at) = (span, Vec::new(), true);
            stand.state = State::Fitted;
            let legs = Vec::new();
            self.board.parts.insert(name.value.clone(), BoardPart { part: stand, legs, stock: None });
            for leg in template.kind.legs() {
                self.board.add_leg(&name.value, leg);
            }
            let home = |board: &Board, leg: usize| Spot::Joint(board.parts[&name.value].legs[leg].home);
            let start = if series { previous } else { Spot::Joint(first) };
            let joined = self.board.join(home(self.board, 0), start, name.span);
            self.note(joined);
            previous = home(self.board, 1);
            // In series only the last one ends at the far joint, in parallel each.
            if !series || index + 1 == specs.len() {
                let joined = self.board.join(previous, Spot::Joint(last), name.span);
                self.note(joined);
            }
        }
        let parts = specs.iter().map(|(name, _)| name.value.clone()).collect();
        self.vacate(&part.value, State::ReplacedBy { series, parts });
    }
}
