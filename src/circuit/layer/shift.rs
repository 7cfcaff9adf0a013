//! Legs that sit elsewhere: moved, reversed, swapped.

use crate::circuit::board::{Board, Spot};
use crate::circuit::laying::Laying;
use crate::model::Construction;
use crate::source::{Problem, ProblemCode, Span};
use crate::syntax::tree::{Place, Said, Statement, Word};

impl Laying<'_> {
    pub(super) fn shift(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Moved { leg: place, to, .. } => {
                let Some((part, leg)) = self.leg_about(place, statement.span) else { return };
                let at = self.board.parts[&part].legs[leg].at;
                if at.is_some_and(|at| self.sits_there(Spot::Joint(at), to)) {
                    let text = format!("{} sits in the net of {} already", place.value, to.value);
                    let problem =
                        Problem::error(ProblemCode::AlreadyThere, to.span, text).here("no difference");
                    self.problems.push(problem.help("name a place in another net, or leave the line out"));
                    return;
                }
                // A joint of its own at the new place: the old one stays free on the board, for `restore` and for
                // others to use.
                let joint = self.board.new_joint(&part, leg);
                self.join_spot(Spot::Joint(joint), to);
                self.seat(&part, leg, joint);
            }
            Said::Reversed { part, .. } if self.about(part, statement.span) => self.reverse(part),
            Said::Swapped { part, leg: Some(leg), with, .. } if self.about(part, statement.span) => {
                let one = Place { value: format!("{}.{}", part.value, leg.value), span: leg.span };
                let two = Place { value: format!("{}.{}", part.value, with.value), span: with.span };
                let (one, two) = (self.board.leg_at(&one, self.types), self.board.leg_at(&two, self.types));
                if let (Some((part, one)), Some((_, two))) = (self.note(one), self.note(two)) {
                    self.exchange((&part, one), (&part, two));
                }
            }
            Said::Swapped { part, leg: None, with, .. } => self.swap(part, with, statement.span),
            _ => {}
        }
    }

    pub(super) fn seat(&mut self, part: &str, leg: usize, joint: usize) {
        if let Some(owner) = self.board.parts.get_mut(part) {
            owner.legs[leg].at = Some(joint);
        }
    }

    fn reverse(&mut self, part: &Word) {
        let owner = &self.board.parts[&part.value];
        if owner.part.kind.symmetric()
            && owner.part.component.body.construction != Some(Construction::Electrolytic)
        {
            let text = format!("{} has no direction: turned round it is the same", part.value);
            let problem = Problem::notice(ProblemCode::NoDirection, part.span, text);
            self.problems.push(problem.also(owner.part.declared, "declared here"));
        }
        if owner.legs.len() == 2 {
            self.exchange((&part.value, 0), (&part.value, 1));
        } else {
            let problem = Problem::error(
                ProblemCode::WrongKind,
                part.span,
                "only a part with two legs can be reversed",
            );
            self.problems.push(problem.help(format!("write `{} LEG swapped with LEG`", part.value)));
        }
    }

    fn exchange(&mut self, one: (&str, usize), two: (&str, usize)) {
        let at = |board: &Board, (part, leg): (&str, usize)| board.parts[part].legs[leg].at;
        // Places are exchanged, not names: each leg keeps its home, and `restore` brings it back there.
        let (a, b) = (at(self.board, one), at(self.board, two));
        if let Some(owner) = self.board.parts.get_mut(one.0) {
            owner.legs[one.1].at = b;
        }
        if let Some(owner) = self.board.parts.get_mut(two.0) {
            owner.legs[two.1].at = a;
        }
    }

    /// Two sections, or two parts with the same legs, change places.
    fn swap(&mut self, one: &Word, two: &Word, span: Span) {
        let legs = |board: &Board, word: &Word| -> Option<(String, Vec<usize>)> {
            if let Some(owner) = board.parts.get(&word.value) {
                return Some((word.value.clone(), (0..owner.legs.len()).collect()));
            }
            let (tube, letter) = board.section(&word.value)?;
            let prefix = format!("{letter}.");
            let legs = board.parts[&tube].legs.iter().enumerate();
            let legs = legs.filter(|(_, l)| l.name.starts_with(&prefix)).map(|(i, _)| i).collect();
            Some((tube, legs))
        };
        let (Some((a, a_legs)), Some((b, b_legs))) = (legs(self.board, one), legs(self.board, two)) else {
            for word in [one, two] {
                if legs(self.board, word).is_none() {
                    let known = self.board.known_part(&word.value, word.span);
                    self.note(known);
                }
            }
            return;
        };
        // By position, electrode for electrode: with other legs there would be one without a counterpart.
        if a_legs.len() != b_legs.len() {
            let text = format!("{} and {} do not have the same legs", one.value, two.value);
            self.problems
                .push(Problem::error(ProblemCode::WrongKind, two.span, text).also(one.span, "these two"));
            return;
        }
        for name in [&a, &b] {
            self.about(&Word { value: name.clone(), span: one.span }, span);
        }
        for (x, y) in a_legs.into_iter().zip(b_legs) {
            self.exchange((&a, x), (&b, y));
        }
    }
}
