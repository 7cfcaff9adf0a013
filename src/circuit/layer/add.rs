//! What a layer brings in: parts, further joins, sections put to use, bridges of solder or wire.

use crate::circuit::board::{BoardPart, Bridge, Spot};
use crate::circuit::body::part_of;
use crate::circuit::laying::Laying;
use crate::circuit::part::Origin;
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Span, Spanned};
use crate::syntax::tree::{PartSaid, Place, Said, Spec, Statement, Word};

impl Laying<'_> {
    pub(super) fn add(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Added { part, .. } => {
                self.join_up(statement);
                if let Some(owner) = self.board.parts.get_mut(&part.name.value) {
                    owner.part.looked_at = true;
                }
            }
            Said::Joined { leg: place, to, .. } => {
                let Some((part, leg)) = self.leg_about(place, statement.span) else { return };
                let joint = self.board.current_joint(&part, leg);
                let sits = self.board.parts[&part].legs[leg].at.is_some();
                // A leg that hangs free may be joined to the net that its joint is in: it sits there only thereafter.
                if sits && self.sits_there(Spot::Joint(joint), to) {
                    let text = format!("{} and {} are one net already", place.value, to.value);
                    let problem =
                        Problem::error(ProblemCode::AlreadyJoined, to.span, text).here("no difference");
                    self.problems.push(problem.help("name another place, or leave the line out"));
                    return;
                }
                self.join_spot(Spot::Joint(joint), to);
                self.seat(&part, leg, joint);
            }
            Said::Contact { .. } => self.join_contact(statement),
            // The declarations of a variant of a stock spec count as those of the spec.
            Said::Part(_)
            | Said::Unused { .. }
            | Said::Insulation(_)
            | Said::Made(_)
            | Said::Net { .. }
            | Said::Winding(_) => self.join_up(statement),
            Said::Mains { .. } if self.variant => self.join_up(statement),
            _ => {}
        }
    }

    /// Whether a place is one net with a spot. What is no place is told where it is joined.
    pub(super) fn sits_there(&mut self, spot: Spot, place: &Place) -> bool {
        let net = self.board.net_at(spot);
        self.board.spot(place, self.types).is_ok_and(|there| self.board.net_at(there) == net)
    }

    /// First, so that the section's new joints are there for moves to them.
    pub(super) fn put_to_use(&mut self, statement: &Statement) {
        if let Said::Used { section, group } = &statement.said {
            self.used(section, group.as_ref(), statement.span);
        }
    }

    /// An idle section is put to use: its electrodes leave the joins that kept it quiet.
    fn used(&mut self, section: &Word, group: Option<&Word>, span: Span) {
        let Some((tube, letter)) = self.section(section) else { return };
        self.about(&Word { value: tube.clone(), span: section.span }, span);
        if !self.board.parts[&tube].part.unused.contains(&letter) {
            let text = format!("{} is in use already", section.value);
            self.problems.push(Problem::error(ProblemCode::NotUnused, section.span, text));
            return;
        }
        let prefix = format!("{letter}.");
        let legs: Vec<usize> = (0..self.board.parts[&tube].legs.len())
            .filter(|i| self.board.parts[&tube].legs[*i].name.starts_with(&prefix))
            .collect();
        for leg in legs {
            // An idle section's electrodes were tied together or to chassis: with joints of their own they leave
            // that.
            let joint = self.board.new_joint(&tube, leg);
            if let Some(owner) = self.board.parts.get_mut(&tube) {
                let leg = &mut owner.legs[leg];
                (leg.home, leg.at, leg.open) = (joint, Some(joint), false);
            }
        }
        if let Some(owner) = self.board.parts.get_mut(&tube) {
            owner.part.unused.retain(|l| *l != letter);
        }
        if let Some(group) = group {
            self.board.used_in.push((section.value.clone(), group.value.clone()));
        }
    }

    pub(super) fn bridge(&mut self, statement: &Statement) {
        let Said::Bridged { a, b, wire, through, .. } = &statement.said else { return };
        let (one, two) = (self.board.spot(a, self.types), self.board.spot(b, self.types));
        let (Some(one), Some(two)) = (self.note(one), self.note(two)) else { return };
        if self.board.net_at(one) == self.board.net_at(two) {
            let problem = Problem::error(
                ProblemCode::AlreadyJoined,
                b.span,
                format!("{} and {} are one net", a.value, b.value),
            );
            self.problems.push(problem.also(a.span, "this net"));
            return;
        }
        // Solder has no part: two nets that a bridge makes one are joined on the board, where it can be undone.
        if wire.is_none() && through.is_none() {
            let (a, b) = (self.board.net_at(one), self.board.net_at(two));
            self.board.bridges.push(Bridge { a, b });
            return;
        }
        let kind = if through.is_some() { Kind::Resistor } else { Kind::Link };
        let name = match wire {
            Some(wire) => wire.value.clone(),
            None => format!("bridge-{}-{}", a.value.replace('.', "-"), b.value.replace('.', "-")),
        };
        if let Some(taken) = self.board.parts.get(&name) {
            let text = format!("`{name}` is declared twice");
            let problem = Problem::error(ProblemCode::DeclaredTwice, statement.span, text)
                .also(taken.part.declared, "first here");
            self.problems.push(problem);
            return;
        }
        self.lay_wire(&name, kind, through.as_ref().map(|t| t.value.value), [one, two], statement.span);
    }

    fn lay_wire(&mut self, name: &str, kind: Kind, ohms: Option<f64>, ends: [Spot; 2], span: Span) {
        let said = PartSaid {
            kind: Spanned { value: kind, span },
            name: Word { value: name.to_owned(), span },
            spec: Spec::default(),
            legs: Vec::new(),
            note: None,
        };
        let mut part = part_of(&said, Origin::Added { group: None }, span);
        (part.component.body.value, part.looked_at) = (ohms, true);
        self.board.parts.insert(name.to_owned(), BoardPart { part, legs: Vec::new(), stock: None });
        for (leg, end) in ["1", "2"].into_iter().zip(ends) {
            let index = self.board.add_leg(name, leg);
            let home = self.board.parts[name].legs[index].home;
            let joined = self.board.join(Spot::Joint(home), end, span);
            self.note(joined);
        }
    }
}
