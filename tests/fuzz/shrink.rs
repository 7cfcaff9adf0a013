//! The smallest text that fails as a case does.

use std::path::Path;

use crate::case::Case;

/// Most attempts.
const ATTEMPTS: usize = 600;

/// The case in words, with its first file as small as cutting out stretches makes it.
pub(crate) fn smallest(mut case: Case, why: &str, folder: &Path) -> String {
    let kind = |why: &str| why.split(':').next().unwrap_or_default().to_owned();
    let mut left = ATTEMPTS;
    for split in [b'\n', b' '] {
        let mut pieces: Vec<Vec<u8>> = case.files[0].1.split(|b| *b == split).map(<[u8]>::to_vec).collect();
        let mut stretch = pieces.len() / 2;
        while stretch > 0 && left > 0 {
            let mut at = 0;
            while at < pieces.len() && left > 0 {
                left -= 1;
                let end = (at + stretch).min(pieces.len());
                let fewer = [&pieces[..at], &pieces[end..]].concat();
                let mut smaller = case.clone();
                smaller.files[0].1 = fewer.join(&split);
                if smaller.run(folder).err().is_some_and(|other| kind(&other) == kind(why)) {
                    (case, pieces) = (smaller, fewer);
                } else {
                    at = end;
                }
            }
            stretch /= 2;
        }
    }
    case.told()
}
