//! What the house measures: lines, functions, parameters, comments.

use std::collections::BTreeMap;

use super::read::File;

/// Lines of some files.
#[derive(Debug, Default)]
pub(crate) struct Size {
    /// With code on them.
    pub(crate) code: usize,
    /// Of comment that is not documentation.
    pub(crate) comment: usize,
}

impl Size {
    /// Counts a file in.
    pub(crate) fn add(&mut self, file: &File) {
        self.code += code_lines(file);
        self.comment += why_lines(file);
    }

    /// Lines of comment that is not documentation in a hundred lines of code.
    pub(crate) fn why(&self) -> f64 {
        100.0 * self.comment as f64 / self.code as f64
    }
}

/// What stands in each folder itself, by its path, without what stands in folders below it.
pub(crate) fn by_folder<'a>(files: impl Iterator<Item = &'a File>) -> BTreeMap<&'a str, Size> {
    let mut sizes: BTreeMap<&str, Size> = BTreeMap::new();
    for file in files {
        let folder = file.path.rsplit_once('/').map_or("", |(folder, _)| folder);
        sizes.entry(folder).or_default().add(file);
    }
    sizes
}

/// A function as rustfmt lays it out.
#[derive(Debug)]
pub(crate) struct Function {
    /// Its name.
    pub(crate) name: String,
    /// Lines from its first to its closing brace.
    pub(crate) lines: usize,
    /// Parameters, without `self`.
    pub(crate) parameters: usize,
}

/// Lines with code on them.
pub(crate) fn code_lines(file: &File) -> usize {
    file.code.lines().filter(|line| !line.trim().is_empty()).count()
}

/// Lines of comment that are not documentation: those that can say why.
pub(crate) fn why_lines(file: &File) -> usize {
    let why = |line: &&str| line.starts_with("//") && !line.starts_with("///") && !line.starts_with("//!");
    file.text.lines().map(str::trim_start).filter(why).count()
}

/// Every function with a body, outside tests.
pub(crate) fn functions(file: &File) -> Vec<Function> {
    let lines: Vec<&str> = file.code.lines().collect();
    let mut found = Vec::new();
    for (start, line) in lines.iter().enumerate() {
        let indent = &line[..line.len() - line.trim_start().len()];
        let Some(name) = name(line.trim_start()) else { continue };
        let end = format!("{indent}}}");
        let ends = |l: &&str| {
            **l == end
                || (l.starts_with(indent)
                    && l.ends_with(';')
                    && l.len() > indent.len()
                    && !l[indent.len()..].starts_with([' ', '}']))
        };
        let one_line = line.trim_end().ends_with('}');
        let length =
            if one_line { 1 } else { 1 + lines[start + 1..].iter().take_while(|l| !ends(l)).count() + 1 };
        let signature: String = lines[start..(start + length).min(lines.len())].concat();
        found.push(Function { name: name.to_owned(), lines: length, parameters: parameters(&signature) });
    }
    found
}

fn name(line: &str) -> Option<&str> {
    let mut rest = line;
    if let Some(after) = rest.strip_prefix("pub") {
        rest =
            after.strip_prefix('(').and_then(|r| r.split_once(") ")).map_or(after, |(_, r)| r).trim_start();
    }
    rest = rest.strip_prefix("const ").unwrap_or(rest);
    let rest = rest.strip_prefix("fn ")?;
    rest.split(|c: char| !c.is_alphanumeric() && c != '_').next()
}

/// Commas of the parameter list at its own depth, one more where something stands behind the last.
fn parameters(signature: &str) -> usize {
    let after = signature.split_once("fn ").map_or(signature, |(_, rest)| rest);
    let mut generic = 0_i32;
    let open = after.char_indices().find(|(at, c)| {
        generic += match c {
            '<' => 1,
            '>' if !after[..*at].ends_with('-') => -1,
            _ => 0,
        };
        *c == '(' && generic == 0
    });
    let Some((open, _)) = open else { return 0 };
    let mut depth = 0_i32;
    let mut count = 0;
    let mut said = String::new();
    for (at, c) in after[open + 1..].char_indices() {
        match c {
            ')' if depth == 0 => break,
            ',' if depth == 0 => count += usize::from(counts(&std::mem::take(&mut said))),
            _ => {
                depth += match c {
                    '(' | '[' | '{' | '<' => 1,
                    '>' if after[..open + 1 + at].ends_with('-') => 0,
                    ')' | ']' | '}' | '>' => -1,
                    _ => 0,
                };
                said.push(c);
            }
        }
    }
    count + usize::from(counts(&said))
}

/// Whether what stands between two commas is a parameter, and not `self`.
fn counts(said: &str) -> bool {
    let said = said.trim();
    !said.is_empty() && !matches!(said, "self" | "mut self" | "&self" | "&mut self")
}
