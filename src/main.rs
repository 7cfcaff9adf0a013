//! The `asfound` command: see [`asfound::cli`].

use std::process::ExitCode;

use asfound::cli::{self, Console};

fn main() -> ExitCode {
    let mut out = anstream::stdout().lock();
    let mut err = anstream::stderr().lock();
    let width = terminal_size::terminal_size_of(std::io::stdout()).map(|(width, _)| usize::from(width.0));
    // A shell tells what it pipes to how wide its terminal is.
    let told = || std::env::var("COLUMNS").ok()?.parse().ok();
    let width = width.or_else(told);
    ExitCode::from(cli::run(std::env::args_os(), &mut Console::new(&mut out, &mut err, width)))
}
