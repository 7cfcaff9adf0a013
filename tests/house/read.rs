//! Reads the sources of `src/` as text: what is code, and which module a file is.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A module's path from the crate's root: `["rules", "functions", "nets"]`; the root is empty.
pub(crate) type Module = Vec<String>;

/// One file of `src/`.
#[derive(Debug)]
pub(crate) struct File {
    /// Path below `src/`.
    pub(crate) path: String,
    /// Its text as it stands.
    pub(crate) text: String,
    /// The same without comments, what stands in quotes, and its tests; lines stay lines.
    pub(crate) code: String,
}

/// All modules with their files, without `main.rs` and files of tests.
pub(crate) fn modules() -> BTreeMap<Module, File> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = BTreeMap::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for path in entries(&folder) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let below = path.strip_prefix(&root).expect("a file of src is below src");
                let text = fs::read_to_string(&path).expect("a source file is UTF-8");
                let code = code(&text);
                let name = below.to_string_lossy().replace('\\', "/");
                if !matches!(name.as_str(), "main.rs" | "build.rs") {
                    found.insert(module_of(&name), File { path: name, text, code });
                }
            }
        }
    }
    let tests: Vec<Module> = test_modules(&found);
    found.retain(|module, _| !tests.iter().any(|test| module.starts_with(test)));
    found
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let listed = fs::read_dir(folder).expect("the folders of src can be read");
    let mut paths: Vec<PathBuf> = listed.map(|e| e.expect("an entry can be read").path()).collect();
    paths.sort();
    paths
}

fn module_of(name: &str) -> Module {
    let plain = name.trim_end_matches(".rs");
    let plain = plain.strip_suffix("/mod").unwrap_or(plain);
    if plain == "lib" { Vec::new() } else { plain.split('/').map(str::to_owned).collect() }
}

/// Modules declared behind `#[cfg(test)]`.
fn test_modules(files: &BTreeMap<Module, File>) -> Vec<Module> {
    let mut found = Vec::new();
    for (module, file) in files {
        let mut lines = file.text.lines().map(str::trim);
        while let Some(line) = lines.next() {
            if line == "#[cfg(test)]"
                && let Some(declared) = lines.next().and_then(|next| next.strip_suffix(';'))
                && let Some(name) = declared.rsplit(' ').next()
            {
                found.push([module.as_slice(), &[name.to_owned()]].concat());
            }
        }
    }
    found
}

/// The text without comments, contents of quotes, and what stands behind `#[cfg(test)]` with a body.
fn code(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '/' if chars.peek() == Some(&'/') => {
                while chars.peek().is_some_and(|c| *c != '\n') {
                    chars.next();
                }
            }
            '"' => {
                let hashes = out.chars().rev().take_while(|c| *c == '#').count();
                let raw = out[..out.len() - hashes].ends_with('r');
                out.push('"');
                quoted(&mut chars, raw.then_some(hashes), &mut out);
                out.push('"');
            }
            // A character, not a lifetime: 'x' or '\n'.
            '\'' => {
                let ahead: Vec<char> = chars.clone().take(2).collect();
                let literal = ahead.first() == Some(&'\\') || ahead.get(1) == Some(&'\'');
                if literal {
                    let escaped = chars.next() == Some('\\');
                    if escaped {
                        chars.next();
                    }
                    while chars.next().is_some_and(|c| c != '\'') {}
                }
                out.push('\'');
            }
            other => out.push(other),
        }
    }
    without_tests(&out)
}

fn quoted(chars: &mut std::iter::Peekable<std::str::Chars>, raw: Option<usize>, out: &mut String) {
    while let Some(c) = chars.next() {
        match (c, raw) {
            ('\\', None) => {
                chars.next().filter(|c| *c == '\n').into_iter().for_each(|c| out.push(c));
            }
            ('"', None) => return,
            ('"', Some(hashes)) if chars.clone().take(hashes).filter(|c| *c == '#').count() == hashes => {
                return;
            }
            ('\n', _) => out.push('\n'),
            _ => {}
        }
    }
}

/// Drops items marked `#[cfg(test)]`: rustfmt ends them with a brace in the column where they begin.
fn without_tests(code: &str) -> String {
    let mut out = String::with_capacity(code.len());
    let mut lines = code.lines();
    while let Some(line) = lines.next() {
        if line.trim() != "#[cfg(test)]" {
            out.push_str(line);
            out.push('\n');
            continue;
        }
        let indent = &line[..line.len() - line.trim_start().len()];
        let end = format!("{indent}}}");
        for next in lines.by_ref() {
            if next == end
                || (next.ends_with(';') && next.starts_with(indent) && !next[indent.len()..].starts_with(' '))
            {
                break;
            }
        }
    }
    out
}
