//! Which file knows which: `use` lines and paths in the code, followed through what is exported again.
//!
//! `use crate::solve::Solved` leads to the file that defines `Solved`, not to `solve/mod.rs` that passes it on; a name
//! that `mod.rs` passes on counts as its own knowledge only where its own code uses it.

use std::collections::{BTreeMap, BTreeSet};

use super::read::{File, Module};

/// One name that a file can say: where it leads, and whether it is only passed on.
#[derive(Debug, Clone)]
struct Import {
    name: String,
    target: Vec<String>,
    passed_on: bool,
}

/// Arrows from each file to the files that it knows.
pub(crate) fn arrows(files: &BTreeMap<Module, File>) -> BTreeMap<Module, BTreeSet<Module>> {
    let imports: BTreeMap<&Module, Vec<Import>> =
        files.iter().map(|(module, file)| (module, imports(module, &file.code))).collect();
    let mut arrows = BTreeMap::new();
    for (module, file) in files {
        let body = body(&file.code);
        let mut known = BTreeSet::new();
        for import in &imports[module] {
            if !import.passed_on || says(&body, &import.name) {
                known.extend(file_of(&import.target, files, &imports, 0));
            }
        }
        for path in paths(&body) {
            let path = absolute(module, &path, files);
            known.extend(path.and_then(|path| file_of(&path, files, &imports, 0)));
        }
        known.remove(module);
        arrows.insert(module.clone(), known);
    }
    arrows
}

/// The code without its `use` statements and declarations of modules.
fn body(code: &str) -> String {
    let mut out = String::with_capacity(code.len());
    let mut inside = false;
    for line in code.lines() {
        let bare = unexported(line.trim_start());
        inside |= bare.starts_with("use ");
        let declares = bare.starts_with("mod ") && bare.ends_with(';');
        if !inside && !declares {
            out.push_str(line);
            out.push('\n');
        }
        inside &= !line.trim_end().ends_with(';');
    }
    out
}

/// A line without `pub` or `pub(…)` before it.
fn unexported(line: &str) -> &str {
    let Some(rest) = line.strip_prefix("pub") else { return line };
    let rest = rest.strip_prefix('(').and_then(|r| r.split_once(") ")).map_or(rest, |(_, after)| after);
    rest.trim_start()
}

fn imports(module: &Module, code: &str) -> Vec<Import> {
    let mut found = Vec::new();
    let mut statement = String::new();
    for line in code.lines() {
        let line = line.trim();
        if statement.is_empty() && !unexported(line).starts_with("use ") {
            continue;
        }
        statement.push_str(line);
        if line.ends_with(';') {
            let passed_on = statement.starts_with("pub");
            let tree = unexported(&statement).trim_start_matches("use ").trim_end_matches(';').to_owned();
            for (path, name) in expand(&tree) {
                if let Some(target) = rooted(module, &path) {
                    found.push(Import { name, target, passed_on });
                }
            }
            statement.clear();
        }
    }
    found
}

/// `a::{b, c as d}` as its paths, each with the name that it has here.
fn expand(tree: &str) -> Vec<(Vec<String>, String)> {
    let tree = tree.trim();
    if let Some((before, inner)) = tree.split_once('{') {
        let inner = inner.strip_suffix('}').unwrap_or(inner);
        let prefix: Vec<String> = segments(before);
        return branches(inner)
            .iter()
            .flat_map(|branch| expand(branch))
            .map(|(path, name)| {
                let path = if path == ["self"] { Vec::new() } else { path };
                let name = if name == "self" { prefix.last().cloned().unwrap_or_default() } else { name };
                ([prefix.clone(), path].concat(), name)
            })
            .collect();
    }
    let (path, name) = tree.split_once(" as ").map_or((tree, None), |(path, name)| (path, Some(name)));
    let path = segments(path);
    let name = name.map_or_else(|| path.last().cloned().unwrap_or_default(), |n| n.trim().to_owned());
    vec![(path, name)]
}

fn segments(path: &str) -> Vec<String> {
    path.split("::").map(str::trim).filter(|s| !s.is_empty()).map(str::to_owned).collect()
}

/// Parts of a list at its outermost commas.
fn branches(list: &str) -> Vec<String> {
    let mut found = vec![String::new()];
    let mut depth = 0;
    for c in list.chars() {
        depth += match c {
            '{' => 1,
            '}' => -1,
            _ => 0,
        };
        if c == ',' && depth == 0 {
            found.push(String::new());
        } else {
            found.last_mut().expect("there is always a last one").push(c);
        }
    }
    found.retain(|branch| !branch.trim().is_empty());
    found
}

/// A path that begins with `crate`, `super` or `self` from the root; `None` for other crates and for children, whose
/// paths the caller tries against the modules.
fn rooted(module: &Module, path: &[String]) -> Option<Vec<String>> {
    let mut base = module.clone();
    let mut rest = path;
    match rest.first()?.as_str() {
        "crate" => {
            base.clear();
            rest = &rest[1..];
        }
        "self" => rest = &rest[1..],
        "super" => {
            while rest.first().is_some_and(|s| s == "super") {
                base.pop();
                rest = &rest[1..];
            }
        }
        "std" | "core" | "alloc" => return None,
        // `pub use child::Name`: a child if there is one of that name, else another crate.
        _ => {}
    }
    base.extend(rest.iter().cloned());
    Some(base)
}

fn absolute(module: &Module, path: &[String], files: &BTreeMap<Module, File>) -> Option<Vec<String>> {
    let target = rooted(module, path)?;
    let first = path.first()?;
    let keyword = matches!(first.as_str(), "crate" | "super" | "self");
    let child = [module.as_slice(), std::slice::from_ref(first)].concat();
    (keyword || files.contains_key(&child)).then_some(target)
}

/// The file that a path from the root leads to; `None` where its first step is no module of this crate.
fn file_of(
    path: &[String],
    files: &BTreeMap<Module, File>,
    imports: &BTreeMap<&Module, Vec<Import>>,
    depth: usize,
) -> Option<Module> {
    let mut at: Module = Vec::new();
    for (index, step) in path.iter().enumerate() {
        let child = [at.as_slice(), std::slice::from_ref(step)].concat();
        if files.contains_key(&child) {
            at = child;
            continue;
        }
        let import = imports.get(&at)?.iter().find(|import| import.name == *step);
        if let Some(import) = import.filter(|_| depth < 8)
            && let Some(found) =
                file_of(&[import.target.as_slice(), &path[index + 1..]].concat(), files, imports, depth + 1)
        {
            return Some(found);
        }
        break;
    }
    // `use serde::…` in a file at the root would lead to the root itself: other crates end here.
    (!at.is_empty() || path.len() == 1).then_some(at).filter(|at| !at.is_empty())
}

/// Paths of two or more steps in the code: `super::ways::of`, `mains::claim`.
fn paths(code: &str) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    let mut current: Vec<String> = Vec::new();
    let mut word = String::new();
    let mut chars = code.chars().peekable();
    while let Some(c) = chars.next() {
        if c.is_alphanumeric() || c == '_' {
            word.push(c);
            continue;
        }
        let joined = c == ':' && chars.peek() == Some(&':');
        if !word.is_empty() {
            current.push(std::mem::take(&mut word));
        }
        if joined {
            chars.next();
            continue;
        }
        if current.len() > 1 {
            found.push(std::mem::take(&mut current));
        }
        current.clear();
    }
    found
}

/// Whether the code says a name as a word.
fn says(code: &str, name: &str) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    code.match_indices(name)
        .any(|(at, _)| !code[..at].ends_with(part) && !code[at + name.len()..].starts_with(part))
}
