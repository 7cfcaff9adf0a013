//! In which order the lines of two records go together.

use similar::{Algorithm, DiffOp, capture_diff_slices};

use super::facts::Item;

/// A line in its place.
pub(super) struct Placed<'a> {
    pub item: &'a Item<'a>,
    /// What the other side has in that place, where both changed it.
    pub across: &'a [Item<'a>],
}

/// The lines of all three in one order. Between lines that all three have, the side that is not as the base; where both
/// are not, the first's lines and then the second's.
pub(super) fn sequence<'a>([base, ours, theirs]: &'a [Vec<Item<'a>>; 3]) -> Vec<Placed<'a>> {
    let (in_ours, in_theirs) = (partners(base, ours), partners(base, theirs));
    let stable = (0..base.len()).filter_map(|at| Some([at, in_ours[at]?, in_theirs[at]?]));
    let mut sequence = Vec::new();
    let mut from = [0; 3];
    for to in stable.chain([[base.len(), ours.len(), theirs.len()]]) {
        let [b, o, t] = [(base, 0), (ours, 1), (theirs, 2)].map(|(items, side)| &items[from[side]..to[side]]);
        if same(t, b) {
            sequence.extend(placed(o, &[]));
        } else if same(o, b) || same(o, t) {
            sequence.extend(placed(t, &[]));
        } else {
            sequence.extend(placed(o, t).chain(placed(t, o)));
        }
        sequence.extend(base.get(to[0]).map(|item| Placed { item, across: &[] }));
        from = to.map(|at| at + 1);
    }
    sequence
}

fn placed<'a>(items: &'a [Item<'a>], across: &'a [Item<'a>]) -> impl Iterator<Item = Placed<'a>> {
    items.iter().map(move |item| Placed { item, across })
}

fn same(one: &[Item], other: &[Item]) -> bool {
    one.iter().map(|item| &item.whole).eq(other.iter().map(|item| &item.whole))
}

/// For each line of the base the same line in a record that grew out of it.
fn partners(base: &[Item], other: &[Item]) -> Vec<Option<usize>> {
    let [old, new] =
        [base, other].map(|items| items.iter().map(|item| item.whole.as_str()).collect::<Vec<_>>());
    let mut partners = vec![None; base.len()];
    // Lines only say where things go: any alignment is right, and Myers' is the usual one (E. W. Myers, 1986).
    for op in capture_diff_slices(Algorithm::Myers, &old, &new) {
        if let DiffOp::Equal { old_index, new_index, len } = op {
            for step in 0..len {
                partners[old_index + step] = Some(new_index + step);
            }
        }
    }
    partners
}
