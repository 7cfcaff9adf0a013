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
//! ([`sample`](crate::numeric::statistics::sample)): every draw is solved exactly; those without an operating point are counted.

mod spread;
mod vary;

pub(super) use spread::windows_near;
pub use spread::{Method, SectionSpread, Spread, Windows, monte_carlo, windows};
pub use vary::varied;
