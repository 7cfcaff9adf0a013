//! All tests of the project that are not beside the code: one binary, one module a subject.

mod fit_types;
mod recognise;
mod reference_cases;
mod solver_broken;
mod solver_examples;
mod solver_properties;
mod syntax;
mod type_fits;
