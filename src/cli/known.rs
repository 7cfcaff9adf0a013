//! The file of known findings: read, compared, written anew.

use std::fs;
use std::path::Path;

use super::input;
use super::options::Counting;
use super::stop::Stop;
use crate::rules::{Known, Verdicts};

/// Marks what the file of known findings has of a document, or writes what was found into it, as asked for.
pub(super) fn apply(counting: &Counting, document: &str, verdicts: &mut Verdicts) -> Result<(), Stop> {
    if let Some(path) = &counting.known {
        read(path)?.compare(&name_beside(document, path), verdicts);
    }
    if let Some(path) = &counting.write_known {
        let mut known = if path.exists() { read(path)? } else { Known::default() };
        let name = name_beside(document, path);
        known.note(&name, verdicts);
        fs::write(path, known.print())
            .map_err(|why| Stop::Failure(format!("{} can't be written: {why}", path.display())))?;
        known.compare(&name, verdicts);
    }
    Ok(())
}

fn read(path: &Path) -> Result<Known, Stop> {
    let name = path.display().to_string();
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
