//! All tests of the project that are not beside the code: one binary, one module a subject.

mod syntax;
mod fit_types;
mod type_fits;
mod reference_cases;
