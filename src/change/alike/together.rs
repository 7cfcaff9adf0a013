//! Two parts in series or in parallel that make one part's value within its tolerance.
//!
//! ```text
//! First: R4 100k ± 10 % from a to b; second: R31 47k from a' to x, R32 56k from x to b', nothing else at x:
//! total      103k, within 90k … 110k: as good
//! joined     R31 takes R4's body and both ends, x and R32 go; told with the sum
//! not so     33k + 33k (66k is out of tolerance), or 100k with 1M beside it (itself, and one added)
//! ```

use std::collections::{BTreeMap, BTreeSet};

use super::equal::Equal;
use super::rename::Same;
use super::series::{member, names, seats};
use crate::circuit::draft::Draft;
use crate::circuit::{CHASSIS, NetId, Part, PartId};
use crate::model::Kind;
use crate::units::{Unit, exact, significant};

/// Two parts of one circuit that stand for one of the other.
struct Two {
    one: PartId,
    pair: [PartId; 2],
    series: bool,
}

/// Which net and which part of the other circuit is the same.
struct Partners {
    nets: BTreeMap<NetId, NetId>,
    parts: BTreeMap<PartId, PartId>,
    /// The other way round.
    back: BTreeMap<PartId, PartId>,
}

/// Makes one part of two where the other circuit has one that is as good; first in the second circuit, then in the
/// first.
pub(super) fn level_together(first: &mut Draft, second: &mut Draft, same: &mut Same) -> Vec<Equal> {
    let mut equal = Vec::new();
    let inverse =
        |parts: &BTreeMap<PartId, PartId>| parts.iter().map(|(b, a)| (*a, *b)).collect::<BTreeMap<_, _>>();
    let to_first =
        Partners { nets: same.nets.clone(), parts: same.parts.clone(), back: inverse(&same.parts) };
    for two in pairs(second, first, &to_first) {
        let Some(why) = told(second, first, &two) else { continue };
        equal.push(Equal { first: names(first, &[two.one]), second: names(second, &two.pair), why });
        let keep = join(second, first, &two, same.parts.get(&two.pair[1]) == Some(&two.one));
        same.pair(two.one, keep, vec![(0, 0), (1, 1)]);
    }
    let to_second = Partners {
        nets: same.nets.iter().map(|(m, n)| (*n, *m)).collect(),
        parts: inverse(&same.parts),
        back: same.parts.clone(),
    };
    for two in pairs(first, second, &to_second) {
        let Some(why) = told(first, second, &two) else { continue };
        equal.push(Equal { first: names(first, &two.pair), second: names(second, &[two.one]), why });
        let keep = join(first, second, &two, to_second.parts.get(&two.pair[1]) == Some(&two.one));
        same.pair(keep, two.one, vec![(0, 0), (1, 1)]);
    }
    equal
}

/// Pairs of parts in `many` of which at least one has no partner, and the part of `few` that they may stand for.
fn pairs(many: &Draft, few: &Draft, partners: &Partners) -> Vec<Two> {
    let (seats, others, own) = (seats(many), seats_by_ends(few), seats_by_ends(many));
    let lone = |at: usize| !partners.parts.contains_key(&many.parts[at].was);
    let mut found: Vec<Two> = Vec::new();
    let (mut stood, mut standing) = (BTreeSet::new(), BTreeSet::new());
    for at in (0..many.parts.len()).filter(|at| lone(*at) && adds(&many.parts[*at].part)) {
        let part = &many.parts[at].part;
        let (Some(a), Some(b)) = (part.legs[0].net, part.legs[1].net) else { continue };
        let like = |other: usize| {
            other != at && adds(&many.parts[other].part) && many.parts[other].part.kind == part.kind
        };
        // Beside each other they can only stand for a part that is alone in its place.
        let place = |a: &NetId, b: &NetId| (*a.min(b), *a.max(b), part.kind as u32);
        let across = || Some(place(partners.nets.get(&a)?, partners.nets.get(&b)?));
        let there = across().and_then(|place| others.get(&place)).filter(|there| there.len() == 1);
        let alone = there.is_some_and(|there| !stood.contains(&few.parts[there[0]].was));
        let beside = own.get(&place(&a, &b)).filter(|_| alone).into_iter().flatten().copied();
        let mut tried: Vec<(usize, bool, (NetId, NetId))> =
            beside.filter(|other| like(*other)).map(|other| (other, false, (a, b))).collect();
        for (meet, end) in [(a, b), (b, a)] {
            if let ([one, other], true) = (seats[meet.0 as usize].as_slice(), meet != CHASSIS) {
                let other = if one.0 == at { other.0 } else { one.0 };
                let legs = &many.parts[other].part.legs;
                if like(other) && !partners.nets.contains_key(&meet) {
                    let far = if legs[0].net == Some(meet) { legs[1].net } else { legs[0].net };
                    tried.extend(far.map(|far| (other, true, (end, far))));
                }
            }
        }
        for (other, series, (x, y)) in tried {
            let (Some(x), Some(y)) = (partners.nets.get(&x), partners.nets.get(&y)) else { continue };
            let pair = [many.parts[at].was, many.parts[other].was];
            let Some(one) = stood_for(few, &others, place(x, y), pair, partners) else { continue };
            if !stood.contains(&one) && !pair.iter().any(|id| standing.contains(id)) {
                stood.insert(one);
                standing.extend(pair);
                found.push(Two { one, pair, series });
            }
        }
    }
    found
}

/// The only part of its kind between two nets, if it has no partner but one of the pair.
fn stood_for(
    few: &Draft,
    others: &BTreeMap<(NetId, NetId, u32), Vec<usize>>,
    place: (NetId, NetId, u32),
    pair: [PartId; 2],
    partners: &Partners,
) -> Option<PartId> {
    let [only] = others.get(&place)?.as_slice() else { return None };
    let one = few.parts[*only].was;
    partners.back.get(&one).is_none_or(|own| pair.contains(own)).then_some(one)
}

/// Parts whose values add up.
fn adds(part: &Part) -> bool {
    matches!(part.kind, Kind::Resistor | Kind::Capacitor | Kind::Inductor) && member(part)
}

fn ends(part: &Part) -> Option<(NetId, NetId)> {
    let (a, b) = (part.legs[0].net?, part.legs[1].net?);
    Some((a.min(b), a.max(b)))
}

fn seats_by_ends(draft: &Draft) -> BTreeMap<(NetId, NetId, u32), Vec<usize>> {
    let mut seats: BTreeMap<(NetId, NetId, u32), Vec<usize>> = BTreeMap::new();
    for (index, part) in draft.parts.iter().enumerate().filter(|(_, part)| adds(&part.part)) {
        if let Some((a, b)) = ends(&part.part) {
            seats.entry((a, b, part.part.kind as u32)).or_default().push(index);
        }
    }
    seats
}

/// Why the two are as good as the one; nothing where they are not.
fn told(many: &Draft, few: &Draft, two: &Two) -> Option<String> {
    let one = &few.parts[few.find(two.one)?].part;
    let [a, b] = two.pair.map(|id| many.find(id).and_then(|at| many.parts[at].part.value()));
    let (a, b) = (a?, b?);
    // Resistors and inductors add in series, capacitors in parallel.
    let adds_up = two.series != (one.kind == Kind::Capacitor);
    let total = if adds_up { a + b } else { a * b / (a + b) };
    let (below, above, _) = one.tolerance();
    let nominal = one.component.body.value?;
    // The part itself with another beside it is a part added.
    let itself = [a, b].contains(&nominal);
    let good = !itself && total >= nominal * (1.0 - below) && total <= nominal * (1.0 + above);
    let unit = one.kind.unit().unwrap_or(Unit::Ratio);
    let shown = |value: f64| exact(significant(value, 4), unit);
    let how = if two.series { "in series" } else { "in parallel" };
    good.then(|| format!("{how} {}, within the tolerance of {}", shown(total), shown(nominal)))
}

/// Puts one part, with the other circuit's body, in the place of two. Gives which of them it is.
fn join(many: &mut Draft, few: &Draft, two: &Two, last: bool) -> PartId {
    let [keep, gone] = if last { [two.pair[1], two.pair[0]] } else { two.pair };
    let (Some(kept), Some(left), Some(one)) = (many.find(keep), many.find(gone), few.find(two.one)) else {
        return keep;
    };
    if two.series {
        let ends = |at: usize| [0, 1].map(|leg: usize| many.parts[at].part.legs[leg].net);
        let (own, other) = (ends(kept), ends(left));
        let meet = own.into_iter().find(|net| other.contains(net)).flatten();
        let far = other.into_iter().find(|net| *net != meet).flatten();
        for leg in &mut many.parts[kept].part.legs {
            if leg.net == meet {
                leg.net = far;
                leg.home = far.unwrap_or(leg.home);
            }
        }
    }
    let part = &mut many.parts[kept].part;
    part.component.body.clone_from(&few.parts[one].part.component.body);
    part.component.measured = few.parts[one].part.component.measured;
    many.parts.remove(left);
    keep
}
