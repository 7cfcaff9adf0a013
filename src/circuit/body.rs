//! From what is said of a part to its body and its legs.

use super::part::{Body, Component, Origin, Part, State};
use super::types::Types;
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Span};
use crate::syntax::tree::{PartSaid, Spec, TypeLine, Value, Word};

impl Body {
    /// The body that a spec describes; nothing is inherited or assumed.
    pub fn of(spec: &Spec) -> Body {
        let number = |value: &Option<Value>| value.as_ref().map(|v| v.value.value);
        Body {
            value: number(&spec.value),
            tolerance: spec.tolerance.as_ref().map(|t| t.value),
            power: number(&spec.power),
            volts: number(&spec.volts),
            amps: number(&spec.amps),
            ohms: number(&spec.ohms),
            henries: number(&spec.henries),
            unloaded: number(&spec.unloaded),
            steady: spec.steady.is_some(),
            construction: spec.construction.as_ref().map(|c| c.value),
            type_name: spec.type_name.as_ref().map(|t| t.value.clone()),
            taper: spec.taper.as_ref().map(|t| t.value),
            at: number(&spec.at),
            ganged: spec.ganged.as_ref().map(|g| g.value.clone()),
            taps: spec.taps.iter().map(|(at, _)| at.value.value).collect(),
            made: spec.made.as_ref().map(|m| m.value),
            slow: spec.speed.as_ref().map(|s| s.value == "slow"),
            two_core: spec.two_core.is_some(),
            positions: spec.positions.iter().map(|p| p.value.clone()).collect(),
            now: spec.now.as_ref().or(spec.positions.first()).map(|p| p.value.clone()),
            output_taps: spec.output_taps.iter().map(|t| (tap_name(t), t.value.value)).collect(),
            a_side: spec.a_side.is_some(),
            in_phase: spec.in_phase.is_some(),
            windings: Vec::new(),
            contacts: Vec::new(),
            normals: spec.normals.iter().map(|(leg, _)| (leg.value.clone(), touched(&leg.value))).collect(),
            on: spec.on.as_ref().map(|o| o.value.clone()),
        }
    }
}

/// `8R`: a tap's leg is named by its ohms.
pub(super) fn tap_name(tap: &Value) -> String {
    crate::units::value_code(tap.value.value, crate::units::Unit::Ohm)
}

/// The leg of a jack that a contact touches: `tip-contact` touches `tip`.
fn touched(contact: &str) -> String {
    contact.strip_suffix("-contact").unwrap_or("tip").to_owned()
}

/// A part as declared, without legs.
pub(super) fn part_of(said: &PartSaid, origin: Origin, statement: Span) -> Part {
    Part {
        name: said.name.value.clone(),
        kind: said.kind.value,
        component: Component::new(Body::of(&said.spec)),
        legs: Vec::new(),
        state: State::Fitted,
        origin,
        note: said.note.as_ref().map(|n| n.value.clone()),
        replaced: false,
        role: None,
        looked_at: false,
        checked: false,
        unused: Vec::new(),
        declared: statement,
        said: Vec::new(),
    }
}

/// The legs a part has from the start; windings and contacts add theirs later.
pub(super) fn leg_names(said: &PartSaid, types: &Types, problems: &mut Vec<Problem>) -> Vec<String> {
    let mut names: Vec<String> = match said.kind.value {
        Kind::Tube => tube_legs(said.spec.type_name.as_ref(), types, problems),
        Kind::OutputTransformer | Kind::ReverbTransformer => {
            let push_pull = said.legs.iter().any(|l| l.leg.value == "plate-b");
            let plates: &[&str] = if push_pull { &["plate-a", "plate-b"] } else { &["plate-a"] };
            let mut names: Vec<String> = plates.iter().map(|p| (*p).to_owned()).collect();
            names.extend(["supply".to_owned(), "common".to_owned()]);
            names.extend(said.spec.output_taps.iter().map(tap_name));
            names
        }
        kind => kind.legs().iter().map(|l| (*l).to_owned()).collect(),
    };
    match said.kind.value {
        Kind::Pot | Kind::Trimmer => names.extend((1..=said.spec.taps.len()).map(|n| format!("tap{n}"))),
        Kind::Can => names.push("common".to_owned()),
        _ => {}
    }
    names.extend(said.spec.normals.iter().map(|(leg, _)| leg.value.clone()));
    // Legs that a statement of this kind may name beyond the fixed ones: a jack's ring, a reverb tank's ends.
    for leg in &said.legs {
        let open_ended = matches!(said.kind.value, Kind::Jack | Kind::ReverbTransformer);
        if open_ended && !names.contains(&leg.leg.value) {
            names.push(leg.leg.value.clone());
        }
    }
    names
}

/// Legs of a valve by its type; an unknown type is a problem.
pub(super) fn tube_legs(type_name: Option<&Word>, types: &Types, problems: &mut Vec<Problem>) -> Vec<String> {
    let Some(word) = type_name else { return Vec::new() };
    if let Some(tube) = types.tube(&word.value) {
        return tube.legs();
    }
    problems.push(unknown_type(word, types.tubes.keys().chain(types.also.keys()), TypeLine::TubeType));
    Vec::new()
}

/// An unknown type. One that is spelled otherwise is offered; another type never is, for a valve that is nearly the right
/// one is the wrong one.
pub(super) fn unknown_type<'a>(
    word: &Word,
    mut names: impl Iterator<Item = &'a String>,
    line: TypeLine,
) -> Problem {
    let (what, example) = match line {
        TypeLine::DiodeType => ("diode", "saturation 7n emission 1.8 inverse 1000V"),
        _ => ("valve", "double-triode"),
    };
    let problem = Problem::error(
        ProblemCode::UnknownType,
        word.span,
        format!("there is no {what} type `{}`", word.value),
    )
    .here("unknown");
    let plain = |name: &str| name.replace(['-', '/', ' '], "").to_uppercase();
    let print = if what == "valve" { "the print on the glass" } else { "the print on it" };
    problem.help(match names.find(|name| plain(name) == plain(&word.value)) {
        Some(name) => format!("it is written `{name}`"),
        None => format!(
            "check {print}; if it is right, add its data: `{} {} {example}` with the lines that belong to it, in the \
             document or in a file named by `types from \"FILE\"`",
            line.word(),
            word.value
        ),
    })
}
