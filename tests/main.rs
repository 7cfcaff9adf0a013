//! All tests of the project that are not beside the code: one binary, one module a subject.

mod rules;
