//! Changes since the document beneath and differences from the stock spec; findings beneath; acceptances.

use super::{ACCEPTANCE, CHANGE, Function, Gives, HAZARD, TEXT, TRUTH, safer, text, thing, truth, word};
use crate::change::{Change, ChangeKind};
use crate::circuit::{Accept, Origin};
use crate::model::DocumentKind;
use crate::rules::context::{Context, Known, Which};
use crate::rules::dimension::{Domain, Sort, Ty};
use crate::rules::domain::{NONE, joined};
use crate::rules::finding::Finding;
use crate::rules::value::{Thing, Value};

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "kind",
        params: &[CHANGE],
        gives: word(Domain::Change),
        solved: false,
        docs: "What kind of change it is.",
        example: "kind(c) is missing",
        code: |c, args| Ok(Value::Word(joined(change(c, args)?.kind.word()))),
    },
    Function {
        name: "part",
        params: &[CHANGE],
        gives: Gives::Ty(Ty::Thing(Sort::Part)),
        solved: false,
        docs: "The part that a change is about; inside `stock(…)` or `before(…)` the same part there.",
        example: "stock(role(part(c))) is bright-capacitor",
        code: |c, args| {
            let change = change(c, args)?;
            let id = match c.which {
                Which::Now => change.after_part,
                Which::Before | Which::Stock => None,
            };
            let id = id.or_else(|| c.circuit().find(&change.subject));
            id.map(|id| Value::Thing(Thing::Part(id)))
                .ok_or_else(|| format!("{} is no part here", change.subject))
        },
    },
    Function {
        name: "about-part",
        params: &[CHANGE],
        gives: TRUTH,
        solved: false,
        docs: "Whether a change is about a part that both circuits, or the judged one, know by name.",
        example: "where about-part(c)",
        code: |c, args| {
            let change = change(c, args)?;
            truth(change.before_part.is_some() || change.after_part.is_some())
        },
    },
    Function {
        name: "role",
        params: &[CHANGE],
        gives: word(Domain::Role),
        solved: false,
        docs: "What the part of a change is for, or was for in the circuit that the change starts from; `none` where \
               nothing is recognised.",
        example: "role(c) is bright-capacitor",
        code: role,
    },
    Function {
        name: "purpose",
        params: &[CHANGE],
        gives: TEXT,
        solved: false,
        docs: "What the part of a change is for, in words.",
        example: "{purpose(c)}",
        code: |c, args| text(&*change(c, args)?.role),
    },
    Function {
        name: "was",
        params: &[CHANGE],
        gives: TEXT,
        solved: false,
        docs: "As it was, in words: `100k`.",
        example: "{was(c)}",
        code: |c, args| text(&*change(c, args)?.before),
    },
    Function {
        name: "now",
        params: &[CHANGE],
        gives: TEXT,
        solved: false,
        docs: "As it is, in words: `131k`.",
        example: "{now(c)}",
        code: |c, args| text(&*change(c, args)?.after),
    },
    Function {
        name: "grouped",
        params: &[CHANGE],
        gives: TRUTH,
        solved: false,
        docs: "Whether the record puts the added part into a named group.",
        example: "where not grouped(c)",
        code: |c, args| {
            let grouped = |origin: &Origin| matches!(origin, Origin::Added { group: Some(_) });
            truth(change(c, args)?.after_part.is_some_and(|id| grouped(&c.facts.now.circuit.part(id).origin)))
        },
    },
    Function {
        name: "noted",
        params: &[CHANGE],
        gives: TRUTH,
        solved: false,
        docs: "Whether the record gives a remark on it.",
        example: "where not noted(c)",
        code: |c, args| truth(change(c, args)?.note.is_some()),
    },
    Function {
        name: "decided",
        params: &[CHANGE],
        gives: TRUTH,
        solved: false,
        docs: "Whether the judged document is a plan and the change is one of its own: a decision, not a fault.",
        example: "where not decided(c)",
        code: |c, args| truth(decided(c, change(c, args)?)),
    },
    Function {
        name: "safer",
        params: &[CHANGE],
        gives: TRUTH,
        solved: false,
        docs: "Whether a change moves to the safer side: three-core for two-core, a higher safety class, more rating, an added \
               fuse, an added bond from a mains inlet's earth to the chassis.",
        example: "where not safer(c)",
        code: |c, args| truth(safer::safer(c, change(c, args)?)),
    },
    Function {
        name: "remains",
        params: &[HAZARD],
        gives: TRUTH,
        solved: false,
        docs: "Whether a finding on the document beneath is found again here, and counts. A rule that asks this runs \
               after all others.",
        example: "remains(h)",
        code: |c, args| {
            let hazard = hazard(c, args)?;
            let again = |f: &&Finding| f.rule == hazard.rule && f.subject() == hazard.subject();
            truth(c.findings.iter().filter(again).any(Finding::counts))
        },
    },
    Function {
        name: "level",
        params: &[HAZARD],
        gives: word(Domain::Level),
        solved: false,
        docs: "The level of a finding: on the document beneath, or one that a plan brings.",
        example: "level(h) is danger",
        code: |c, args| Ok(Value::Word(hazard(c, args)?.level.word().into())),
    },
    Function {
        name: "endangers-people",
        params: &[HAZARD],
        gives: TRUTH,
        solved: false,
        docs: "Whether such a finding is a danger to people, not only to the amplifier.",
        example: "danger to people when endangers-people(h)",
        code: |c, args| truth(hazard(c, args)?.to_people),
    },
    Function {
        name: "rule",
        params: &[HAZARD],
        gives: TEXT,
        solved: false,
        docs: "The rule of such a finding.",
        example: "{rule(h)}",
        code: |c, args| text(&*hazard(c, args)?.rule),
    },
    Function {
        name: "message",
        params: &[HAZARD],
        gives: TEXT,
        solved: false,
        docs: "What such a finding says.",
        example: "{message(h)}",
        code: |c, args| text(&*hazard(c, args)?.message),
    },
    Function {
        name: "stale",
        params: &[ACCEPTANCE],
        gives: TRUTH,
        solved: false,
        docs: "Whether an acceptance accepts nothing. A rule that asks this runs after all others.",
        example: "stale(a)",
        code: |c, args| {
            let accept = acceptance(c, args)?;
            let used = |f: &Finding| f.accepted.as_ref().is_some_and(|a| a.span == accept.span);
            truth(!c.findings.iter().any(used))
        },
    },
];

fn decided(c: &Context<'_>, change: &Change) -> bool {
    let own = |other: &Change| other.kind == change.kind && other.subject == change.subject;
    c.facts.now.circuit.kind == DocumentKind::Plan && c.facts.changes.iter().any(own)
}

/// Functions that look at the findings of other rules.
pub(crate) fn looks_at_findings(name: &str) -> bool {
    matches!(name, "remains" | "stale")
}

fn change<'a>(c: &Context<'a>, args: &[Value]) -> Known<&'a Change> {
    c.change(thing(args, 0)?).ok_or_else(|| "no such change".to_owned())
}

fn hazard<'a>(c: &Context<'a>, args: &[Value]) -> Known<&'a Finding> {
    c.told(thing(args, 0)?).ok_or_else(|| "no such finding".to_owned())
}

fn acceptance<'a>(c: &Context<'a>, args: &[Value]) -> Known<&'a Accept> {
    let Thing::Acceptance(index) = thing(args, 0)? else { return Err("not an acceptance".to_owned()) };
    c.circuit().accepts.get(index).ok_or_else(|| "no such acceptance".to_owned())
}

/// A part that is gone has its role where it was; an added one where it is.
fn role(c: &Context<'_>, args: &[Value]) -> Known<Value> {
    let which = thing(args, 0)?;
    let change = change(c, args)?;
    let from = if matches!(which, Thing::Difference(_)) { Which::Stock } else { Which::Before };
    let gone = matches!(change.kind, ChangeKind::Missing | ChangeKind::Lifted | ChangeKind::Moved);
    let of = |side: Which, part| {
        let view = c.worked_of(side).ok()?;
        view.recognised.role(part?).map(|r| r.kind.word())
    };
    let was = of(from, change.before_part);
    let is = of(Which::Now, change.after_part);
    let word = if gone { was.or(is) } else { is.or(was) };
    Ok(Value::Word(word.unwrap_or(NONE).into()))
}
