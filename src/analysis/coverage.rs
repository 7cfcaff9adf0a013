//! What has been looked at, and what has not yet.

use crate::circuit::{Circuit, PartId};
use crate::model::RoleKind;
use crate::recognise::Recognised;

/// How far the looking has come in the top document.
#[derive(Debug, Clone)]
pub struct Coverage {
    /// Parts looked at.
    pub looked_at: usize,
    /// Parts in all.
    pub parts: usize,
    /// Parts not yet looked at, by stage in signal order, then those that serve no one stage.
    pub groups: Vec<Unseen>,
}

/// Parts of one stage that nobody has looked at.
#[derive(Debug, Clone)]
pub struct Unseen {
    /// The stage, or "no one stage".
    pub stage: String,
    /// Parts by role, both in their order.
    pub by_role: Vec<(String, Vec<PartId>)>,
}

/// Groups what was not looked at.
pub fn coverage(circuit: &Circuit, recognised: &Recognised) -> Coverage {
    let unseen: Vec<PartId> = circuit.part_ids().filter(|id| !circuit.part(*id).looked_at).collect();
    let mut groups = Vec::new();
    for (index, stage) in recognised.stages.iter().enumerate() {
        push(&mut groups, stage.name.clone(), circuit, recognised, &unseen, Some(index));
    }
    push(&mut groups, "no one stage".into(), circuit, recognised, &unseen, None);
    Coverage { looked_at: circuit.parts.len() - unseen.len(), parts: circuit.parts.len(), groups }
}

fn push(
    groups: &mut Vec<Unseen>,
    stage: String,
    circuit: &Circuit,
    recognised: &Recognised,
    unseen: &[PartId],
    index: Option<usize>,
) {
    let stage_of = |id: &PartId| recognised.roles.get(id).and_then(|role| role.stage);
    let mut by_role: Vec<(Option<RoleKind>, String, Vec<PartId>)> = Vec::new();
    for id in unseen.iter().filter(|id| stage_of(id) == index) {
        let kind = recognised.roles.get(id).map(|role| role.kind);
        let word = kind.map_or_else(|| circuit.part(*id).kind.word().replace('-', " "), RoleKind::phrase);
        match by_role.iter_mut().find(|(k, w, _)| *k == kind && *w == word) {
            Some((.., parts)) => parts.push(*id),
            None => by_role.push((kind, word, vec![*id])),
        }
    }
    by_role.sort_by(|a, b| (a.0.is_none(), a.0, &a.1).cmp(&(b.0.is_none(), b.0, &b.1)));
    if !by_role.is_empty() {
        groups.push(Unseen { stage, by_role: by_role.into_iter().map(|(_, w, p)| (w, p)).collect() });
    }
}
