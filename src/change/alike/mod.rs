//! Two circuits that have nothing in common but what they are: which part of one is which of the other. The second is
//! then renamed into the first's names, and all that compares by name works on the two.
//!
//! **Cost.** The best list of changes is the one that costs least: 2 for another body in the same place (value, type,
//! rating, condition), 2 for a leg elsewhere, a part turned round, a net cut or bridged; 1 for a control that stands
//! elsewhere; for a part out or in as much as it has legs, at least 2. So a resistor with another value in another
//! place is another resistor, and a valve with some legs moved is still that valve. What is electrically the same
//! costs nothing.
//!
//! **Way.** `sketch` makes of each circuit what matters: looks of parts, legs by class, what wires join as one net.
//! `colour` refines; `anchor` pairs what is one of its kind and follows it from place to place; `loose` pairs nets
//! by votes, equals in their order, and parts that differ but sit in the same place; `search` says in which order.
//! `mend` then exchanges partners, and `stretch` short stretches, while that is cheaper. `rename` turns it into names; `wires`, `together` and
//! `series` level what is told otherwise and is the same. `bound` counts, without any matching, what no list of
//! changes can cost less than: where the list found costs that, there is none shorter.
//!
//! **Order.** Parts are taken in natural order of their names, so the order of statements makes no difference. Where
//! equals could be taken in more than one way they are paired in that order, and the set is told.

mod anchor;
mod bound;
mod colour;
mod cost;
mod equal;
mod loose;
mod mend;
mod mix;
mod pairing;
mod rename;
mod repair;
mod search;
mod series;
mod sketch;
mod stretch;
mod together;
mod wires;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::change::correspond::of_one_name;
use crate::change::named::compare_over;
use crate::change::{Change, ChangeKind, Comparison, Side};
use crate::circuit::draft::Draft;
use crate::circuit::{Circuit, Part, PartId};
use crate::recognise::Recognised;

pub use cost::cost;
pub use equal::Equal;
pub use rename::SECOND;

/// Two circuits laid over each other.
#[derive(Debug)]
pub struct Alike {
    /// The first circuit.
    pub before: Circuit,
    /// The second, in the first one's names.
    pub after: Circuit,
    /// Parts by their names in both.
    pub names: Vec<(String, String)>,
    /// What is told otherwise and is the same.
    pub equal: Vec<Equal>,
    /// Sets of parts of the first circuit that could be taken in another way as well.
    pub interchangeable: Vec<Vec<String>>,
    /// No list of changes between the two costs less.
    pub least: u32,
}

impl Alike {
    /// What a list of changes between the two costs.
    pub fn cost(&self, changes: &[Change]) -> u32 {
        changes.iter().map(|change| cost(change, &self.before, &self.after)).sum()
    }

    /// The changes between the two, under the names of both: `R4 ≙ R102`.
    pub fn compare(&self, recognised: [&Recognised; 2]) -> Comparison {
        let [first, second] = recognised;
        let before = Side { circuit: &self.before, recognised: first };
        let after = Side { circuit: &self.after, recognised: second };
        let mut comparison = compare_over(before, after, of_one_name(&self.before, &self.after));
        // Whether a part was ever exchanged for its like is the story of one telling, no difference of the two.
        comparison.changes.retain(|change| change.kind != ChangeKind::Replaced);
        let names: BTreeMap<&str, &str> =
            self.names.iter().filter(|(a, b)| a != b).map(|(a, b)| (a.as_str(), b.as_str())).collect();
        for change in &mut comparison.changes {
            let part = change.before_part.map(|id| self.before.part(id).name.as_str());
            if let Some(other) = part.and_then(|name| names.get(name)) {
                change.subject = format!("{} ≙ {other}", change.subject);
            } else if part.is_none() && change.after_part.is_some() {
                // Alone in the second circuit, it keeps its own name.
                change.subject = change.subject.trim_end_matches(SECOND).to_owned();
            }
        }
        comparison
    }
}

/// Whether the designators of two circuits plainly don't correspond: of the parts of the smaller less than half have a
/// namesake of their kind and value in the other.
pub fn strangers(before: &Circuit, after: &Circuit) -> bool {
    let fitted = |circuit: &Circuit| circuit.parts.iter().filter(|part| part.fitted()).count();
    let namesake = |part: &&Arc<Part>| {
        let other = after.find(&part.name).map(|id| after.part(id));
        other.is_some_and(|o| {
            (o.kind, o.component.body.value, &o.component.body.type_name)
                == (part.kind, part.component.body.value, &part.component.body.type_name)
        })
    };
    let known = before.parts.iter().filter(|part| part.fitted()).filter(namesake).count();
    // Half: two revisions of one amplifier share most designators, two drawings of it by chance some, R1 and V1 first
    // of all.
    2 * known < fitted(before).min(fitted(after))
}

/// Lays two complete circuits over each other by what they are, not by what their parts are called.
pub fn alike(before: &Circuit, after: &Circuit) -> Alike {
    // Both through the same drawing, or what the drafts settle would show as a difference.
    let first = before.redrawn(Draft::of(before));
    let (a, b) = (sketch::sketch(&first), sketch::sketch(after));
    let two = pairing::Two { a: &a, b: &b };
    let found = search::search(two);
    let mut same = rename::same(two, &found.pairing, &first, after);
    let (mut one, mut other) = (Draft::of(&first), Draft::of(after));
    let mut equal = wires::level_wires(two, &found.pairing, (&mut one, &mut other), &mut same);
    equal.extend(together::level_together(&mut one, &mut other, &mut same));
    equal.extend(series::level_series(&one, &mut other, &mut same));
    equal.extend(equal::halves(&first, after, &same));
    rename::rename(&first, &mut other, &same);
    let (levelled, second) = (first.redrawn(one), after.redrawn(other));
    // After levelling: what is told otherwise only must not count into the bound.
    let least = bound::least(&levelled, &second);
    let name = |part: &u32| first.part(a.parts[*part as usize].id).name.clone();
    let mut names: Vec<(PartId, PartId)> = same.parts.iter().map(|(b, a)| (*a, *b)).collect();
    names.sort();
    let names = names.into_iter().map(|(x, y)| (first.part(x).name.clone(), after.part(y).name.clone()));
    Alike {
        names: names.collect(),
        interchangeable: found.equals.iter().map(|set| set.iter().map(name).collect()).collect(),
        before: levelled,
        after: second,
        equal,
        least,
    }
}
