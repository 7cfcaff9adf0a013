//! How values are spread, and the draws from it: each from its name, the seed and the sample's number alone.

use libm::{log, sqrt};

/// The 99 % point of the standard normal distribution.
pub const NINETY_NINE: f64 = 2.326_347_874_040_841;

/// The least factor drawn: no value vanishes or turns negative, however wide its spread.
// A normal spread has no end: a valve of ±80 % would else have a negative current in one draw of some five hundred.
const LEAST_FACTOR: f64 = 0.01;

/// How a value lies about its nominal one, as a share of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Distribution {
    /// Anywhere from `1 − below` to `1 + above` with the same likelihood.
    Uniform {
        /// Share below.
        below: f64,
        /// Share above.
        above: f64,
    },
    /// Normal about 1, with 1 % of all below `1 − ends` and 1 % above `1 + ends`.
    Normal {
        /// Share either way.
        ends: f64,
    },
}

impl Distribution {
    /// The factor at a share of all values: `at(0.5)` is the median.
    pub fn at(self, share: f64) -> f64 {
        let factor = match self {
            Distribution::Uniform { below, above } => 1.0 - below + share * (below + above),
            Distribution::Normal { ends } => 1.0 + ends / NINETY_NINE * normal(share),
        };
        factor.max(LEAST_FACTOR)
    }

    /// Mean of the deviation from the nominal value.
    pub fn mean(self) -> f64 {
        match self {
            Distribution::Uniform { below, above } => f64::midpoint(above, -below),
            Distribution::Normal { .. } => 0.0,
        }
    }

    /// Variance.
    pub fn variance(self) -> f64 {
        match self {
            Distribution::Uniform { below, above } => (below + above) * (below + above) / 12.0,
            Distribution::Normal { ends } => (ends / NINETY_NINE) * (ends / NINETY_NINE),
        }
    }

    /// Fourth cumulant: what makes a sum of few uniform values end earlier than a normal one.
    pub fn fourth(self) -> f64 {
        match self {
            Distribution::Uniform { below, above } => {
                let squared = (below + above) * (below + above);
                // κ₄ of a uniform width w: −w⁴/120 (κ₂ = w²/12, excess kurtosis −6/5); textbook, from memory.
                -squared * squared / 120.0
            }
            Distribution::Normal { .. } => 0.0,
        }
    }

    /// The most that a uniform value deviates from its mean; 0 for a normal one.
    pub fn reach(self) -> f64 {
        match self {
            Distribution::Uniform { below, above } => f64::midpoint(below, above),
            Distribution::Normal { .. } => 0.0,
        }
    }
}

/// An endless row of numbers between 0 and 1, of which any can be had without those before it.
///
/// G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014: the
/// generator's state is a counter, so that the n-th number is a function of n.
#[derive(Debug, Clone, Copy)]
pub struct Stream {
    start: u64,
}

impl Stream {
    /// The row of a name: the same wherever the name stands among others.
    pub fn new(seed: u64, name: &str) -> Stream {
        // FNV-1a, 64 bits.
        let step = |hash: u64, byte: u8| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        let key = name.bytes().fold(0xcbf2_9ce4_8422_2325, step);
        // Seeds are small numbers: mixed first, or seeds 1 and 2 would differ in two bits of every key.
        Stream { start: mixed(key ^ mixed(seed)) }
    }

    /// The number at a place, between 0 and 1 without either.
    pub fn at(self, place: u64) -> f64 {
        // 2⁶⁴ over the golden ratio, odd: steps that never come near each other for long.
        let counter = self.start.wrapping_add((place + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        // 53 bits, and half a step up: neither 0 nor 1, at which the normal's inverse has no value.
        ((mixed(counter) >> 11) as f64 + 0.5) * (1.0 / (1_u64 << 53) as f64)
    }
}

/// `SplitMix64`'s finisher (constants of D. Stafford's mix 13, from memory).
fn mixed(mut bits: u64) -> u64 {
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^ (bits >> 31)
}

/// The standard normal's value at a share, to about 1.2e-9 of it: P. J. Acklam's rational approximations (from
/// memory), far closer than any spread is known.
pub fn normal(share: f64) -> f64 {
    const TAIL: f64 = 0.024_25;
    let tail = |share: f64| {
        let q = sqrt(-2.0 * log(share));
        let c = [
            -7.784_894_002_430_293e-3,
            -3.223_964_580_411_365e-1,
            -2.400_758_277_161_838,
            -2.549_732_539_343_734,
            4.374_664_141_464_968,
            2.938_163_982_698_783,
        ];
        let d = [
            7.784_695_709_041_462e-3,
            3.224_671_290_700_398e-1,
            2.445_134_137_142_996,
            3.754_408_661_907_416,
            1.0,
        ];
        polynomial(&c, q) / polynomial(&d, q)
    };
    if share < TAIL {
        return tail(share);
    }
    if share > 1.0 - TAIL {
        return -tail(1.0 - share);
    }
    let q = share - 0.5;
    let a = [
        -3.969_683_028_665_376e1,
        2.209_460_984_245_205e2,
        -2.759_285_104_469_687e2,
        1.383_577_518_672_69e2,
        -3.066_479_806_614_716e1,
        2.506_628_277_459_239,
    ];
    let b = [
        -5.447_609_879_822_406e1,
        1.615_858_368_580_409e2,
        -1.556_989_798_598_866e2,
        6.680_131_188_771_972e1,
        -1.328_068_155_288_572e1,
        1.0,
    ];
    polynomial(&a, q * q) * q / polynomial(&b, q * q)
}

fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().fold(0.0, |sum, c| sum * x + c)
}
