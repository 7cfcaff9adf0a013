//! Local repair in passes, until none makes the list of changes cheaper.

use super::mend::{exchange, revote};
use super::pairing::{Pairing, Two};
use super::stretch::exchange_stretches;

/// Passes over what differs; each makes the whole cheaper or is the last.
const PASSES: usize = 6;

/// Exchanges partners until no exchange of two is cheaper, lays the nets over each other anew, and
/// tries to exchange whole stretches.
pub(super) fn mend(two: Two, pairing: &mut Pairing) {
    // Nets follow parts and parts follow nets: each pass starts from what the other has settled.
    for _ in 0..PASSES {
        let nets = revote(two, pairing);
        let parts = exchange(two, pairing);
        let both = exchange_stretches(two, pairing);
        if !nets && !parts && !both {
            return;
        }
    }
}
