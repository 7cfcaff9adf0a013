//! The order of names.

use std::cmp::Ordering;

/// Orders names as people do: `R9` before `R10`, letters without regard to case first.
pub fn natural(a: &str, b: &str) -> Ordering {
    let (mut x, mut y) = (a, b);
    loop {
        let (xt, xd, xr) = split(x);
        let (yt, yd, yr) = split(y);
        let order = small(xt).cmp(small(yt)).then_with(|| {
            let (xn, yn) = (xd.trim_start_matches('0'), yd.trim_start_matches('0'));
            xn.len().cmp(&yn.len()).then_with(|| xn.cmp(yn))
        });
        if order != Ordering::Equal {
            return order;
        }
        if xr.is_empty() || yr.is_empty() {
            return xr.len().cmp(&yr.len()).then_with(|| a.cmp(b));
        }
        (x, y) = (xr, yr);
    }
}

fn small(text: &str) -> impl Iterator<Item = char> {
    text.chars().flat_map(char::to_lowercase)
}

/// Text up to the first digit, the digits, and the rest.
fn split(text: &str) -> (&str, &str, &str) {
    let start = text.find(|c: char| c.is_ascii_digit()).unwrap_or(text.len());
    let (head, tail) = text.split_at(start);
    let end = tail.find(|c: char| !c.is_ascii_digit()).unwrap_or(tail.len());
    (head, &tail[..end], &tail[end..])
}
