//! `asfound survey PATH…`

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use clap::Args;
use rayon::prelude::*;

use super::Status;
use super::console::Console;
use super::input::{Opened, text};
use super::known::KnownFiles;
use super::options::{Format, Judging, Knowing, Output};
use super::progress::Progress;
use super::reach::Reach;
use super::stop::{Stop, too_large};
use super::walk::Sought;
use crate::analysis::{Audit, Base, judge};
use crate::analysis::{Surveyed, Told};
use crate::load::{Loaded, base_of, load};
use crate::model::DocumentKind;
use crate::render;
use crate::rules::RuleSet;
use crate::source::{Severity, has_errors};

/// Documents.
const DOCUMENTS: Sought = Sought { end: "amp", called: "documents", deepest: 16 };
/// Documents between two marks of the progress.
const STRIDE: usize = 32;

/// Many documents: what each has, and which share a change or a finding
///
/// Every document of the folders named, one line each; those that can't be worked out with their error, the others all
/// the same; then findings and changes that several documents of one stock spec have. With --format json one JSON object
/// a line. Exit status 1 where one has a finding at the chosen level or above, 2 where one could not be worked out.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound survey jobs/                          a whole archive
  asfound survey jobs/sedge-*.amp
  asfound survey --write-known known.txt jobs/  take the archive as it is
  asfound survey --known known.txt jobs/        only what is new counts
  asfound survey --format json jobs/ > jobs.jsonl")]
pub(super) struct Survey {
    /// Documents, folders of documents, and patterns such as 'jobs/*.amp'
    #[arg(value_name = "PATH", required = true)]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    judging: Judging,
    #[command(flatten)]
    knowing: Knowing,
    #[command(flatten)]
    output: Output,
}

impl Survey {
    pub(super) fn format(&self) -> Format {
        self.output.format
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let mut files = Vec::new();
        for path in &self.paths {
            for path in expanded(path)? {
                files.extend(DOCUMENTS.at(&path)?);
            }
        }
        files.sort();
        // One file under two names is one document.
        let mut seen = BTreeSet::new();
        files.retain(|file| seen.insert(file.canonicalize().unwrap_or_else(|_| file.clone())));
        if files.is_empty() {
            return Err(Stop::Failure(format!("there is no .{} file there", DOCUMENTS.end)));
        }
        let rules = self.rules(&files)?;
        let mut known = KnownFiles::open(&self.knowing)?;
        let documents = named(files);
        let reach = console.reach;
        let bases = bases(&documents, reach);
        let mut progress = Progress::new("documents", documents.len() as u64);
        let mut all: Vec<Surveyed> = Vec::with_capacity(documents.len());
        let one = |(file, base): &Named| {
            let shared = base.as_deref().and_then(|base| bases.get(base));
            surveyed(file, shared, &rules[folder(file)], reach)
        };
        for some in documents.chunks(STRIDE) {
            all.par_extend(some.par_iter().filter_map(one));
            progress.at(all.len() as u64);
        }
        for one in &mut all {
            if let Ok(told) = &mut one.told {
                known.mark(&one.path, &mut told.verdicts, told.unsolved.is_empty());
            }
        }
        known.write(console)?;
        let told = if self.format() == Format::Json {
            all.iter().map(render::json::survey_line).collect()
        } else {
            let mut page = render::text::Page::new(console.width);
            render::text::survey(&mut page, &all);
            render::text::cautioned(page)
        };
        console.say(&told)?;
        let large = all.iter().filter_map(|one| Some(&one.told.as_ref().ok()?.verdicts.too_large)).flatten();
        let large: BTreeSet<String> = large.cloned().collect();
        let trouble = too_large(&large.into_iter().collect::<Vec<_>>(), console)?;
        let sound = |one: &Surveyed| one.told.as_ref().is_ok_and(|told| !has_errors(&told.unsolved));
        let restless = |one: &Surveyed| one.told.as_ref().is_ok_and(|told| !told.unsolved.is_empty());
        let worst = all.iter().filter_map(|one| one.told.as_ref().ok()?.verdicts.worst()).max();
        let found = Status::found(worst >= Some(self.judging.fail_on) || all.iter().any(restless));
        Ok(if all.iter().all(sound) { found.max(trouble) } else { Status::Trouble })
    }

    /// The rules of every folder that a document lies in.
    fn rules(&self, files: &[PathBuf]) -> Result<BTreeMap<PathBuf, RuleSet>, Stop> {
        let mut rules = BTreeMap::new();
        for file in files {
            if !rules.contains_key(folder(file)) {
                rules.insert(folder(file).to_owned(), self.judging.rules(&file.display().to_string())?);
            }
        }
        Ok(rules)
    }
}

/// The paths that a pattern fits, in order; a path that is there, or is no pattern, as it stands.
fn expanded(path: &Path) -> Result<Vec<PathBuf>, Stop> {
    let pattern = path.display().to_string();
    if path.exists() || !pattern.contains(['*', '?', '[']) {
        return Ok(vec![path.to_owned()]);
    }
    let wrong = |why: &dyn std::fmt::Display| Stop::Failure(format!("the pattern {pattern}: {why}"));
    let fitting = glob::glob(&pattern).map_err(|why| wrong(&why))?;
    let found: Vec<PathBuf> = fitting.collect::<Result<_, _>>().map_err(|why| wrong(&why))?;
    if found.is_empty() { Err(wrong(&"nothing fits it")) } else { Ok(found) }
}

fn folder(file: &Path) -> &Path {
    file.parent().unwrap_or(Path::new(""))
}

/// A document, and the path of what it rests on.
type Named = (PathBuf, Option<String>);

/// Each document with what it says it rests on.
fn named(files: Vec<PathBuf>) -> Vec<Named> {
    let base = |file: PathBuf| {
        let path = file.display().to_string();
        let base = text(&path).ok().and_then(|text| base_of(&path, &text));
        (file, base)
    };
    files.into_par_iter().map(base).collect()
}

/// What documents rest on, worked out once where several do.
fn bases(documents: &[Named], reach: Reach) -> BTreeMap<&str, Base> {
    let mut named: Vec<(&str, &Path)> =
        documents.iter().filter_map(|(file, base)| Some((base.as_deref()?, file.as_path()))).collect();
    named.sort_unstable();
    let shared = named.chunk_by(|a, b| a.0 == b.0).filter(|same| same.len() > 1).map(|same| same[0]);
    let shared: Vec<(&str, &Path)> = shared.collect();
    let opened = shared.into_par_iter().filter_map(|(path, document)| {
        let loaded = load(path, &mut reach.reader(&document.display().to_string())).ok()?;
        Some((path, Base::of(loaded)?))
    });
    opened.collect()
}

/// One document; `None` for type data, which is no amplifier.
fn surveyed(file: &Path, shared: Option<&Base>, rules: &RuleSet, reach: Reach) -> Option<Surveyed> {
    let path = file.display().to_string();
    let shared = shared.filter(|base| {
        let Loaded { sources, stack, .. } = base.loaded();
        reach.allows(&path, stack.iter().map(|document| sources.source(document.file).path.as_str()))
    });
    let mut audit = match shared.and_then(|base| resting_on(base, &path, rules)) {
        Some(audit) => audit,
        None => match Opened::open(&path, reach) {
            Ok(opened) => {
                if opened.circuits.last().is_none_or(|circuit| circuit.kind == DocumentKind::TypeData) {
                    return None;
                }
                judge(&opened.circuits, rules)
            }
            Err(stop) => return Some(Surveyed { path, told: Err(sentences(stop)) }),
        },
    };
    let (top, beneath) = audit.worked.split_last()?;
    let stock = beneath.iter().rev().find(|worked| worked.circuit.kind == DocumentKind::Stock);
    let base = stock.unwrap_or(top);
    let changes = std::mem::take(&mut audit.differences).into_iter();
    let changes = changes.map(|change| (change.kind, change.subject, change.role)).collect();
    let told = Told {
        kind: top.circuit.kind.word(),
        title: top.circuit.title.clone(),
        stock: base.circuit.title.clone(),
        changes,
        unsolved: std::mem::take(&mut audit.unsolved),
        verdicts: std::mem::take(&mut audit.verdicts),
    };
    Some(Surveyed { path, told: Ok(told) })
}

/// A document on what others rest on too; `None` where it has errors, or has to be judged alone.
fn resting_on(base: &Base, path: &str, rules: &RuleSet) -> Option<Audit> {
    base.judge(&base.loaded().resting(path, text(path).ok()?)?, rules)
}

/// What stopped a document, a sentence each, with its line.
fn sentences(stop: Stop) -> Vec<String> {
    match stop {
        Stop::Output(why) => vec![why.to_string()],
        Stop::Failure(words) => vec![words],
        Stop::Problems(problems, sources) => problems
            .iter()
            .filter(|problem| problem.severity == Severity::Error)
            .map(|problem| {
                let source = sources.source(problem.span().file);
                let line = source.line_column(problem.span().start).0;
                format!("{} ({}:{line})", problem.message, source.path)
            })
            .collect(),
    }
}
