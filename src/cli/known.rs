//! The list of known findings: read, compared, written anew. A file that is there and is no such list is left alone.

use std::fs;
use std::path::{Path, PathBuf};

use super::console::Console;
use super::input;
use super::options::{Counting, Knowing};
use super::replace::replace;
use super::stop::Stop;
use crate::analysis::Audit;
use crate::rules::{Known, Verdicts};

/// The files of known findings that a command was given, open.
pub(super) struct KnownFiles<'a> {
    compared: Option<(&'a Path, Known)>,
    written: Option<(&'a Path, Known)>,
}

impl<'a> KnownFiles<'a> {
    /// Reads what there is.
    pub(super) fn open(asked: &'a Knowing) -> Result<Self, Stop> {
        let read_at = |path: &'a PathBuf| read(path).map(|known| (path.as_path(), known));
        let compared = asked.known.as_ref().map(read_at).transpose()?;
        let or_new = |path: &'a PathBuf| {
            if path.exists() { read_at(path) } else { Ok((path.as_path(), Known::default())) }
        };
        let written = asked.write_known.as_ref().map(or_new).transpose()?;
        Ok(Self { compared, written })
    }

    /// Marks what the file has of a document, or notes what was found, as asked for.
    /// `whole` says that the document was judged in every state it has.
    pub(super) fn mark(&mut self, document: &str, verdicts: &mut Verdicts, whole: bool) {
        if let Some((path, known)) = &self.compared {
            known.compare(&name_beside(document, path), verdicts, whole);
        }
        if let Some((path, known)) = &mut self.written {
            let name = name_beside(document, path);
            known.note(&name, verdicts, whole);
            known.compare(&name, verdicts, whole);
        }
    }

    /// Writes what was noted.
    pub(super) fn write(self, console: &mut Console) -> Result<(), Stop> {
        self.written.map_or(Ok(()), |(path, known)| replace(path, &known.print(), console))
    }
}

/// The same for one document, of which some may have been judged alone.
pub(super) fn apply(
    asked: &Counting,
    document: &str,
    audit: &mut Audit,
    console: &mut Console,
) -> Result<(), Stop> {
    let mut files = KnownFiles::open(&asked.knowing)?;
    let whole = asked.condition.is_none() && audit.unsolved.is_empty();
    files.mark(document, &mut audit.verdicts, whole);
    files.write(console)
}

fn read(path: &Path) -> Result<Known, Stop> {
    let name = path.display().to_string();
    if fs::metadata(path).is_ok_and(|about| about.is_file() && about.len() == 0) {
        return Err(Stop::Failure(format!("{name} is empty: not a list of known findings")));
    }
    let text = input::text(&name).map_err(Stop::Failure)?;
    Known::parse(&text).map_err(|why| Stop::Failure(format!("{name}, {why}")))
}

/// A document's path from the folder of the file, so that the file stays true wherever the archive lies.
fn name_beside(document: &str, file: &Path) -> String {
    let folder = file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let relative = || {
        let (document, folder) = (fs::canonicalize(document).ok()?, fs::canonicalize(folder).ok()?);
        let parts = document.strip_prefix(folder).ok()?.iter();
        Some(parts.map(|part| part.to_string_lossy()).collect::<Vec<_>>().join("/"))
    };
    relative().unwrap_or_else(|| document.to_owned())
}
