//! Rule packs from files and folders, on top of the shipped rules.

use std::fs;
use std::path::{Path, PathBuf};

use super::input;
use super::stop::Stop;
use super::walk::Sought;
use crate::rules::{RuleSet, SHIPPED};
use crate::source::{FileId, Source, Sources, has_errors};

/// Rule files.
const RULES: Sought = Sought { end: "rule", called: "rules", deepest: 8 };

/// The shipped rules with the packs at these paths and those in the document's own folder.
pub(super) fn rules_for(paths: &[PathBuf], document: &str) -> Result<RuleSet, Stop> {
    let folder = Path::new(document).parent().unwrap_or(Path::new(""));
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    // A folder that can't be listed holds no rules to use; the document's own error tells.
    let entries = fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path());
    let mut beside: Vec<PathBuf> = entries.filter(|p| RULES.is(p) && p.is_file()).collect();
    beside.sort();
    beside.retain(|path| !paths.iter().any(|given| holds(given, path)));
    rules(&[paths, &beside].concat())
}

/// Whether a path given is a file or holds it.
fn holds(given: &Path, file: &Path) -> bool {
    match (fs::canonicalize(given), fs::canonicalize(file)) {
        (Ok(given), Ok(file)) => file.starts_with(given),
        _ => false,
    }
}

/// The shipped rules with the packs at these paths.
pub(super) fn rules(paths: &[PathBuf]) -> Result<RuleSet, Stop> {
    let shipped = RuleSet::shipped();
    if paths.is_empty() {
        return Ok(shipped);
    }
    let mut files = Vec::new();
    for path in paths {
        let found = RULES.at(path)?;
        if found.is_empty() {
            return Err(Stop::Failure(format!("there is no .{} file in {}", RULES.end, path.display())));
        }
        files.extend(found);
    }
    let mut sources = Sources::default();
    // Shipped rules keep the numbers they were read under.
    for (path, text) in SHIPPED {
        sources.add(Source::new(format!("rules/{path}"), *text));
    }
    let mut ids: Vec<FileId> = Vec::new();
    for path in &files {
        let name = path.display().to_string();
        let text = input::text(&name).map_err(Stop::Failure)?;
        ids.push(sources.add(Source::new(name, text)));
    }
    let texts: Vec<(FileId, &str)> = ids.iter().map(|id| (*id, sources.source(*id).text.as_str())).collect();
    let (rules, problems) = shipped.extended(&texts);
    if has_errors(&problems) {
        return Err(Stop::Problems(problems, Box::new(sources)));
    }
    Ok(rules)
}
