//! `asfound`: what is really in this valve amplifier, what was changed, and what each change does.
//!
//! ```text
//! text ─syntax─▶ document ─circuit─▶ circuit ─recognise─▶ rails, roles, stages
//!                                      │  │
//!                          two circuits│  └─solve─▶ operating points per condition
//!                                      ▼              │
//!                                   changes ─effects──┤
//!                                                     ▼
//!                             rule files ─rules─▶ findings ─render─▶ text · JSON
//! ```
//!
//! Each arrow is one folder, a plain function from values to values. Only [`cli`] touches files,
//! the terminal and the environment.

pub mod model;
pub mod source;
pub mod units;

pub mod analysis;
pub mod change;
pub mod circuit;
pub mod cli;
pub mod load;
pub mod numeric;
pub mod recognise;
pub mod render;
pub mod rules;
pub mod solve;
pub mod syntax;
