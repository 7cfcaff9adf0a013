//! Files of one kind in folders and those within them.

use std::fs;
use std::path::{Path, PathBuf};

use super::stop::Stop;

/// A kind of file, and how far down it is looked for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sought {
    /// The end of its name: `rule`.
    pub end: &'static str,
    /// What they are called: "rules".
    pub called: &'static str,
    /// Deepest folder within a folder.
    pub deepest: usize,
}

impl Sought {
    /// Whether a file's name has the end.
    pub(super) fn is(self, path: &Path) -> bool {
        path.extension().is_some_and(|end| end == self.end)
    }

    /// A file that is named, whatever its end; of a folder all of the kind, and of those within it, in order of names.
    pub(super) fn at(self, path: &Path) -> Result<Vec<PathBuf>, Stop> {
        let mut found = Vec::new();
        self.collect(path, 0, &mut found)?;
        Ok(found)
    }

    fn collect(self, path: &Path, depth: usize, found: &mut Vec<PathBuf>) -> Result<(), Stop> {
        if !path.is_dir() {
            found.push(path.to_owned());
            return Ok(());
        }
        let unreadable =
            |why: std::io::Error| Stop::Failure(format!("{} can't be read: {why}", path.display()));
        if depth > self.deepest {
            let words = format!("{} lies too deep for a folder of {}", path.display(), self.called);
            return Err(Stop::Failure(words));
        }
        let mut entries: Vec<PathBuf> = Vec::new();
        for entry in fs::read_dir(path).map_err(unreadable)? {
            entries.push(entry.map_err(unreadable)?.path());
        }
        entries.sort();
        for entry in entries {
            if entry.is_dir() {
                self.collect(&entry, depth + 1, found)?;
            } else if self.is(&entry) {
                found.push(entry);
            }
        }
        Ok(())
    }
}
