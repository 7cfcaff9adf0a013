//! Parts that are gone, joints that are cut off, legs that are lifted.

use crate::circuit::laying::Laying;
use crate::circuit::part::State;
use crate::source::{Problem, ProblemCode, Span};
use crate::syntax::tree::{Place, Said, Statement, Word};

impl Laying<'_> {
    pub(super) fn take_out(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Missing { part, snipped, note } if self.about(part, statement.span) => {
                let note = note.as_ref().map(|n| n.value.clone());
                self.vacate(&part.value, State::Missing { snipped: *snipped, note });
            }
            Said::Remove { name, group: true, .. } => self.remove_group(name),
            Said::Remove { name, .. } if self.about(name, statement.span) => self.remove_part(name),
            _ => {}
        }
    }

    pub(in crate::circuit) fn vacate(&mut self, part: &str, state: State) {
        if let Some(owner) = self.board.parts.get_mut(part) {
            owner.part.state = state;
            // Homes stay: what is said of its joints ("from R7.2") still means the same spot.
            for leg in &mut owner.legs {
                leg.at = None;
            }
        }
    }

    pub(super) fn cut_and_rejoin(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Cut { net, legs, new, .. } => self.cut(net, legs, new, statement.span),
            Said::Rejoin { new, to, .. } => self.rejoin(new, to),
            _ => {}
        }
    }

    fn cut(&mut self, net: &Place, legs: &[Place], new: &Word, span: Span) {
        let spot = self.board.spot(net, self.types);
        let Some(spot) = self.note(spot) else { return };
        let from = self.board.net_at(spot);
        let Some(to) = self.board.net_names.get(&new.value).copied() else { return };
        self.board.nets[to].cut_from = Some(from);
        for (at, place) in legs.iter().enumerate() {
            if let Some(first) = legs[..at].iter().find(|first| first.value == place.value) {
                let text = format!("{} leaves the net twice", place.value);
                let problem =
                    Problem::error(ProblemCode::SaidTwice, place.span, text).here("said again here");
                self.problems.push(problem.also(first.span, "said first here").help("keep one of the two"));
                continue;
            }
            let Some((part, leg)) = self.leg_about(place, span) else { continue };
            let joint = self.board.current_joint(&part, leg);
            // Only what is in the net can leave it; a leg elsewhere would come to the new net without a cut.
            if self.board.joints[joint].net != from {
                self.not_in_net(net, place, joint);
                continue;
            }
            self.board.shift_joint(joint, to);
        }
        // A cut that leaves nothing on one side only renames the net; chassis is metal and stays, whatever leaves it.
        if self.board.nets[from].joints.is_empty() && from != 0 {
            let text = format!("nothing is left of {}: every leg leaves it", net.value);
            let problem =
                Problem::error(ProblemCode::NothingCut, net.span, text).here("all of it on the other side");
            self.problems.push(problem.help("name the legs of one side of the cut only"));
        }
    }

    fn not_in_net(&mut self, net: &Place, place: &Place, joint: usize) {
        let there = self.board.net_words(self.board.joints[joint].net);
        let text = format!("{} is not in {}", place.value, net.value);
        let problem = Problem::error(ProblemCode::NotInNet, place.span, text).here(format!("in {there}"));
        let help = format!("name legs that sit in {}, or cut the net of {}", net.value, place.value);
        self.problems.push(problem.also(net.span, "this net is cut").help(help));
    }

    pub(super) fn lift(&mut self, statement: &Statement) {
        let Said::Lifted { what, at, .. } = &statement.said else { return };
        let Some((part, leg)) = self.lifted_leg(what, at.as_ref(), statement.span) else { return };
        if let Some(owner) = self.board.parts.get_mut(&part) {
            owner.legs[leg].at = None;
            owner.legs[leg].lifted = true;
        }
    }

    /// `R40.2 lifted`, or `R40 lifted at B2`: the one leg of the part in that net.
    fn lifted_leg(&mut self, what: &Place, at: Option<&Place>, span: Span) -> Option<(String, usize)> {
        let Some(at) = at else {
            if self.board.parts.contains_key(&what.value) {
                let problem = Problem::error(ProblemCode::WhichLeg, what.span, "which leg is lifted?")
                    .help(format!("write `{0}.1 lifted`, or `{0} lifted at NET`", what.value));
                self.problems.push(problem);
                return None;
            }
            return self.leg_about(what, span);
        };
        if !self.about(what, span) {
            return None;
        }
        let spot = self.board.spot(at, self.types);
        let spot = self.note(spot)?;
        let net = self.board.net_at(spot);
        let owner = &self.board.parts[&what.value];
        let there: Vec<usize> = (0..owner.legs.len())
            .filter(|i| owner.legs[*i].at.is_some_and(|joint| self.board.joints[joint].net == net))
            .collect();
        match there.as_slice() {
            [leg] => Some((what.value.clone(), *leg)),
            [] => {
                let text = format!("{} has no leg in {}", what.value, at.value);
                let problem = Problem::error(ProblemCode::NotInNet, at.span, text)
                    .also(owner.part.declared, "declared here");
                self.problems.push(problem);
                None
            }
            _ => {
                let problem = Problem::error(ProblemCode::WhichLeg, at.span, "both its legs are in this net");
                self.problems.push(problem.help(format!("name the leg: `{}.1 lifted`", what.value)));
                None
            }
        }
    }
}
