//! What the spread of parts and valves does to an operating point: sensitivities, windows, Monte Carlo.
//!
//! Conventions. A part lies anywhere within its tolerance with the same likelihood (uniform; asymmetric
//! tolerances as stated), a measured one anywhere within its meter's accuracy. A valve section's strength, the
//! scale of its plate and screen currents, is spread normally; the type's spread marks its 1 % and 99 % ends. So
//! is the screen current's recorded residual. All draws are independent: no sections are taken to be matched, not
//! the halves of one valve and not a pair. A window holds the value of 98 amplifiers of 100: 1 % lie below
//! it, 1 % above. The mains is not spread: its limits are conditions of their own.
//!
//! First order ([`windows`]): the slopes of every quantity, and the root of the sum of squares. Monte Carlo
//! ([`sample`]): every draw is solved exactly; those without an operating point are counted.

mod adjoint;
mod draw;
mod first_order;
mod monte_carlo;
mod quantity;
mod spread;
mod tail;
mod tangent;
mod vary;

pub use draw::Distribution;
pub use first_order::{FirstOrder, first_order};
pub use monte_carlo::{Sampled, Sampling, Statistic, sample};
pub use quantity::{Figure, Quantity};
pub use spread::{Method, SectionSpread, Spread, Windows, monte_carlo, windows};
pub use vary::{Change, Varied, varied};

/// Lowest and highest a quantity is expected to be: 1 % of amplifiers lie below, 1 % above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Within {
    /// The 1 % end.
    pub low: f64,
    /// The 99 % end.
    pub high: f64,
}

impl Within {
    /// The same where the quantity can't be negative.
    #[must_use]
    fn not_negative(self) -> Within {
        Within { low: self.low.max(0.0), high: self.high.max(0.0) }
    }

    /// The same of the quantity with its sign turned.
    #[must_use]
    fn turned(self) -> Within {
        Within { low: -self.high, high: -self.low }
    }

    /// The same over a divisor.
    #[must_use]
    pub fn over(self, divisor: f64) -> Within {
        Within { low: self.low / divisor, high: self.high / divisor }
    }
}
