//! A file's text put in place of its old one, in one step. Every command that writes a file does it here.
//!
//! Whatever stops the process or fills the disk, the old or the new text stands whole. Links are followed, mode is kept,
//! owner and group where the system lets them be.

use std::fs::{self, File, Metadata};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::console::Console;
use super::stop::Stop;

/// Symbolic links that are followed, one after the other, before they are taken for a loop: as many as Linux follows.
const MOST_LINKS: usize = 40;

/// Puts a text in a file's place, or makes the file.
pub(super) fn replace(path: &Path, text: &str, console: &mut Console) -> Result<(), Stop> {
    let old = replaced(path, text)
        .map_err(|why| Stop::Failure(format!("{} can't be written: {why}", path.display())))?;
    if old.as_ref().is_some_and(has_other_names) {
        let words = "has other names (hard links), which keep the old text";
        console.complain(&format!("asfound: {} {words}\n", path.display()))?;
    }
    Ok(())
}

/// The same, and what was there.
fn replaced(path: &Path, text: &str) -> io::Result<Option<Metadata>> {
    let target = end_of_links(path)?;
    let old = writable(&target)?;
    let folder = target.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut new = Fresh::in_folder(folder)?;
    new.file().write_all(text.as_bytes())?;
    if let Some(old) = &old {
        keep_owner(new.file(), old);
        new.file().set_permissions(old.permissions())?;
    }
    new.file().sync_all()?;
    new.put(&target)?;
    // So that the new name outlives a loss of power; where a folder can't be synced nothing else can be done.
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
    Ok(old)
}

/// Where a chain of symbolic links ends, whether anything is there or not.
fn end_of_links(path: &Path) -> io::Result<PathBuf> {
    let mut at = path.to_owned();
    for _ in 0..MOST_LINKS {
        match fs::read_link(&at) {
            Ok(to) => at = at.parent().unwrap_or(Path::new("")).join(to),
            Err(_) => return Ok(at),
        }
    }
    Err(io::Error::other("its symbolic links lead to each other"))
}

/// What is there to be replaced, which must be a file that may be written: a rename alone would not ask.
fn writable(target: &Path) -> io::Result<Option<Metadata>> {
    let old = match fs::metadata(target) {
        Ok(old) => old,
        Err(why) if why.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(why) => return Err(why),
    };
    if !old.is_file() {
        return Err(io::Error::other("it is not a regular file"));
    }
    if old.permissions().readonly() {
        return Err(io::Error::other("it is read-only"));
    }
    File::options().write(true).open(target)?;
    Ok(Some(old))
}

/// A new file on its way.
enum Fresh {
    /// Without a name, so that nothing is left of it however the process ends.
    #[cfg(target_os = "linux")]
    Unnamed(File),
    /// With a name of its own, where the file system has none without: what ends the process at once leaves it behind.
    Named(tempfile::NamedTempFile),
}

impl Fresh {
    fn in_folder(folder: &Path) -> io::Result<Fresh> {
        #[cfg(target_os = "linux")]
        if let Some(file) = linux::unnamed(folder) {
            return Ok(Fresh::Unnamed(file));
        }
        let mut builder = tempfile::Builder::new();
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(NEW_MODE));
        builder.tempfile_in(folder).map(Fresh::Named)
    }

    fn file(&mut self) -> &mut File {
        match self {
            #[cfg(target_os = "linux")]
            Fresh::Unnamed(file) => file,
            Fresh::Named(file) => file.as_file_mut(),
        }
    }

    fn put(self, target: &Path) -> io::Result<()> {
        match self {
            #[cfg(target_os = "linux")]
            Fresh::Unnamed(file) => linux::put(&file, target),
            Fresh::Named(file) => file.persist(target).map(drop).map_err(|why| why.error),
        }
    }
}

/// The mode of a file that was not there, less what the umask takes.
#[cfg(unix)]
const NEW_MODE: u32 = 0o666;

#[cfg(target_os = "linux")]
mod linux {
    use std::ffi::OsString;
    use std::fs::{self, File};
    use std::io::{self, ErrorKind};
    use std::os::fd::AsRawFd;
    use std::os::unix::fs::OpenOptionsExt;
    use std::path::Path;

    use rustix::fs::{AtFlags, CWD, OFlags, linkat};

    /// Times that a name left by another run is taken away.
    const TRIES: usize = 8;

    /// A file without a name; `None` where the file system has none.
    pub(super) fn unnamed(folder: &Path) -> Option<File> {
        let flags = OFlags::TMPFILE.bits().cast_signed();
        let mut options = File::options();
        options.write(true).mode(super::NEW_MODE).custom_flags(flags);
        Path::new("/proc/self/fd").exists().then(|| options.open(folder).ok())?
    }

    /// Names it. Only a new name can be given, so that it goes by one of its own for two calls of the system; if the
    /// process ends just there, the next run that writes the file takes that name away. What bears it is always whole.
    pub(super) fn put(file: &File, target: &Path) -> io::Result<()> {
        let between = name_between(target);
        for _ in 0..TRIES {
            match link(file, &between).and_then(|()| fs::rename(&between, target)) {
                Err(why) if why.kind() == ErrorKind::AlreadyExists => drop(fs::remove_file(&between)),
                // Another run that writes the same file has taken it away.
                Err(why) if why.kind() == ErrorKind::NotFound => {}
                Err(why) => {
                    let _ = fs::remove_file(&between);
                    return Err(why);
                }
                Ok(()) => return Ok(()),
            }
        }
        Err(io::Error::other("others write it all the time"))
    }

    fn link(file: &File, name: &Path) -> io::Result<()> {
        let file = format!("/proc/self/fd/{}", file.as_raw_fd());
        linkat(CWD, file, CWD, name, AtFlags::SYMLINK_FOLLOW).map_err(io::Error::from)
    }

    /// `.job.amp.asfound-new`
    fn name_between(target: &Path) -> std::path::PathBuf {
        let mut name = OsString::from(".");
        name.push(target.file_name().unwrap_or_default());
        name.push(".asfound-new");
        target.with_file_name(name)
    }
}

/// Gives the new file the old one's owner and group, or its group, where the system lets it.
#[cfg(unix)]
fn keep_owner(new: &File, old: &Metadata) {
    use std::os::unix::fs::{MetadataExt, fchown};
    let (user, group) = (Some(old.uid()), Some(old.gid()));
    // Only the superuser may give a file away; a file whose owner can't be kept is written all the same.
    let _ = fchown(new, user, group).or_else(|_| fchown(new, None, group));
}

#[cfg(not(unix))]
fn keep_owner(_: &File, _: &Metadata) {}

#[cfg(unix)]
fn has_other_names(old: &Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(old) > 1
}

#[cfg(not(unix))]
fn has_other_names(_: &Metadata) -> bool {
    false
}
