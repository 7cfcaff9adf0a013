//! How far from a document the files lie that it may name: a text that someone else wrote must not read the whole disk.

use std::path::{Component, Path, PathBuf};

use super::input::text;

/// How far `of` and `types from` lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Reach {
    /// Within the version-controlled tree of the first document; without one, within the folder above its own.
    #[default]
    Tree,
    /// Anywhere.
    Anywhere,
}

impl Reach {
    /// Reads files for a document: what lies out of reach is refused unread, whether it is there or not.
    pub(super) fn reader(self, document: &str) -> impl FnMut(&str) -> Result<String, String> {
        let tree = self.tree(document);
        let document = document.to_owned();
        move |path| match &tree {
            Some(tree) if path != document && !placed(path).starts_with(tree) => {
                let tree = tree.display();
                Err(format!("{path} lies outside {tree} and is not read; with --anywhere it is"))
            }
            _ => text(path),
        }
    }

    /// Whether all these may be read for a document.
    pub(super) fn allows<'a>(self, document: &str, mut paths: impl Iterator<Item = &'a str>) -> bool {
        self.tree(document).is_none_or(|tree| paths.all(|path| placed(path).starts_with(&tree)))
    }

    fn tree(self, document: &str) -> Option<PathBuf> {
        (self == Reach::Tree).then(|| tree_of(document)).flatten()
    }
}

/// The folder that holds all that a document may name. A document that isn't there names nothing.
fn tree_of(document: &str) -> Option<PathBuf> {
    let file = std::fs::canonicalize(document).ok()?;
    let folder = file.parent()?;
    let tree = folder.ancestors().find(|above| above.join(".git").exists());
    Some(tree.or(folder.parent()).unwrap_or(folder).to_owned())
}

/// Where a path leads, through links; where nothing is there, by its words.
fn placed(path: &str) -> PathBuf {
    let path = Path::new(path);
    if let Ok(found) = std::fs::canonicalize(path) {
        return found;
    }
    let mut place = PathBuf::new();
    for step in std::path::absolute(path).unwrap_or_else(|_| path.to_owned()).components() {
        match step {
            Component::ParentDir => drop(place.pop()),
            Component::CurDir => {}
            step => place.push(step),
        }
    }
    // The folders above it may be links.
    let there = place.ancestors().find_map(|above| Some((above, std::fs::canonicalize(above).ok()?)));
    match there {
        Some((above, real)) => real.join(place.strip_prefix(above).unwrap_or(Path::new(""))),
        None => place,
    }
}
