//! The verbs of a layer, laid onto the board in fixed passes, so that the order of statements does not matter.

use std::collections::BTreeMap;

use super::Accept;
use super::board::{Board, Bridge, Spot};
use super::body::tube_legs;
use super::declare::Laying;
use super::part::{Body, Leak, Origin, State};
use super::types::Types;
use crate::source::{Problem, Severity, Sources, Span};
use crate::syntax::document::settle;
use crate::syntax::tree::{
    Construction, Kind, Place, Replacement, Said, Setting, Spec, Statement, Value, Word,
};

type Pass = fn(&mut Laying<'_>, &Statement);

/// Passes of a layer after its declarations, in order.
const PASSES: [Pass; 10] = [
    |laying, statement| laying.put_to_use(statement),
    |laying, statement| laying.restore(statement),
    |laying, statement| laying.take_out(statement),
    |laying, statement| laying.cut_and_rejoin(statement),
    |laying, statement| laying.lift(statement),
    |laying, statement| laying.shift(statement),
    |laying, statement| laying.replace(statement),
    |laying, statement| laying.add(statement),
    |laying, statement| laying.bridge(statement),
    |laying, statement| laying.mark(statement),
];

/// Lays the statements of one layer onto the board and gives the problems found.
pub(super) fn lay(
    board: &mut Board,
    types: &Types,
    statements: &[&Statement],
    sources: &Sources,
) -> Vec<Problem> {
    for owner in board.parts.values_mut() {
        owner.part.looked_at = false;
        owner.part.checked = false;
    }
    let mut laying = Laying { board, types, problems: conflicts(statements, sources) };
    for statement in statements {
        laying.declare(statement);
    }
    for statement in statements {
        laying.extend(statement);
    }
    for pass in PASSES {
        for statement in statements {
            pass(&mut laying, statement);
        }
    }
    for statement in statements {
        laying.remark(&statement.said);
    }
    laying.problems
}

/// What a statement writes: the part or leg, and which of its aspects.
fn writes(said: &Said) -> Vec<(String, &'static str)> {
    match said {
        Said::Missing { part, .. } | Said::Replaced { part, .. } => {
            vec![(part.value.clone(), "the part itself")]
        }
        Said::Remove { name, .. } => vec![(name.value.clone(), "the part itself")],
        Said::Restore { names, .. } => names.iter().map(|n| (n.value.clone(), "the part itself")).collect(),
        Said::Reads { part, .. } => vec![(part.value.clone(), "its reading")],
        Said::Leaks { part, .. } => vec![(part.value.clone(), "its leakage")],
        Said::Shorted { part, .. } => vec![(part.value.clone(), "a short")],
        Said::Reversed { part, .. } => vec![(part.value.clone(), "its direction")],
        Said::Lifted { what, .. } => vec![(what.value.clone(), "where the leg is")],
        Said::Moved { leg, .. } => vec![(leg.value.clone(), "where the leg is")],
        Said::Set { control, .. } => vec![(control.value.clone(), "its setting")],
        Said::Mains { .. } => vec![("mains".into(), "the mains")],
        Said::Checked(names) => names.iter().map(|n| (n.value.clone(), "checked")).collect(),
        _ => Vec::new(),
    }
}

/// Two statements that write the same thing: an error with both places; identical repeats are a notice.
fn conflicts(statements: &[&Statement], sources: &Sources) -> Vec<Problem> {
    let mut written: BTreeMap<(String, &'static str), Span> = BTreeMap::new();
    let mut problems = Vec::new();
    let squeezed = |span: Span| sources.text(span).split_whitespace().collect::<Vec<_>>().join(" ");
    for statement in statements {
        for key in writes(&statement.said) {
            let (subject, aspect) = key.clone();
            match written.get(&key) {
                Some(first) if aspect == "checked" || squeezed(*first) == squeezed(statement.span) => {
                    let text = format!("said twice of {subject}");
                    problems
                        .push(Problem::notice("said-twice", statement.span, text).also(*first, "first here"));
                }
                Some(first) => {
                    let text = format!("two statements about {subject} disagree on {aspect}");
                    problems.push(
                        Problem::error("statements-conflict", statement.span, text)
                            .here("this one")
                            .also(*first, "and this one")
                            .help("keep the one that is true; statements count in any order"),
                    );
                }
                None => {
                    written.insert(key, statement.span);
                }
            }
        }
    }
    problems.extend(checked_but_different(&written));
    problems
}

/// `checked` says "as stock": a differing statement on the same part contradicts it.
fn checked_but_different(written: &BTreeMap<(String, &'static str), Span>) -> Vec<Problem> {
    let checked = written.iter().filter(|((_, aspect), _)| *aspect == "checked");
    checked
        .filter_map(|((name, _), span)| {
            let part_of = |subject: &str| subject.split('.').next() == Some(name.as_str());
            let (_, other) = written.iter().find(|((subject, aspect), _)| {
                part_of(subject) && !matches!(*aspect, "checked" | "its setting")
            })?;
            Some(
                Problem::error(
                    "checked-but-different",
                    *span,
                    format!("{name} is said to be checked, and to differ"),
                )
                .here("checked means: looked at, and as stock")
                .also(*other, "says something else of it")
                .help("a differing statement counts as looked at; take the name off the `checked` line"),
            )
        })
        .collect()
}

/// The quoted remark of a statement and the part or leg it is about.
fn remark_of(said: &Said) -> Option<(&Word, &Word)> {
    match said {
        Said::Reads { part, note, .. }
        | Said::Leaks { part, note, .. }
        | Said::Missing { part, note, .. }
        | Said::Replaced { part, note, .. }
        | Said::Swapped { part, note, .. }
        | Said::Reversed { part, note, .. }
        | Said::Shorted { part, note, .. }
        | Said::Lifted { what: part, note, .. }
        | Said::Moved { leg: part, note, .. }
        | Said::Joined { leg: part, note, .. }
        | Said::Remove { name: part, group: false, note } => Some((part, note.as_ref()?)),
        _ => None,
    }
}

impl Laying<'_> {
    fn remark(&mut self, said: &Said) {
        let Some((about, note)) = remark_of(said) else { return };
        let head = about.value.split('.').next().unwrap_or(&about.value).to_owned();
        let name = self.board.section(&head).map_or(head, |(tube, _)| tube);
        if let Some(owner) = self.board.parts.get_mut(&name) {
            owner.part.remarks.push(note.value.clone());
        }
    }

    /// The part's board state, if there is such a part; remembers that the statement is about it.
    fn about(&mut self, name: &Word, statement: Span) -> bool {
        let known = self.board.known_part(&name.value, name.span);
        if self.note(known).is_none() {
            return false;
        }
        if let Some(owner) = self.board.parts.get_mut(&name.value) {
            if owner.part.said.last() != Some(&statement) {
                owner.part.said.push(statement);
            }
            owner.part.looked_at = true;
        }
        true
    }

    fn leg_about(&mut self, place: &Place, statement: Span) -> Option<(String, usize)> {
        let found = self.board.leg_at(place, self.types);
        let (part, leg) = self.note(found)?;
        let word = Word { value: part.clone(), span: place.span };
        self.about(&word, statement);
        Some((part, leg))
    }

    fn take_out(&mut self, statement: &Statement) {
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

    pub(super) fn vacate(&mut self, part: &str, state: State) {
        if let Some(owner) = self.board.parts.get_mut(part) {
            owner.part.state = state;
            for leg in &mut owner.legs {
                leg.at = None;
            }
        }
    }

    fn cut_and_rejoin(&mut self, statement: &Statement) {
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
        for place in legs {
            let Some((part, leg)) = self.leg_about(place, span) else { continue };
            let joint = self.board.current_joint(&part, leg);
            if self.board.joints[joint].net != from {
                let text = format!("{} is not in {}", place.value, net.value);
                self.problems
                    .push(Problem::error("not-in-net", place.span, text).also(net.span, "this net is cut"));
                continue;
            }
            self.board.shift_joint(joint, to);
        }
    }

    fn lift(&mut self, statement: &Statement) {
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
                let problem = Problem::error("which-leg", what.span, "which leg is lifted?")
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
                let problem =
                    Problem::error("not-in-net", at.span, text).also(owner.part.declared, "declared here");
                self.problems.push(problem);
                None
            }
            _ => {
                let problem = Problem::error("which-leg", at.span, "both its legs are in this net");
                self.problems.push(problem.help(format!("name the leg: `{}.1 lifted`", what.value)));
                None
            }
        }
    }

    fn shift(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Moved { leg, to, .. } => {
                let Some((part, leg)) = self.leg_about(leg, statement.span) else { return };
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

    fn seat(&mut self, part: &str, leg: usize, joint: usize) {
        if let Some(owner) = self.board.parts.get_mut(part) {
            owner.legs[leg].at = Some(joint);
        }
    }

    fn reverse(&mut self, part: &Word) {
        let owner = &self.board.parts[&part.value];
        if owner.part.kind.symmetric() && owner.part.body.construction != Some(Construction::Electrolytic) {
            let text = format!("{} has no direction: turned round it is the same", part.value);
            self.problems.push(
                Problem::notice("no-direction", part.span, text).also(owner.part.declared, "declared here"),
            );
        }
        if owner.legs.len() == 2 {
            self.exchange((&part.value, 0), (&part.value, 1));
        } else {
            let problem =
                Problem::error("wrong-kind", part.span, "only a part with two legs can be reversed");
            self.problems.push(problem.help(format!("write `{} LEG swapped with LEG`", part.value)));
        }
    }

    fn exchange(&mut self, one: (&str, usize), two: (&str, usize)) {
        let at = |board: &Board, (part, leg): (&str, usize)| board.parts[part].legs[leg].at;
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
        if a_legs.len() != b_legs.len() {
            let text = format!("{} and {} do not have the same legs", one.value, two.value);
            self.problems.push(Problem::error("wrong-kind", two.span, text).also(one.span, "these two"));
            return;
        }
        for name in [&a, &b] {
            self.about(&Word { value: name.clone(), span: one.span }, span);
        }
        for (x, y) in a_legs.into_iter().zip(b_legs) {
            self.exchange((&a, x), (&b, y));
        }
    }

    fn replace(&mut self, statement: &Statement) {
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
        let Some(old) = self.board.parts.get(&part.value).map(|o| o.part.body.clone()) else { return };
        let (spec, unfit) = settle(spec, self.board.parts[&part.value].part.kind);
        self.problems.extend(unfit);
        let spec = &spec;
        let mut body = Body::of(spec);
        let kept = |new: Vec<_>, old: Vec<_>| if new.is_empty() { old } else { new };
        body.at = body.at.or(old.at);
        body.positions = kept(body.positions, old.positions);
        body.now = body.now.or(old.now);
        body.output_taps = if body.output_taps.is_empty() { old.output_taps } else { body.output_taps };
        (body.contacts, body.windings, body.normals) = (old.contacts, old.windings, old.normals);
        if self.board.parts[&part.value].part.kind == Kind::Tube {
            self.new_tube(part, spec, &old.type_name);
        }
        if let Some(owner) = self.board.parts.get_mut(&part.value) {
            owner.part.body = body;
            owner.part.measured = None;
            owner.part.read_in_circuit = None;
            owner.part.leak = None;
            owner.part.shorted = false;
            owner.part.replaced = true;
            owner.part.state = State::Fitted;
            for leg in &mut owner.legs {
                (leg.at, leg.lifted) = (Some(leg.home), false);
            }
        }
    }

    /// Another valve type in the same socket: joints stay by electrode name, further electrodes get new joints.
    fn new_tube(&mut self, part: &Word, spec: &Spec, old_type: &Option<String>) {
        let legs = tube_legs(spec.type_name.as_ref(), self.types, &mut self.problems);
        let base = |name: Option<&String>| self.types.tube(name?)?.base.clone();
        let new_type = spec.type_name.as_ref().map(|t| &t.value);
        if let (Some(old), Some(new)) = (base(old_type.as_ref()), base(new_type))
            && old != new
        {
            let text = format!("{} has a {new} base, the socket is {old}", part.value);
            self.problems.push(Problem::notice("other-base", part.span, text).help("an adapter is assumed"));
        }
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
            let problem = Problem::error("wrong-kind", part.span, "only a part with two legs has stand-ins");
            self.problems.push(problem);
            return;
        };
        let (first, last) = (one.home, two.home);
        let template = owner.part.clone();
        let mut previous = Spot::Joint(first);
        for (index, (name, spec)) in specs.iter().enumerate() {
            if let Some(taken) = self.board.parts.get(&name.value) {
                let text = format!("`{}` is declared twice", name.value);
                let problem =
                    Problem::error("declared-twice", name.span, text).also(taken.part.declared, "first here");
                self.problems.push(problem);
                continue;
            }
            let mut stand = template.clone();
            stand.name.clone_from(&name.value);
            let (spec, unfit) = settle(spec, template.kind);
            self.problems.extend(unfit);
            stand.body = Body::of(&spec);
            stand.origin = Origin::StandsFor { part: part.value.clone() };
            (stand.declared, stand.said, stand.looked_at) = (span, Vec::new(), true);
            (stand.measured, stand.state) = (None, State::Fitted);
            let legs = Vec::new();
            self.board
                .parts
                .insert(name.value.clone(), super::board::BoardPart { part: stand, legs, stock: None });
            for leg in template.kind.legs() {
                self.board.add_leg(&name.value, leg);
            }
            let home = |board: &Board, leg: usize| Spot::Joint(board.parts[&name.value].legs[leg].home);
            let start = if series { previous } else { Spot::Joint(first) };
            let joined = self.board.join(home(self.board, 0), start, name.span);
            self.note(joined);
            previous = home(self.board, 1);
            if !series || index + 1 == specs.len() {
                let joined = self.board.join(previous, Spot::Joint(last), name.span);
                self.note(joined);
            }
        }
        let parts = specs.iter().map(|(name, _)| name.value.clone()).collect();
        self.vacate(&part.value, State::ReplacedBy { series, parts });
    }

    fn add(&mut self, statement: &Statement) {
        match &statement.said {
            Said::Added { part, .. } => {
                self.join_up(statement);
                if let Some(owner) = self.board.parts.get_mut(&part.name.value) {
                    owner.part.looked_at = true;
                }
            }
            Said::Joined { leg, to, .. } => {
                let Some((part, leg)) = self.leg_about(leg, statement.span) else { return };
                let joint = self.board.current_joint(&part, leg);
                self.join_spot(Spot::Joint(joint), to);
                self.seat(&part, leg, joint);
            }
            Said::Net { .. } | Said::Winding(_) => self.join_up(statement),
            _ => {}
        }
    }

    /// First, so that the section's new joints are there for moves to them.
    fn put_to_use(&mut self, statement: &Statement) {
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
            self.problems.push(Problem::error("not-unused", section.span, text));
            return;
        }
        let prefix = format!("{letter}.");
        let legs: Vec<usize> = (0..self.board.parts[&tube].legs.len())
            .filter(|i| self.board.parts[&tube].legs[*i].name.starts_with(&prefix))
            .collect();
        for leg in legs {
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

    fn bridge(&mut self, statement: &Statement) {
        let Said::Bridged { a, b, wire, through, .. } = &statement.said else { return };
        let (one, two) = (self.board.spot(a, self.types), self.board.spot(b, self.types));
        let (Some(one), Some(two)) = (self.note(one), self.note(two)) else { return };
        if self.board.net_at(one) == self.board.net_at(two) {
            let problem =
                Problem::error("already-joined", b.span, format!("{} and {} are one net", a.value, b.value));
            self.problems.push(problem.also(a.span, "this net"));
            return;
        }
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
            let problem = Problem::error("declared-twice", statement.span, text)
                .also(taken.part.declared, "first here");
            self.problems.push(problem);
            return;
        }
        self.lay_wire(&name, kind, through.as_ref().map(|t| t.value.value), [one, two], statement.span);
    }

    fn lay_wire(&mut self, name: &str, kind: Kind, ohms: Option<f64>, ends: [Spot; 2], span: Span) {
        let said = crate::syntax::tree::PartSaid {
            kind: crate::source::Spanned { value: kind, span },
            name: Word { value: name.to_owned(), span },
            spec: Spec::default(),
            legs: Vec::new(),
            note: None,
        };
        let mut part = super::body::part_of(&said, Origin::Added { group: None }, span);
        (part.body.value, part.looked_at) = (ohms, true);
        self.board
            .parts
            .insert(name.to_owned(), super::board::BoardPart { part, legs: Vec::new(), stock: None });
        for (leg, end) in ["1", "2"].into_iter().zip(ends) {
            let index = self.board.add_leg(name, leg);
            let home = self.board.parts[name].legs[index].home;
            let joined = self.board.join(Spot::Joint(home), end, span);
            self.note(joined);
        }
    }

    fn mark(&mut self, statement: &Statement) {
        let span = statement.span;
        match &statement.said {
            Said::Checked(names) => {
                for name in names {
                    if self.about(name, span)
                        && let Some(owner) = self.board.parts.get_mut(&name.value)
                    {
                        owner.part.checked = true;
                    }
                }
            }
            Said::Reads { part, value, in_circuit, .. } if self.about(part, span) => {
                if let Some(problem) = self.doubtful(part, value) {
                    self.problems.push(problem);
                    return;
                }
                if let Some(owner) = self.board.parts.get_mut(&part.value) {
                    let slot =
                        if *in_circuit { &mut owner.part.read_in_circuit } else { &mut owner.part.measured };
                    *slot = Some(value.value.value);
                }
            }
            Said::Leaks { part, amps, volts, .. } if self.about(part, span) => {
                if let Some(owner) = self.board.parts.get_mut(&part.value) {
                    owner.part.leak = Some(Leak { amps: amps.value.value, volts: volts.value.value });
                }
            }
            Said::Shorted { part, .. } if self.about(part, span) => {
                if let Some(owner) = self.board.parts.get_mut(&part.value) {
                    owner.part.shorted = true;
                }
            }
            Said::Set { control, to } => self.set(control, to, span),
            Said::Accept { rule, on, because } => self.board.accepts.push(Accept {
                rule: rule.value.clone(),
                on: on.as_ref().map(|p| p.value.clone()),
                because: because.value.clone(),
                span,
            }),
            Said::Window { .. }
            | Said::Open(_)
            | Said::Role { .. }
            | Said::Drive { .. }
            | Said::Heater { .. } => {
                self.join_up(statement);
            }
            _ => {}
        }
    }

    /// A reading in another unit than the part's, or so far from its label that a prefix was forgotten.
    fn doubtful(&self, part: &Word, value: &Value) -> Option<Problem> {
        let owner = &self.board.parts[&part.value].part;
        let name = &part.value;
        let Some(unit) = owner.kind.unit() else {
            let text = format!("a {} has no value of its own to read", owner.kind.word());
            let problem =
                Problem::error("wrong-kind", value.span, text).also(owner.declared, "declared here");
            return Some(problem.help(format!("a reading at a place is written `meter {name}.LEG VALUE`")));
        };
        if let Some(read) = value.value.unit.filter(|read| *read != unit) {
            let text = format!("{name} is read as {}, and has {}", read.quantity(), unit.quantity());
            return Some(
                Problem::error("wrong-unit", value.span, text).also(owner.declared, "declared here"),
            );
        }
        let ratio = value.value.value / owner.body.value?;
        (!(0.001..=1000.0).contains(&ratio)).then(|| {
            let shown = crate::units::value_code(value.value.value, unit);
            let label = crate::units::value_code(owner.body.value.unwrap_or_default(), unit);
            Problem::error(
                "reading-doubtful",
                value.span,
                format!("{name} reads {shown}, and its label says {label}"),
            )
            .here("was a prefix forgotten?")
            .also(owner.declared, "declared here")
            .help(format!(
                "an open part is written `{name} missing \"open\"`, a shorted one `{name} shorted`"
            ))
        })
    }

    fn set(&mut self, control: &Word, to: &Setting, span: Span) {
        let known = self.board.known_part(&control.value, control.span);
        if self.note(known).is_none() {
            return;
        }
        let Some(owner) = self.board.parts.get_mut(&control.value) else { return };
        owner.part.said.push(span);
        match (owner.part.kind, to) {
            (Kind::Pot | Kind::Trimmer, Setting::Turn(turn)) => owner.part.body.at = Some(turn.value.value),
            (Kind::Switch | Kind::Relay, Setting::Position(word))
                if owner.part.body.positions.contains(&word.value) =>
            {
                owner.part.body.now = Some(word.value.clone());
            }
            (Kind::Switch | Kind::Relay, Setting::Position(word)) => {
                let problem = Problem::error("unknown-position", word.span, "not a position of this switch");
                let positions = owner.part.body.positions.join(", ");
                self.problems.push(problem.help(format!("its positions are {positions}")));
            }
            (kind, _) => {
                let text = format!("a {} is not set this way", kind.word());
                let problem = Problem::error("wrong-kind", control.span, text);
                self.problems.push(problem.help("`set VR1 60%` for a control, `set S2 play` for a switch"));
            }
        }
    }
}

/// Whether any of the problems is an error.
pub fn has_errors(problems: &[Problem]) -> bool {
    problems.iter().any(|p| p.severity == Severity::Error)
}
