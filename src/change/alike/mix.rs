//! Colours: 64-bit numbers that stand for what is known of a part or net. The same on every machine and every run.

/// One number out of two, order told apart.
pub(super) fn mix(a: u64, b: u64) -> u64 {
    let mut x = a.rotate_left(25) ^ b.wrapping_add(0x9e37_79b9_7f4a_7c15);
    // The finishing steps of a well-known 64-bit mixer (Steele, Lea, Flood 2014).
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    (x ^ (x >> 31)).wrapping_add(a.wrapping_mul(0x2545_f491_4f6c_dd1d))
}

/// A text's number; letters without regard to case.
pub(super) fn mix_text(text: &str) -> u64 {
    text.bytes().fold(17, |seed, byte| mix(seed, u64::from(byte.to_ascii_lowercase())))
}
