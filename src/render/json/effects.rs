//! What changes did, as JSON.

use serde::Serialize;

use super::Figure;
use crate::change::{Cause, Change, Effect};

/// One effect.
#[derive(Debug, Serialize)]
pub struct EffectJson<'a> {
    quantity: &'static str,
    subject: &'a str,
    unit: &'static str,
    before: Option<Figure>,
    after: Option<Figure>,
    causes: Vec<CauseJson<'a>>,
}

/// Causes add up to after − before.
#[derive(Debug, Serialize)]
struct CauseJson<'a> {
    kind: &'static str,
    amount: Figure,
    members: Vec<MemberJson<'a>>,
}

#[derive(Debug, Serialize)]
struct MemberJson<'a> {
    changes: Vec<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    alone: Option<Figure>,
    #[serde(skip_serializing_if = "Option::is_none")]
    last: Option<Figure>,
}

/// Effects with their causes.
pub fn effects<'a>(effects: &'a [Effect], changes: &'a [Change]) -> Vec<EffectJson<'a>> {
    effects.iter().map(|e| effect(e, changes)).collect()
}

fn effect<'a>(effect: &'a Effect, changes: &'a [Change]) -> EffectJson<'a> {
    EffectJson {
        quantity: effect.quantity.word(),
        subject: &effect.subject,
        unit: effect.unit.sign(),
        before: effect.before.map(Figure),
        after: effect.after.map(Figure),
        causes: effect.causes.iter().map(|c| cause(c, changes)).collect(),
    }
}

fn cause<'a>(cause: &'a Cause, changes: &'a [Change]) -> CauseJson<'a> {
    let names = |bundle: &[usize]| bundle.iter().map(|i| changes[*i].subject.as_str()).collect();
    let (kind, members) = match cause {
        Cause::Share { changes, .. } => {
            ("share", vec![MemberJson { changes: names(changes), alone: None, last: None }])
        }
        Cause::Joint { members, .. } => {
            let member = |m: &'a crate::change::JointMember| MemberJson {
                changes: names(&m.changes),
                alone: m.alone.map(Figure),
                last: m.last.map(Figure),
            };
            ("joint", members.iter().map(member).collect())
        }
        Cause::Mutual { .. } => ("mutual", Vec::new()),
    };
    CauseJson { kind, amount: Figure(cause.amount()), members }
}
