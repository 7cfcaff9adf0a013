//! The `asfound` command: see [`asfound::cli`].

use std::process::ExitCode;

use asfound::cli::{self, Console};

fn main() -> ExitCode {
    let mut out = anstream::stdout().lock();
    let mut err = anstream::stderr().lock();
    let width = terminal_size::terminal_size_of(std::io::stdout()).map(|(width, _)| usize::from(width.0));
    ExitCode::from(cli::run(std::env::args_os(), &mut Console::new(&mut out, &mut err, width)))
}
