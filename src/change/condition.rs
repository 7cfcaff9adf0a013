//! What was found of a part that stays: drift, leakage, shorts.

use super::ChangeKind;
use super::named::drifted;
use super::patch::Edit;
use crate::change::comparing::Comparing;
use crate::circuit::{Part, PartId, describe};

impl Comparing<'_> {
    /// Drift, leakage, short.
    pub(super) fn condition(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        if old.component.measured != new.component.measured
            && (drifted(old).is_some() || drifted(new).is_some())
        {
            let kind = if drifted(new).is_some() { ChangeKind::Drifted } else { ChangeKind::Restored };
            let mut change = self.part_change(kind, (Some(a), Some(b)));
            let shown = |p: &Part| match p.component.measured {
                Some(value) => describe::measured(p, value),
                None => describe::body(p.kind, &p.component.body),
            };
            (change.before, change.after) = (shown(old), shown(new));
            self.push(change, vec![Edit::Measured(b)]);
        }
        if old.component.leak != new.component.leak {
            let kind = if new.component.leak.is_some() { ChangeKind::Leaky } else { ChangeKind::Restored };
            let mut change = self.part_change(kind, (Some(a), Some(b)));
            let shown = |p: &Part| match p.component.leak {
                Some(leak) => describe::leaks(leak),
                None => "does not leak".into(),
            };
            (change.before, change.after) = (shown(old), shown(new));
            self.push(change, vec![Edit::Leak(b)]);
        }
        if old.component.shorted != new.component.shorted {
            let kind = if new.component.shorted { ChangeKind::Shorted } else { ChangeKind::Restored };
            let mut change = self.part_change(kind, (Some(a), Some(b)));
            let shown = |p: &Part| {
                if p.component.shorted {
                    "conducts".into()
                } else {
                    describe::body(p.kind, &p.component.body)
                }
            };
            (change.before, change.after) = (shown(old), shown(new));
            self.push(change, vec![Edit::Short(b)]);
        }
        self.strays(a, b);
    }

    /// Paths inside, each by itself.
    fn strays(&mut self, a: PartId, b: PartId) {
        let (old, new) = (self.before.circuit.part(a), self.after.circuit.part(b));
        let (was, is) = (&old.component.strays, &new.component.strays);
        let come = is.iter().filter(|stray| !was.contains(stray)).map(|stray| (stray, true));
        let gone = was.iter().filter(|stray| !is.contains(stray)).map(|stray| (stray, false));
        for (stray, there) in come.chain(gone) {
            let kind = match (there, stray.leak) {
                (false, _) => ChangeKind::Restored,
                (true, Some(_)) => ChangeKind::Leaky,
                (true, None) => ChangeKind::Shorted,
            };
            let mut change = self.part_change(kind, (Some(a), Some(b)));
            let (sound, faulty) = describe::stray(new, stray);
            (change.before, change.after) = if there { (sound, faulty) } else { (faulty, sound) };
            self.push(change, vec![Edit::Stray(b, stray.clone())]);
        }
    }
}
