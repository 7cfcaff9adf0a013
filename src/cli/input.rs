//! Documents from files.

use std::fs::{self, File, Metadata};
use std::io::{ErrorKind, Read};

use super::reach::Reach;
use super::stop::Stop;
use crate::analysis;
use crate::circuit::Circuit;
use crate::load::{LONGEST_DOCUMENT, Loaded, load_beside, too_long, too_many_lines};
use crate::render::json;
use crate::source::{Problem, Sources};

/// A document and all it rests on, read and built.
pub(super) struct Opened {
    /// The texts.
    pub loaded: Loaded,
    /// A circuit for each document of the stack.
    pub circuits: Vec<Circuit>,
    /// What did not stop it.
    pub notices: Vec<Problem>,
}

impl Opened {
    /// Opens a document.
    pub(super) fn open(path: &str, reach: Reach) -> Result<Opened, Stop> {
        Opened::beside(Sources::default(), path, reach)
    }

    /// Opens a document beside texts already read.
    pub(super) fn beside(sources: Sources, path: &str, reach: Reach) -> Result<Opened, Stop> {
        Opened::by(sources, path, &mut reach.reader(path))
    }

    /// The same with texts from elsewhere than their paths.
    pub(super) fn by(
        sources: Sources,
        path: &str,
        read: &mut dyn FnMut(&str) -> Result<String, String>,
    ) -> Result<Opened, Stop> {
        let loaded = load_beside(sources, path, read).map_err(Stop::Failure)?;
        match analysis::circuits(&loaded) {
            Ok((circuits, notices)) => Ok(Opened { loaded, circuits, notices }),
            Err(problems) => Err(Stop::Problems(problems, Box::new(loaded.sources))),
        }
    }

    /// The documents with their paths, the stock spec first.
    pub(super) fn stack(&self) -> Vec<(&str, &Circuit)> {
        let sources = &self.loaded.sources;
        self.loaded.stack.iter().map(|d| sources.source(d.file).path.as_str()).zip(&self.circuits).collect()
    }

    /// The documents, and what was noticed of them here and beyond, for programs.
    pub(super) fn head(&self, more: &[Problem]) -> json::Head<'_> {
        let sources = &self.loaded.sources;
        let mut problems = json::problems(&self.notices, sources);
        problems.extend(json::problems(more, sources));
        json::Head { documents: json::documents(&self.stack()), problems }
    }

    /// The last document's circuit and its depth.
    pub(super) fn top(&self) -> Result<(&Circuit, usize), Stop> {
        let last = self.circuits.last().ok_or_else(|| Stop::Failure("there is no document".into()))?;
        Ok((last, self.circuits.len() - 1))
    }
}

/// The text of a file; the error is one sentence with the path.
pub(super) fn text(path: &str) -> Result<String, String> {
    let bytes = limited(path, regular(path)?)?;
    if bytes.is_empty() {
        return Err(format!("{path} is empty; a document begins with a line such as: stock \"MODEL\""));
    }
    if let Some(at) = bytes.iter().position(|b| *b == 0) {
        return Err(format!("{path} is not a text file (byte {at} is zero)"));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        format!("{path} is not UTF-8 text (byte {at} is not); save it as UTF-8")
    })
}

/// The text of a document that is read alone.
pub(super) fn document(path: &str) -> Result<String, String> {
    let text = text(path)?;
    too_many_lines(path, text.lines().count())?;
    Ok(text)
}

/// All bytes up to the longest that is read; the error is one sentence.
pub(super) fn limited(path: &str, from: impl Read) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    // One byte over the limit tells that there is more, however long it says it is.
    from.take(LONGEST_DOCUMENT as u64 + 1).read_to_end(&mut bytes).map_err(|error| why(path, &error))?;
    if bytes.len() > LONGEST_DOCUMENT {
        return Err(too_long(path));
    }
    Ok(bytes)
}

/// A regular file, open. Others are refused before they are opened, as opening may block or have effects; what is
/// put in its place between the two is opened without waiting and refused then.
fn regular(path: &str) -> Result<File, String> {
    let about = fs::metadata(path).map_err(|error| why(path, &error))?;
    refused(path, &about)?;
    let mut options = File::options();
    options.read(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::custom_flags(&mut options, libc::O_NONBLOCK);
    let file = options.open(path).map_err(|error| why(path, &error))?;
    refused(path, &file.metadata().map_err(|error| why(path, &error))?)?;
    Ok(file)
}

/// Why what is there is no document.
fn refused(path: &str, about: &Metadata) -> Result<(), String> {
    if about.is_file() {
        Ok(())
    } else if about.is_dir() {
        Err(format!("{path} is a folder; name a document in it"))
    } else {
        Err(format!("{path} is a pipe, a socket or a device; save its text as a file and name that"))
    }
}

fn why(path: &str, error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => format!("there is no file {path}"),
        ErrorKind::PermissionDenied => format!("{path} may not be read"),
        _ => format!("{path} can't be read: {error}"),
    }
}
