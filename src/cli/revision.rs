//! Documents as version control has them, and as an external diff driver is given them.

use std::path::Path;
use std::process::{Command, Stdio};

use super::input::{self, Opened};
use super::stop::Stop;
use crate::source::Sources;

/// Opens a document and all it rests on as they stood in a revision.
pub(super) fn open_at(sources: Sources, revision: &str, path: &str) -> Result<Opened, Stop> {
    // What git would take for an option is no revision.
    if revision.starts_with('-') || revision.contains(':') {
        return Err(Stop::Failure(format!("`{revision}` is no revision")));
    }
    Opened::by(sources, path, &mut |path| text_at(revision, path))
}

/// The text of a file in a revision; the error is one sentence.
fn text_at(revision: &str, path: &str) -> Result<String, String> {
    let path = Path::new(path);
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let mut shown = Command::new("git")
        .arg("-C")
        .arg(folder)
        .args(["show", &format!("{revision}:./{name}")])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|why| format!("git can't be run: {why}"))?;
    let bytes =
        shown.stdout.take().map_or(Ok(Vec::new()), |out| input::limited(&path.to_string_lossy(), out));
    let ended = shown.wait_with_output().map_err(|why| format!("git can't be run: {why}"))?;
    // What is too long is not read to its end, so that git fails too: the length is the reason.
    let bytes = bytes?;
    if !ended.status.success() {
        let why = String::from_utf8_lossy(&ended.stderr);
        let why = why.lines().next().unwrap_or("git says nothing").trim_start_matches("fatal: ");
        return Err(format!("{} can't be had from revision {revision}: {why}", path.display()));
    }
    String::from_utf8(bytes).map_err(|_| format!("{} in {revision} is not UTF-8 text", path.display()))
}
