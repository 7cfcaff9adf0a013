//! All tests of the project that are not beside the code: one binary, one module a subject.

mod fit_types;
mod reference_cases;
mod syntax;
mod type_fits;
