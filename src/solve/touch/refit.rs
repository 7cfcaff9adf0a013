//! The amplifier as it is when what was pulled out of it is in again: whoever finds a valve or a fuse missing plugs one in.

use std::borrow::Cow;
use std::sync::Arc;

use crate::circuit::{Circuit, LegId, Part, PartId, State};
use crate::model::Kind;

/// Whether it is pulled, and what it feeds or cuts off is silent without it.
fn pulled(part: &Part) -> bool {
    let feeds = matches!(
        part.kind,
        Kind::Tube | Kind::Fuse | Kind::Lamp | Kind::Diode | Kind::Bridge | Kind::MainsTransformer
    );
    feeds && matches!(part.state, State::Missing { .. })
}

/// The circuit with all that was pulled in its joints, and the names of these parts.
pub(super) fn refit(circuit: &Circuit) -> (Cow<'_, Circuit>, Vec<String>) {
    let out: Vec<PartId> = circuit.part_ids().filter(|id| pulled(circuit.part(*id))).collect();
    if out.is_empty() {
        return (Cow::Borrowed(circuit), Vec::new());
    }
    let mut whole = circuit.clone();
    for id in &out {
        let part = whole.part_mut(*id);
        part.state = State::Fitted;
        part.legs.iter_mut().for_each(|leg| leg.net = Some(leg.home));
        let nets = Arc::make_mut(&mut whole.nets);
        for (index, leg) in circuit.part(*id).legs.iter().enumerate() {
            nets[leg.home.0 as usize].legs.push(LegId { part: *id, leg: index as u32 });
        }
    }
    let names = out.iter().map(|id| circuit.part(*id).name.clone()).collect();
    (Cow::Owned(whole), names)
}
