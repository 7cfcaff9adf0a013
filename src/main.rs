//! The `asfound` command: see [`asfound::cli`].
fn main() {}
