//! A replacement's body, read as said of the part that it replaces.

use super::Walk;
use super::value::{Sign, type_or_value};
use crate::model::Kind;
use crate::source::{FileId, Problem, Span, Spanned};
use crate::syntax::print;
use crate::syntax::tree::{Spec, Value, Word};
use crate::syntax::words::{KindWord, Slot};
use crate::units::{Unit, parse_quantity};

/// Reads what a replacement said, which was read without knowing the part, as said of a part of this kind:
/// `2A` is a fuse's value, `12V` a zener's, `6550` a valve's type. Gives what doesn't fit as problems.
pub fn settle(spec: &Spec, kind: Kind) -> (Spec, Vec<Problem>) {
    let spec = &word_as_value(spec, kind);
    let said = said(spec);
    let file = said.first().map_or(FileId(0), |(_, span)| span.file);
    let mut walk = Walk::new(file);
    let mut settled = Spec { value: None, volts: None, amps: None, ohms: None, ..spec.clone() };
    let takes = KindWord::of(kind).takes;
    let mut loose = vec![spec.value, spec.volts, spec.amps];
    if takes.contains(&Slot::Ohms) || takes.contains(&Slot::Behind) {
        settled.ohms = spec.ohms;
    } else {
        loose.push(spec.ohms);
    }
    for value in loose.into_iter().flatten() {
        let text = print::value(&value.value);
        let wound = matches!(kind, Kind::OutputTransformer | Kind::ReverbTransformer);
        if wound && spec.value == Some(value) {
            settled.value = walk.settled(&text, value, Unit::Ohm, Sign::Above);
        } else if kind == Kind::Tube && settled.type_name.is_none() {
            settled.type_name = Some(Spanned { value: text.to_uppercase(), span: value.span });
        } else {
            walk.rated(&mut settled, Some(kind), &text, value);
        }
    }
    for (slot, span) in said {
        if !matches!(slot, Slot::Value | Slot::Volts | Slot::Amps | Slot::Ohms) {
            walk.taken(Some(kind), slot, span);
        }
    }
    (settled, walk.problems)
}

/// A body whose word may be a type or a value, `5600R`: of all but a valve it is the first of its values.
fn word_as_value(spec: &Spec, kind: Kind) -> Spec {
    let mut spec = spec.clone();
    let word = spec.type_name.take_if(|word| kind != Kind::Tube && type_or_value(&word.value));
    if let Some((word, Ok(value))) = word.map(|word| (word.clone(), parse_quantity(&word.value))) {
        let mut walk = Walk::new(word.span.file);
        let second = spec.value.take();
        walk.rated(&mut spec, None, &word.value, Spanned { value, span: word.span });
        if let Some(second) = second {
            walk.rated(&mut spec, None, &print::value(&second.value), second);
        }
    }
    spec
}

/// Each clause of a body with its place.
fn said(spec: &Spec) -> Vec<(Slot, Span)> {
    let value = |slot: Slot, value: &Option<Value>| value.map(|v| (slot, v.span));
    let word = |slot: Slot, word: &Option<Word>| word.as_ref().map(|w| (slot, w.span));
    let once = [
        value(Slot::Value, &spec.value),
        value(Slot::Power, &spec.power),
        value(Slot::Volts, &spec.volts),
        value(Slot::Amps, &spec.amps),
        value(Slot::Ohms, &spec.ohms),
        value(Slot::Henries, &spec.henries),
        value(Slot::Unloaded, &spec.unloaded),
        value(Slot::At, &spec.at),
        spec.tolerance.map(|t| (Slot::Tolerance, t.span)),
        spec.steady.map(|span| (Slot::Steady, span)),
        spec.construction.map(|c| (Slot::Construction, c.span)),
        spec.taper.map(|t| (Slot::Taper, t.span)),
        spec.two_core.map(|span| (Slot::TwoCore, span)),
        spec.a_side.or(spec.in_phase).map(|span| (Slot::Windings, span)),
        word(Slot::TypeName, &spec.type_name),
        word(Slot::Ganged, &spec.ganged),
        word(Slot::Speed, &spec.speed),
        word(Slot::Positions, &spec.now),
        word(Slot::On, &spec.on),
    ];
    let many = [
        spec.taps.first().map(|(v, _)| (Slot::Tap, v.span)),
        spec.output_taps.first().map(|v| (Slot::Windings, v.span)),
        spec.positions.first().map(|w| (Slot::Positions, w.span)),
        spec.normals.first().map(|(w, _)| (Slot::Normals, w.span)),
    ];
    once.into_iter().chain(many).flatten().collect()
}
