//! Where text goes.

use std::io::{self, Write};

use super::reach::Reach;

/// Columns where the output is no terminal.
const USUAL_WIDTH: usize = 100;

/// The two outputs and the width of the first.
pub struct Console<'a> {
    out: &'a mut dyn Write,
    err: &'a mut dyn Write,
    /// Columns to wrap at.
    pub(super) width: usize,
    /// How far from a document lies what it may name.
    pub(super) reach: Reach,
}

impl<'a> Console<'a> {
    /// Outputs that take ANSI colours (and strip them where they are not wanted); `width` of a terminal.
    pub fn new(out: &'a mut dyn Write, err: &'a mut dyn Write, width: Option<usize>) -> Console<'a> {
        Console { out, err, width: width.unwrap_or(USUAL_WIDTH), reach: Reach::default() }
    }

    /// Writes what was asked for.
    pub(super) fn say(&mut self, text: &str) -> io::Result<()> {
        self.out.write_all(text.as_bytes())?;
        self.out.flush()
    }

    /// Writes what is wrong.
    pub(super) fn complain(&mut self, text: &str) -> io::Result<()> {
        self.err.write_all(text.as_bytes())?;
        self.err.flush()
    }
}
