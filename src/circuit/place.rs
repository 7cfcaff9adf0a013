//! From a place as written to a joint or a declared net, with the nearest real name for an unknown one.

use super::board::{Board, BoardPart, Joint, Spot};
use super::types::Types;
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Span, nearest};
use crate::syntax::document::{ELECTRODES, electrode_meant};
use crate::syntax::tree::Place;

/// What people call ground.
const GROUNDS: [&str; 6] = ["ground", "gnd", "earth", "0v", "common", "chassis-ground"];

const JACK_LEGS: [&str; 6] = ["tip", "ring", "sleeve", "tip-contact", "ring-contact", "sleeve-contact"];

impl Board {
    /// The joint or net that a place names. A jack's further contacts come to be by being named.
    pub(super) fn spot(&mut self, place: &Place, types: &Types) -> Result<Spot, Problem> {
        let text = place.value.as_str();
        if let Some(net) = self.net_names.get(text) {
            return Ok(Spot::Net(*net));
        }
        let (part, leg) = self.leg_at(place, types)?;
        Ok(Spot::Joint(self.parts[&part].legs[leg].home))
    }

    /// The part and leg index that a place names.
    pub(super) fn leg_at(&mut self, place: &Place, types: &Types) -> Result<(String, usize), Problem> {
        let text = place.value.as_str();
        let Some((head, tail)) = text.split_once('.') else {
            return Err(self.a_net(place).unwrap_or_else(|| self.not_a_place(text, place.span)));
        };
        if self.parts.contains_key(head) {
            return self.leg_of(head, tail, place.span, types).map(|leg| (head.to_owned(), leg));
        }
        if let Some((tube, letter)) = self.section(head) {
            let leg = format!("{letter}.{tail}");
            return self.leg_of(&tube, &leg, place.span, types).map(|leg| (tube, leg));
        }
        Err(self.not_a_place(text, place.span))
    }

    /// `V1a` as valve `V1` and section `a`.
    pub(super) fn section(&self, name: &str) -> Option<(String, String)> {
        let letter = name.chars().last().filter(char::is_ascii_lowercase)?;
        let tube = name.strip_suffix(letter)?;
        let owner = self.parts.get(tube)?;
        // A valve of no known type may have sections.
        let sections = owner.legs.is_empty() || owner.legs.iter().any(|leg| leg.name.contains('.'));
        let has = sections && matches!(letter, 'a' | 'b');
        (owner.part.kind == Kind::Tube && has).then(|| (tube.to_owned(), letter.to_string()))
    }

    fn leg_of(&mut self, part: &str, leg: &str, span: Span, types: &Types) -> Result<usize, Problem> {
        let owner = &self.parts[part];
        if let Some(index) = find_leg(owner, leg) {
            return Ok(index);
        }
        if let Some(index) = pin(owner, leg, types) {
            return Ok(index);
        }
        if owner.part.kind == Kind::Jack && JACK_LEGS.contains(&leg) {
            return Ok(self.add_leg(part, leg));
        }
        // The legs of a valve of no known type, which is told where it stands, are taken as they are named.
        if is_typeless(owner, types) && ELECTRODES.contains(&leg.rsplit('.').next().unwrap_or(leg)) {
            return Ok(self.add_leg(part, leg));
        }
        let owner = &self.parts[part];
        let names: Vec<String> =
            owner.legs.iter().map(|l| l.name.clone()).chain(two_leg_names(owner.legs.len())).collect();
        let shown = leg.split_once('.').map_or(leg, |(_, electrode)| electrode);
        let problem = Problem::error(ProblemCode::UnknownLeg, span, format!("{part} has no leg `{shown}`"))
            .here("no such leg");
        let meant = electrode_meant(shown).and_then(|name| {
            names.iter().find(|l| l.rsplit('.').next() == Some(name) && same_section(l, leg))
        });
        let near = meant.map(String::as_str).or_else(|| nearest(leg, names.iter().map(String::as_str)));
        let problem = match near {
            Some(name) => problem.help(format!("did you mean `{}`?", owner.part.spelled(name))),
            None if owner.part.kind == Kind::Tube && shown.starts_with("heater") => problem.help(
                "heaters are fed by `heater T1.heat feeds V1 …`; they are no legs of the signal circuit",
            ),
            None => problem.help(legs_in_words(owner)),
        };
        Err(problem.also(self.parts[part].part.declared, format!("{part} is declared here")))
    }

    /// A net where one leg is wanted, with the legs that sit in it.
    fn a_net(&self, place: &Place) -> Option<Problem> {
        const SHOWN: usize = 4;
        let net = *self.net_names.get(place.value.as_str())?;
        let legs = self.nets[net].joints.iter().filter_map(|joint| {
            let owner = self.parts.get(&self.joints[*joint].part)?;
            Some(owner.part.spelled(&owner.legs.get(self.joints[*joint].leg)?.name))
        });
        let mut legs: Vec<String> = legs.collect();
        legs.sort_by(|a, b| super::natural(a, b));
        let more = if legs.len() > SHOWN { " …" } else { "" };
        let legs =
            if legs.is_empty() { "none".to_owned() } else { legs[..legs.len().min(SHOWN)].join(", ") + more };
        Some(
            Problem::error(
                ProblemCode::NotALeg,
                place.span,
                format!("`{}` is a net, and a leg is wanted here", place.value),
            )
            .here("a net")
            .help(format!(
                "name a leg; those in {0}: {legs}. Two nets are joined by `bridged {0} to NET`",
                place.value
            )),
        )
    }

    /// An unknown place: never a new net in silence.
    fn not_a_place(&self, text: &str, span: Span) -> Problem {
        let head = text.split('.').next().unwrap_or(text);
        let problem =
            Problem::error(ProblemCode::UnknownPlace, span, format!("`{text}` is not a declared place"));
        if let Some(owner) = self.parts.get(text) {
            return problem.here("a part, not a place").help(legs_in_words(owner));
        }
        if GROUNDS.contains(&head.to_lowercase().as_str()) {
            return problem.here("unknown").help("ground is written `chassis`");
        }
        let names = self.net_names.keys().chain(self.parts.keys()).map(String::as_str);
        match nearest(head, names) {
            Some(name) => {
                let fixed = text.replacen(head, name, 1);
                problem.here("unknown").help(format!("did you mean `{fixed}`?"))
            }
            None => problem
                .here("unknown")
                .help(format!("declare it: `net {head}`, `rail {head}`, or the part it is a leg of")),
        }
    }

    /// A part by name, or the problem that there is none.
    pub(super) fn known_part(&self, name: &str, span: Span) -> Result<(), Problem> {
        if self.parts.contains_key(name) {
            return Ok(());
        }
        if let Some(problem) = self.no_part_but(name, span) {
            return Err(problem);
        }
        let problem = Problem::error(ProblemCode::UnknownPart, span, format!("there is no part `{name}`"))
            .here("unknown");
        Err(match nearest(name, self.parts.keys().map(String::as_str)) {
            Some(near) => problem
                .help(format!("did you mean `{near}`?"))
                .also(self.parts[near].part.declared, format!("{near} is declared here")),
            None => problem.help("a part that is there beyond the stock spec is written `added …`"),
        })
    }

    /// A net, a leg or half a valve where a part is wanted.
    fn no_part_but(&self, name: &str, span: Span) -> Option<Problem> {
        let wrong = |what: &str, help: String| {
            let text = format!("`{name}` is {what}, and a part is wanted here");
            Problem::error(ProblemCode::NotAPart, span, text).here("no part").help(help)
        };
        if self.net_names.contains_key(name) {
            let help =
                format!("name a part; what a net has lost is written `cut {name} leaving LEG on NAME`");
            return Some(wrong("a net", help));
        }
        if let Some((head, _)) = name.split_once('.').filter(|(head, _)| self.parts.contains_key(*head)) {
            return Some(wrong("a leg", format!("name the part: `{head}`")));
        }
        let (tube, _) = self.section(name)?;
        Some(wrong("a section of a valve", format!("name the valve: `{tube}`")))
    }

    /// The joint where a leg sits now, or its home when it is free.
    pub(super) fn current_joint(&self, part: &str, leg: usize) -> Joint {
        let leg = &self.parts[part].legs[leg];
        leg.at.unwrap_or(leg.home)
    }
}

/// The legs of a part in words, or what gives it legs.
pub(super) fn legs_in_words(owner: &BoardPart) -> String {
    let legs: Vec<String> = owner.legs.iter().map(|l| owner.part.spelled(&l.name)).collect();
    match owner.part.kind {
        _ if !legs.is_empty() => format!("its legs are {}", legs.join(", ")),
        Kind::MainsTransformer => {
            format!("its legs come with its windings: `winding {}.ht …`", owner.part.name)
        }
        Kind::Switch | Kind::Relay => {
            format!(
                "its legs come with its contacts: `contact {} POSITION joins PLACE to PLACE`",
                owner.part.name
            )
        }
        Kind::Tube => "its legs come with its type".to_owned(),
        _ => format!("{} has no legs", owner.part.name),
    }
}

/// Whether a part is a valve whose type is not known.
pub(super) fn is_typeless(owner: &BoardPart, types: &Types) -> bool {
    let known = owner.part.component.body.type_name.as_deref().is_some_and(|name| types.tube(name).is_some());
    owner.part.kind == Kind::Tube && !known
}

/// Whether two legs of a valve are of one section.
fn same_section(a: &str, b: &str) -> bool {
    let section = |leg: &str| leg.split_once('.').map(|(letter, _)| letter.to_owned());
    section(a) == section(b)
}

fn two_leg_names(legs: usize) -> Vec<String> {
    if legs == 2 { vec!["1".into(), "2".into()] } else { Vec::new() }
}

fn find_leg(owner: &BoardPart, leg: &str) -> Option<usize> {
    owner.legs.iter().position(|l| l.name == leg).or(match (leg, owner.legs.len()) {
        ("1", 2) => Some(0),
        ("2", 2) => Some(1),
        _ => None,
    })
}

/// `pin3` by the type's base.
fn pin(owner: &BoardPart, leg: &str, types: &Types) -> Option<usize> {
    let number: u32 = leg.strip_prefix("pin")?.parse().ok()?;
    let pins = &types.tube(owner.part.component.body.type_name.as_deref()?)?.pins;
    let (name, _) = pins.iter().find(|(_, pin)| **pin == number)?;
    owner.legs.iter().position(|l| &l.name == name)
}
