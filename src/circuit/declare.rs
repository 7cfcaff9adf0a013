//! Statements that declare and join: those of a stock spec, and a layer's added parts.

use super::board::{BoardPart, PendingHeater, PendingWindow, Spot};
use super::body::{leg_names, part_of, unknown_type};
use super::laying::Laying;
use super::part::Origin;
use super::place::{is_typeless, legs_in_words};
use super::{Declared, Mains, Target, Window};
use crate::model::{Kind, RoleKind};
use crate::source::{Problem, ProblemCode, Span, Spanned, nearest};
use crate::syntax::tree::{LegSaid, PartSaid, Place, Said, Statement, TypeLine, WindowSaid, Word};
use crate::units::Unit;

impl Laying<'_> {
    /// First pass over the declarations of a document: names come to be.
    pub(super) fn declare(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Net { rail, name, title, .. } => {
                self.declare_net(*rail, name, title.as_ref(), statement.span);
            }
            Said::Part(said) => self.declare_part(said, Origin::Stock, statement.span),
            Said::Added { part, group, .. } => {
                let origin = Origin::Added { group: group.as_ref().map(|g| g.value.clone()) };
                self.declare_part(part, origin, statement.span);
            }
            Said::Cut { new, .. } => self.declare_net(false, new, None, statement.span),
            _ => {}
        }
    }

    /// Third pass: joins and everything that names places.
    pub(super) fn join_up(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Part(said) | Said::Added { part: said, .. } => self.join_part(said),
            Said::Winding(said) => {
                let Some((part, winding)) = self.winding_name(&said.name) else { return };
                for leg in &said.legs {
                    self.join_leg(&part, &format!("{winding}.{}", leg.leg.value), leg);
                }
            }
            Said::Unused { section, legs } => self.unused(section, legs),
            Said::Heater { winding, feeds, reference } => {
                self.heater(winding, feeds, reference.as_ref(), statement.span);
            }
            Said::Open(places) => self.open(places),
            Said::Drive { jack, behind } => self.drive(jack, behind.as_ref().map(|b| b.value.value)),
            Said::Role { part, role, note } => self.role(part, role, note.as_ref()),
            Said::Net { name, window: Some(window), .. } => self.window(name, window, statement.span),
            Said::Window { place, window } => self.window(place, window, statement.span),
            Said::Insulation(class) => self.board.insulation = Some(class.clone()),
            Said::Made(year) => self.board.made = Some(year.value),
            Said::Mains { volts, hertz, limits } => {
                let limits = limits.as_ref().map(|(low, high)| (low.value.value, high.value.value));
                let hertz = hertz.as_ref().map(|h| h.value.value);
                self.board.mains =
                    Some(Mains { volts: volts.value.value, hertz, limits, span: statement.span });
            }
            _ => {}
        }
    }

    fn declare_net(&mut self, rail: bool, name: &Word, title: Option<&Word>, span: Span) {
        if self.is_ground(name) {
            return;
        }
        if let Some(first) = self.declared_before(&name.value) {
            self.problems.push(twice(name, first));
            return;
        }
        let title = title.map(|t| t.value.clone());
        self.board.declare_net(&name.value, Declared { rail, title, span });
    }

    /// The name of the ground is its own.
    fn is_ground(&mut self, name: &Word) -> bool {
        let ground = name.value == "chassis";
        if ground {
            let problem = Problem::error(
                ProblemCode::NameTaken,
                name.span,
                "`chassis` is the ground: it is there from the start",
            );
            self.problems
                .push(problem.here("0 V, the only reference").help("give it another name, or leave it out"));
        }
        ground
    }

    fn declared_before(&self, name: &str) -> Option<Span> {
        if let Some(part) = self.board.parts.get(name) {
            return Some(part.part.declared);
        }
        let net = self.board.net_names.get(name)?;
        self.board.nets[*net].declared.as_ref().map(|d| d.span)
    }

    fn declare_part(&mut self, said: &PartSaid, origin: Origin, statement: Span) {
        if self.is_ground(&said.name) {
            return;
        }
        if let Some(first) = self.declared_before(&said.name.value) {
            self.problems.push(twice(&said.name, first));
            return;
        }
        self.check_diode_type(said);
        let name = said.name.value.clone();
        let part = part_of(said, origin, statement);
        self.board.parts.insert(name.clone(), BoardPart { part, legs: Vec::new(), stock: None });
        for leg in leg_names(said, self.types, &mut self.problems) {
            self.board.add_leg(&name, &leg);
        }
    }

    fn check_diode_type(&mut self, said: &PartSaid) {
        if let Some(word) = &said.spec.type_name {
            self.known_diode(said.kind.value, word);
        }
    }

    /// The type of a diode, bridge or LED is one that is known.
    pub(super) fn known_diode(&mut self, kind: Kind, word: &Word) {
        let is_diode = matches!(kind, Kind::Diode | Kind::Bridge | Kind::Led | Kind::Zener);
        if is_diode && self.types.diode(&word.value).is_none() {
            let names = self.types.diodes.keys().chain(self.types.also.keys());
            self.problems.push(unknown_type(word, names, TypeLine::DiodeType));
        }
    }

    fn join_part(&mut self, said: &PartSaid) {
        let name = &said.name.value;
        if !self.board.parts.contains_key(name) {
            return;
        }
        for leg in &said.legs {
            self.join_leg(name, &leg.leg.value, leg);
        }
        for (contact, place) in &said.spec.normals {
            self.join_leg(name, &contact.value, &LegSaid { leg: contact.clone(), place: place.clone() });
        }
        for (index, (_, place)) in said.spec.taps.iter().enumerate() {
            if let Some(place) = place {
                let leg = Spanned { value: format!("tap{}", index + 1), span: place.span };
                self.join_leg(name, &leg.value.clone(), &LegSaid { leg, place: place.clone() });
            }
        }
        if said.kind.value == Kind::Capacitor {
            self.join_can(said);
        }
    }

    /// A section of a can (`C1a` of can `C1`) has its minus on the can's common leg.
    fn join_can(&mut self, said: &PartSaid) {
        let name = &said.name.value;
        let can = name.trim_end_matches(|c: char| c.is_ascii_lowercase());
        if can == name || said.legs.iter().any(|l| l.leg.value == "minus") {
            return;
        }
        let Some(owner) = self.board.parts.get(can).filter(|p| p.part.kind == Kind::Can) else { return };
        let (common, minus) = (owner.legs[0].home, self.board.parts[name].legs[1].home);
        let joined = self.board.join(Spot::Joint(minus), Spot::Joint(common), said.name.span);
        self.note(joined);
    }

    fn join_leg(&mut self, part: &str, leg: &str, said: &LegSaid) {
        let Some(owner) = self.board.parts.get(part) else { return };
        let Some(index) = owner.legs.iter().position(|l| l.name == leg) else {
            if is_typeless(owner, self.types) {
                // That its type is not known is told where it stands.
                let index = self.board.add_leg(part, leg);
                let home = self.board.parts[part].legs[index].home;
                return self.join_spot(Spot::Joint(home), &said.place);
            }
            let problem =
                Problem::error(ProblemCode::UnknownLeg, said.leg.span, format!("{part} has no leg `{leg}`"));
            self.problems.push(problem.help(legs_in_words(owner)));
            return;
        };
        let home = owner.legs[index].home;
        self.join_spot(Spot::Joint(home), &said.place);
    }

    pub(super) fn join_spot(&mut self, spot: Spot, place: &Place) {
        let there = self.board.spot(place, self.types);
        let Some(there) = self.note(there) else { return };
        let joined = self.board.join(spot, there, place.span);
        self.note(joined);
    }

    fn unused(&mut self, section: &Word, legs: &[LegSaid]) {
        let Some((tube, letter)) = self.section(section) else { return };
        for leg in legs {
            self.join_leg(&tube, &format!("{letter}.{}", leg.leg.value), leg);
        }
        if let Some(owner) = self.board.parts.get_mut(&tube) {
            owner.part.unused.push(letter.clone());
            for leg in owner.legs.iter_mut().filter(|l| l.name.starts_with(&format!("{letter}."))) {
                leg.open = true;
            }
        }
    }

    /// A valve section by name; a section that is none is a problem.
    pub(super) fn section(&mut self, word: &Word) -> Option<(String, String)> {
        let found = self.board.section(&word.value);
        if found.is_none() {
            let problem = Problem::error(
                ProblemCode::UnknownSection,
                word.span,
                format!("`{}` is no valve section", word.value),
            );
            self.problems.push(problem.help("name a valve of two sections and the letter of one: `V2b`"));
        }
        found
    }

    fn heater(&mut self, winding: &Place, feeds: &[Word], reference: Option<&(Word, Place)>, span: Span) {
        let Some((part, name)) = self.winding_name(winding) else { return };
        if !self.board.parts[&part].part.component.body.windings.iter().any(|w| w.name == name) {
            let text = format!("{part} has no winding `{name}`");
            self.problems.push(Problem::error(ProblemCode::UnknownPlace, winding.span, text));
        }
        for (at, valve) in feeds.iter().enumerate() {
            let known = self.board.known_part(&valve.value, valve.span);
            if self.note(known).is_some() {
                self.heated(valve, &feeds[..at]);
            }
        }
        let reference = reference.and_then(|(end, place)| {
            let spot = self.board.spot(place, self.types);
            let spot = self.note(spot)?;
            let leg = self.board.parts[&part].legs.iter().find(|l| l.name == format!("{name}.{}", end.value));
            let Some(home) = leg.map(|l| l.home) else {
                let text = format!("{part}.{name} has no end `{}`", end.value);
                let problem = Problem::error(ProblemCode::UnknownLeg, end.span, text).here("no such end");
                let help = if end.value.contains('.') {
                    format!(
                        "join it by wire: `link W9 from {} to {}`; without `reference`",
                        end.value, place.value
                    )
                } else {
                    legs_in_words(&self.board.parts[&part])
                };
                self.problems.push(problem.help(help));
                return None;
            };
            let joined = self.board.join(Spot::Joint(home), spot, place.span);
            self.note(joined);
            Some(self.board.net_at(spot))
        });
        let valves = feeds.iter().map(|v| v.value.clone()).collect();
        self.board.heaters.push(PendingHeater { winding: (part, name), valves, reference, span });
    }

    /// What a winding heats is a valve, once.
    fn heated(&mut self, valve: &Word, before: &[Word]) {
        let owner = &self.board.parts[&valve.value].part;
        if owner.kind != Kind::Tube {
            let text = format!("{} is no valve: it has no heater", valve.value);
            let problem = Problem::error(ProblemCode::WrongKind, valve.span, text).here("not heated");
            let help = "a lamp is joined by its legs: `lamp LP1 6.3V from T1.heat.a to T1.heat.b`";
            self.problems.push(problem.also(owner.declared, "declared here").help(help));
        }
        if let Some(first) = before.iter().find(|first| first.value == valve.value) {
            let text = format!("{} is fed twice", valve.value);
            self.problems.push(
                Problem::error(ProblemCode::SaidTwice, valve.span, text).also(first.span, "first here"),
            );
        }
    }

    fn open(&mut self, places: &[Place]) {
        for place in places {
            let leg = self.board.leg_at(place, self.types);
            if let Some((part, leg)) = self.note(leg)
                && let Some(owner) = self.board.parts.get_mut(&part)
            {
                owner.legs[leg].open = true;
            }
        }
    }

    fn drive(&mut self, jack: &Word, behind: Option<f64>) {
        let known = self.board.known_part(&jack.value, jack.span);
        if self.note(known).is_none() {
            return;
        }
        let owner = &self.board.parts[&jack.value].part;
        if owner.kind != Kind::Jack {
            let text = format!("{} is no jack: a signal comes in at a jack", jack.value);
            let problem = Problem::error(ProblemCode::WrongKind, jack.span, text).here("not driven");
            self.problems
                .push(problem.also(owner.declared, "declared here").help("write `drive J1 behind 10k`"));
            return;
        }
        self.board.drive = Some((jack.value.clone(), behind));
    }

    fn role(&mut self, part: &Word, role: &Word, note: Option<&Word>) {
        if RoleKind::of(&role.value).is_none() {
            let problem =
                Problem::error(ProblemCode::UnknownRole, role.span, format!("`{}` is no role", role.value));
            let words = RoleKind::ALL.map(RoleKind::word);
            self.problems.push(match nearest(&role.value, words) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem.help("roles are named as in the trade: plate-load, grid-leak, dropper …"),
            });
            return;
        }
        let known = self.board.known_part(&part.value, part.span);
        if self.note(known).is_some()
            && let Some(owner) = self.board.parts.get_mut(&part.value)
        {
            owner.part.role = Some((role.value.clone(), note.map(|n| n.value.clone())));
        }
    }

    fn window(&mut self, place: &Place, said: &WindowSaid, span: Span) {
        self.problems.extend(said.condition.as_ref().and_then(super::target::unknown_condition));
        let unit = said.low.value.unit.or(said.high.value.unit).unwrap_or(Unit::Volt);
        self.board.windows.push(PendingWindow {
            place: place.clone(),
            window: Window {
                target: Target::Net(super::CHASSIS),
                low: said.low.value.value,
                high: said.high.value.value,
                unit,
                condition: said.condition.as_ref().map_or_else(|| "idle".to_owned(), |c| c.value.clone()),
                because: said.because.as_ref().map(|b| b.value.clone()),
                span,
            },
        });
    }
}

fn twice(name: &Word, first: Span) -> Problem {
    Problem::error(ProblemCode::DeclaredTwice, name.span, format!("`{}` is declared twice", name.value))
        .here("again here")
        .also(first, "first here")
        .help("give one of them another designator")
}
