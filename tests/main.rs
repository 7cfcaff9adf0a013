//! All tests of the project that are not beside the code: one binary, one module a subject.

mod changes;
mod circuit;
mod cli;
mod decay;
mod examples;
mod fit_types;
mod gain;
mod gain_tables;
mod large_signal;
mod mutations;
mod readme;
mod recognise;
mod reference_cases;
mod response;
mod robust;
mod rules;
mod rules_proofs;
mod solver_broken;
mod solver_examples;
mod solver_properties;
mod supply;
mod supply_cases;
mod support;
mod syntax;
mod tolerance;
mod type_fits;
