//! What the spread of values does to an operating point: slopes (`tangent`, `adjoint`), first order, Monte Carlo.

pub(crate) mod adjoint;
pub mod draw;
pub(crate) mod first_order;
pub(crate) mod monte_carlo;
pub mod quantile;
pub(crate) mod quantity;
pub(crate) mod tangent;
mod varied;

pub use draw::Distribution;
pub use first_order::{FirstOrder, first_order};
pub use monte_carlo::{Sampled, Sampling, Statistic, sample};
pub use quantity::{Figure, Quantity};
pub use varied::{Change, Varied};

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
    pub(crate) fn not_negative(self) -> Within {
        Within { low: self.low.max(0.0), high: self.high.max(0.0) }
    }

    /// The same of the quantity with its sign turned.
    #[must_use]
    pub(crate) fn turned(self) -> Within {
        Within { low: -self.high, high: -self.low }
    }

    /// The same over a divisor.
    #[must_use]
    pub fn over(self, divisor: f64) -> Within {
        Within { low: self.low / divisor, high: self.high / divisor }
    }
}
