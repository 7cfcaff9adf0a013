//! What a document says of parts and would do nothing: a pot ganged with a resistor, a fitting on a valve that isn't there,
//! a section's name for a rail. Looked at when the document is laid, so that the order of its lines is free.

use super::laying::Laying;
use crate::model::Kind;
use crate::source::{Problem, ProblemCode};
use crate::syntax::document::an;
use crate::syntax::tree::{PartSaid, Place, Replacement, Said, Spec, Statement, Word};

impl Laying<'_> {
    /// Looks at one statement of a document that has been laid.
    pub(super) fn sense(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Part(part) | Said::Added { part, .. } => self.part_acts(part),
            Said::Replaced { part, by: Replacement::One(spec), .. } => self.body_acts(part, spec),
            Said::Net { name, .. } | Said::Cut { new: name, .. } => self.names_no_section(name),
            Said::Open(places) => places.iter().for_each(|place| self.is_alone(place)),
            _ => {}
        }
    }

    fn part_acts(&mut self, part: &PartSaid) {
        let (name, spec) = (&part.name, &part.spec);
        self.names_no_section(name);
        self.body_acts(name, spec);
        if let Some(on) = &spec.on {
            self.sits_on_another(name, on);
        }
        match part.kind.value {
            Kind::Tube if spec.type_name.is_none() && spec.unknown.is_none() => {
                let text = format!("the type of {} is not told", name.value);
                let problem = Problem::error(ProblemCode::TypeNotSaid, name.span, text).here("which valve?");
                self.problems.push(problem.help(format!("write `tube {} ECC83`, or `unknown`", name.value)));
            }
            Kind::Switch | Kind::Relay if spec.positions.len() < 2 => self.switches_nothing(part),
            Kind::MainsTransformer => self.is_wound(name),
            Kind::Inlet => self.earthed_or_not(part),
            Kind::Link => self.links_two_nets(part),
            _ => {}
        }
    }

    fn body_acts(&mut self, name: &Word, spec: &Spec) {
        if let Some(other) = &spec.ganged {
            self.turns_with_a_pot(name, other);
        }
    }

    /// A name that a valve's section has would be taken for it: `V1a` of `V1`.
    fn names_no_section(&mut self, name: &Word) {
        let Some((tube, letter)) = self.board.section(&name.value) else { return };
        let text = format!("`{}` is section {letter} of {tube}", name.value);
        let problem = Problem::error(ProblemCode::NameTaken, name.span, text)
            .here("a section's name")
            .also(self.board.parts[&tube].part.declared, "this valve")
            .help("give it another name");
        self.problems.push(problem);
    }

    fn turns_with_a_pot(&mut self, name: &Word, other: &Word) {
        if name.value == other.value {
            let text = format!("{} can't be ganged with itself", name.value);
            let problem = Problem::error(ProblemCode::WithItself, other.span, text).here("the same pot");
            self.problems.push(problem.help("name the other pot on the shaft"));
            return;
        }
        let known = self.board.known_part(&other.value, other.span);
        if self.note(known).is_some() {
            let owner = &self.board.parts[&other.value].part;
            if !matches!(owner.kind, Kind::Pot | Kind::Trimmer) {
                let text = format!("{} is {}: it has no shaft", other.value, an(owner.kind.word()));
                let problem = Problem::error(ProblemCode::WrongKind, other.span, text).here("not a pot");
                self.problems.push(
                    problem.also(owner.declared, "declared here").help("name the other pot on the shaft"),
                );
            }
        }
    }

    fn sits_on_another(&mut self, name: &Word, on: &Word) {
        let known = self.board.known_part(&on.value, on.span);
        if self.note(known).is_some() && name.value == on.value {
            let text = format!("{} can't sit on itself", name.value);
            let problem = Problem::error(ProblemCode::WithItself, on.span, text).here("the fitting itself");
            self.problems.push(problem.help("name the part it is on: `fitting SH1 \"valve shield\" on V1`"));
        }
    }

    fn switches_nothing(&mut self, part: &PartSaid) {
        let text = format!("{} has nothing to switch between", part.name.value);
        let problem =
            Problem::error(ProblemCode::NoPositions, part.name.span, text).here("fewer than two positions");
        let example = format!("{} {} positions off on now on", part.kind.value.word(), part.name.value);
        self.problems.push(problem.help(format!("write `{example}`")));
    }

    fn is_wound(&mut self, name: &Word) {
        let Some(owner) = self.board.parts.get(&name.value) else { return };
        if owner.part.component.body.windings.is_empty() {
            let text = format!("{} has no winding, so it does nothing", name.value);
            let problem =
                Problem::error(ProblemCode::NoWinding, name.span, text).here("no `winding` names it");
            self.problems
                .push(problem.help(format!("write `winding {}.primary 230V 9R` and the others", name.value)));
        }
    }

    /// A two-core lead has no earth to join.
    fn earthed_or_not(&mut self, part: &PartSaid) {
        let earth = part.legs.iter().find(|leg| leg.leg.value == "earth");
        if let (Some(two_core), Some(earth)) = (part.spec.two_core, earth) {
            let text = format!("{} is two-core and has its earth joined", part.name.value);
            let problem = Problem::error(ProblemCode::SaidTwice, two_core, text).here("without an earth");
            self.problems.push(problem.also(earth.leg.span, "an earth").help("keep the one that is true"));
        }
    }

    /// A link that has both ends in one net joins nothing.
    fn links_two_nets(&mut self, part: &PartSaid) {
        let Some(owner) = self.board.parts.get(&part.name.value) else { return };
        let nets: Vec<Option<usize>> =
            owner.legs.iter().map(|leg| leg.at.map(|joint| self.board.joints[joint].net)).collect();
        if let [Some(one), Some(other)] = nets.as_slice()
            && one == other
        {
            let text = format!("{} joins nothing: both its ends are in one net", part.name.value);
            let problem =
                Problem::error(ProblemCode::AlreadyJoined, part.name.span, text).here("no difference");
            self.problems.push(problem.help("name a place in another net, or leave it out"));
        }
    }

    /// `open` says that a leg is alone; one that is joined is not.
    fn is_alone(&mut self, place: &Place) {
        let Ok((part, leg)) = self.board.leg_at(place, self.types) else { return };
        let owner = &self.board.parts[&part];
        let Some(joint) = owner.legs[leg].at else { return };
        let others = &self.board.nets[self.board.joints[joint].net].joints;
        if let Some(other) = others.iter().find(|other| **other != joint) {
            let with = &self.board.joints[*other];
            let with =
                self.board.parts[&with.part].part.spelled(&self.board.parts[&with.part].legs[with.leg].name);
            let text = format!("{} is not alone: {with} sits with it", place.value);
            let problem = Problem::error(ProblemCode::NotOpen, place.span, text).here("joined");
            self.problems.push(problem.help("leave it out of `open`, or its joints out of the other lines"));
        }
    }
}
