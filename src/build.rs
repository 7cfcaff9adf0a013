//! What is the same at every start is worked out here, once: the shipped rules are listed, and read to heads and clauses.
//!
//! The list and the clauses go to `OUT_DIR`; `rules::shipped` takes them up. The reader is the library's own.

#![expect(
    dead_code,
    unreachable_pub,
    unused_imports,
    reason = "modules of the library, used here only as far as rules need them"
)]

use std::path::{Path, PathBuf};
use std::{env, fs, io};

use rules::ast::{FileSaid, RuleSaid};
use rules::head::Head;
use source::{FileId, Source};

mod source;
mod units;
mod rules {
    pub(crate) mod ast;
    pub(crate) mod head;
    pub(crate) mod level;
    mod page;
    pub(crate) mod parse;
    mod parse_expr;
    mod parse_message;
}

fn main() -> io::Result<()> {
    println!("cargo::rerun-if-changed=rules");
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo says where to"));
    let paths = rule_files(Path::new("rules"))?;
    let mut table = Vec::new();
    for path in &paths {
        let text = fs::read_to_string(Path::new("rules").join(path))?;
        table.push(written(said(table.len(), path, text))?);
    }
    fs::write(out.join("shipped_rules.rs"), list(&paths))?;
    let table = postcard::to_allocvec(&table).map_err(io::Error::other)?;
    fs::write(out.join("shipped_rules.table"), table)
}

/// What a start reads of each rule, and the rule itself, which it passes over.
fn written(said: FileSaid) -> io::Result<Vec<(Head, Vec<u8>)>> {
    let rule =
        |rule: RuleSaid| Ok((Head::of(&rule), postcard::to_allocvec(&rule).map_err(io::Error::other)?));
    said.rules.into_iter().map(rule).collect()
}

/// The list of shipped files, as a constant.
fn list(paths: &[String]) -> String {
    let row = |path: &String| {
        format!("({path:?}, include_str!(concat!(env!(\"CARGO_MANIFEST_DIR\"), \"/rules/{path}\"))),\n")
    };
    let rows: String = paths.iter().map(row).collect();
    format!("/// Path below `rules/` and text of each.\npub const SHIPPED: &[(&str, &str)] = &[\n{rows}];\n")
}

/// Every `GROUP/NAME.rule`, in order of names.
fn rule_files(root: &Path) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    for group in fs::read_dir(root)? {
        let group = group?.path();
        for file in fs::read_dir(&group)? {
            let file = file?.path();
            if file.extension().is_some_and(|end| end == "rule") {
                let path = file.strip_prefix(root).map_err(io::Error::other)?;
                found.push(path.to_string_lossy().replace('\\', "/"));
            }
        }
    }
    found.sort();
    Ok(found)
}

/// What one file says; what is wrong with it ends the build at its place.
fn said(at: usize, path: &str, text: String) -> FileSaid {
    let (said, problems) = rules::parse::parse(FileId(at as u32), &text);
    let source = Source::new(path, text);
    for problem in problems {
        let (line, column) = source.line_column(problem.span().start);
        println!("cargo::error=rules/{path}:{line}:{column}: {}", problem.message);
    }
    said
}
