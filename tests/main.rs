//! All tests of the project that are not beside the code: one binary, one module a subject.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

mod changes;
mod circuit;
mod cli;
mod examples;
mod fit_types;
mod readme;
mod recognise;
mod reference_cases;
mod robust;
mod rules;
mod rules_proofs;
mod solver_broken;
mod solver_examples;
mod solver_properties;
mod supply_cases;
mod support;
mod syntax;
mod tolerance;
mod type_fits;
