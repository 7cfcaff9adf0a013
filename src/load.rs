//! A document and all it rests on, by relative path, read through a function that the caller gives.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use crate::circuit::{Types, has_types};
use crate::model::DocumentKind;
use crate::source::{FileId, Problem, ProblemCode, Source, Sources, Span, has_errors};
use crate::syntax::document;
use crate::syntax::tree::{Document, Said, Word};

/// Longest document that is read, with all that it rests on and its type data.
pub const LONGEST_DOCUMENT: usize = 8 * 1024 * 1024;

/// Most lines of a document with all that it rests on and its type data: the memory goes by them. A large amplifier has
/// two hundred.
pub const MOST_LINES: usize = 20_000;

/// Most documents that rest on each other: a century of visits.
pub const MOST_LAYERS: usize = 1000;

/// Type data that comes with the tool.
pub const SHIPPED_TYPES: [(&str, &str); 3] = [
    ("rules/types/small-signal.amp", include_str!("../rules/types/small-signal.amp")),
    ("rules/types/output.amp", include_str!("../rules/types/output.amp")),
    ("rules/types/rectifiers.amp", include_str!("../rules/types/rectifiers.amp")),
];

/// Reads the text at a path; the error is one sentence.
pub type Read<'a> = dyn FnMut(&str) -> Result<String, String> + 'a;

/// A document and those beneath it.
#[derive(Debug)]
pub struct Loaded {
    /// All texts that were read.
    pub sources: Sources,
    /// The documents, the stock spec first.
    pub stack: Vec<Document>,
    /// Shipped type data with what the documents' `types from` bring.
    pub types: Arc<Types>,
    /// All problems of all texts.
    pub problems: Vec<Problem>,
}

/// Shipped valve and diode types, with the texts that their places lead to: the first of all that is loaded.
static SHIPPED: LazyLock<(Sources, Arc<Types>)> = LazyLock::new(|| {
    let (mut sources, mut types) = (Sources::default(), Types::default());
    for (path, text) in SHIPPED_TYPES {
        types.note_shipped(sources.add(Source::new(path, text)), text);
    }
    (sources, Arc::new(types))
});

/// Shipped valve and diode types.
pub fn shipped_types() -> Arc<Types> {
    SHIPPED.1.clone()
}

/// Loads a document and all that it rests on. Cycles, unreadable bases and bases of the wrong kind are problems;
/// only the first document's being unreadable is a failure, as one sentence.
pub fn load(path: &str, read: &mut Read) -> Result<Loaded, String> {
    load_beside(Sources::default(), path, read)
}

/// As [`load`], with its texts beside those of an earlier load, so that places in all of them can be told apart.
pub fn load_beside(sources: Sources, path: &str, read: &mut Read) -> Result<Loaded, String> {
    let mut loading = Loading {
        loaded: Loaded { sources, stack: Vec::new(), types: SHIPPED.1.clone(), problems: Vec::new() },
        read,
        opened: BTreeMap::new(),
        length: 0,
        lines: 0,
    };
    if loading.loaded.sources.is_empty() {
        loading.loaded.sources = SHIPPED.0.clone();
    }
    let text = loading.text(path)?;
    loading.climb_down(path, text);
    loading.loaded.stack.reverse();
    loading.check_pins();
    let mut loaded = loading.loaded;
    loaded.problems.sort_by(|a, b| a.span().cmp(&b.span()).then_with(|| a.message.cmp(&b.message)));
    Ok(loaded)
}

/// A document read to rest on others that were loaded before.
#[derive(Debug)]
pub struct Resting {
    /// All texts.
    pub sources: Sources,
    /// The document.
    pub document: Document,
    /// Its own problems; whether its pin fits is not looked at.
    pub problems: Vec<Problem>,
}

impl Loaded {
    /// Reads a document that rests on these; `None` where it brings type data, which would be theirs too, or is
    /// too long.
    pub fn resting(&self, path: &str, text: String) -> Option<Resting> {
        too_many_lines(path, text.lines().count()).ok()?;
        let mut sources = self.sources.clone();
        let file = sources.add(Source::new(normal(path), text));
        let (document, problems) = document::parse(file, &sources.source(file).text);
        (!has_types(&document)).then_some(Resting { sources, document, problems })
    }
}

/// One sentence for a text that is not read.
pub(crate) fn too_long(what: &str) -> String {
    format!("{what} is longer than {} MiB, which no amplifier needs", LONGEST_DOCUMENT / (1024 * 1024))
}

/// The error is one sentence for a document that is not read.
pub(crate) fn too_many_lines(what: &str, lines: usize) -> Result<(), String> {
    let words = || format!("{what} has more than {MOST_LINES} lines, which no amplifier needs");
    if lines > MOST_LINES { Err(words()) } else { Ok(()) }
}

/// The path of what a document rests on, from its lines that look like a header; the document itself is not read.
pub fn base_of(path: &str, text: &str) -> Option<String> {
    let kinds = ["as-found", "plan", "as-left", "stock"];
    let heads = text.lines().map(str::trim_start);
    let mut heads = heads.filter(|line| kinds.iter().any(|kind| line.starts_with(kind)));
    heads.find_map(|line| {
        let base = document::parse(FileId(0), line).0.header()?.base.as_ref()?.value.clone();
        Some(relative(path, &base))
    })
}

struct Loading<'a, 'b> {
    loaded: Loaded,
    read: &'a mut Read<'b>,
    /// Paths opened on the way down, each with the place that named it.
    opened: BTreeMap<String, Option<Span>>,
    /// Bytes read so far.
    length: usize,
    lines: usize,
}

impl Loading<'_, '_> {
    fn text(&mut self, path: &str) -> Result<String, String> {
        let text = (self.read)(path)?;
        self.length += text.len();
        self.lines += text.lines().count();
        let alone = self.length == text.len();
        let what = if alone { path.to_owned() } else { format!("{path} with what rests on it") };
        if self.length > LONGEST_DOCUMENT {
            return Err(too_long(&what));
        }
        too_many_lines(&what, self.lines)?;
        Ok(text)
    }

    /// Parses a text; `named` is the place in another document that named it. What is no document is told there, and
    /// none of its lines is shown.
    fn parse(&mut self, path: &str, text: String, named: Option<Span>) -> Document {
        let file = self.loaded.sources.add(Source::new(path, text));
        let (document, problems) = document::parse(file, &self.loaded.sources.source(file).text);
        match named.filter(|_| document.header().is_none()) {
            Some(span) => self.loaded.problems.push(
                Problem::error(ProblemCode::NamesNoDocument, span, format!("{path} is no document"))
                    .here("named here")
                    .help(
                        "a document begins with a header such as `stock \"MODEL\"` or `type-data \"TITLE\"`",
                    ),
            ),
            None => self.loaded.problems.extend(problems),
        }
        document
    }

    /// Reads one document after the other, each the base of the one before.
    fn climb_down(&mut self, path: &str, text: String) {
        let mut path = normal(path);
        let mut text = text;
        let mut named = None;
        self.opened.insert(path.clone(), None);
        loop {
            let document = self.parse(&path, text, named);
            self.types_from(&path, &document);
            let base = document.header().and_then(|h| h.base.clone());
            let above = document.header().map(|h| h.kind.value);
            self.loaded.stack.push(document);
            let Some(base) = base else {
                if let Some(kind) =
                    above.filter(|k| !matches!(k, DocumentKind::Stock | DocumentKind::TypeData))
                {
                    self.no_base(kind);
                }
                return;
            };
            let beneath = relative(&path, &base.value);
            if self.opened.contains_key(&beneath) {
                self.cycle(&beneath, &base);
                return;
            }
            if self.loaded.stack.len() == MOST_LAYERS {
                self.too_many_layers(&base);
                return;
            }
            self.opened.insert(beneath.clone(), Some(base.span));
            match self.text(&beneath) {
                Ok(found) => text = found,
                Err(why) => {
                    let problem = Problem::error(ProblemCode::UnreadableBase, base.span, why);
                    self.loaded.problems.push(problem.help("the path is relative to this document's folder"));
                    return;
                }
            }
            path = beneath;
            named = Some(base.span);
        }
    }

    fn no_base(&mut self, kind: DocumentKind) {
        let already = has_errors(&self.loaded.problems);
        let Some(span) = self.loaded.stack.last().and_then(Document::header).map(|h| h.kind.span) else {
            return;
        };
        if !already {
            let text = format!("this {} rests on no document", kind_word(kind));
            let problem = Problem::error(ProblemCode::NoBase, span, text);
            self.loaded.problems.push(problem.help("name it: as-found \"job 0412\" of \"sedge-45.amp\""));
        }
    }

    /// A document that rests on itself, with every step of the loop.
    fn cycle(&mut self, path: &str, base: &Word) {
        let mut problem = Problem::error(
            ProblemCode::Cycle,
            base.span,
            format!("these documents rest on each other: {path}"),
        )
        .here("which closes the loop")
        .help("a layer rests on a document that was there before it; the lowest is a stock spec");
        for document in &self.loaded.stack {
            if let Some(base) = document.header().and_then(|h| h.base.as_ref()) {
                problem = problem.also(base.span, format!("rests on {}", base.value));
            }
        }
        self.loaded.problems.push(problem);
    }

    fn too_many_layers(&mut self, base: &Word) {
        let words = format!("more than {MOST_LAYERS} documents rest on each other");
        let help = "write what is there now as a stock spec or a record of its own, and go on from that";
        self.loaded.problems.push(Problem::error(ProblemCode::TooManyLayers, base.span, words).help(help));
    }

    fn types_from(&mut self, path: &str, document: &Document) {
        for statement in document.statements() {
            let Said::TypesFrom(word) = &statement.said else { continue };
            match self.text(&relative(path, &word.value)) {
                Ok(text) => {
                    let types = self.parse(&relative(path, &word.value), text, Some(word.span));
                    let mut problems = Vec::new();
                    Arc::make_mut(&mut self.loaded.types).take(&types, &mut problems);
                    self.loaded.problems.extend(problems);
                }
                Err(why) => {
                    self.loaded.problems.push(Problem::error(ProblemCode::UnreadableTypes, word.span, why));
                }
            }
        }
    }

    /// A pin that does not fit says that the document beneath has changed since.
    fn check_pins(&mut self) {
        let mut beneath: Option<String> = None;
        for document in &self.loaded.stack {
            let pin = document.header().and_then(|h| h.pin.as_ref());
            if let (Some(pin), Some(found)) = (pin, &beneath) {
                self.loaded.problems.extend(base_changed(pin, found));
            }
            beneath = Some(fingerprint(document, beneath.as_deref(), &self.loaded.sources));
        }
    }
}

/// A notice where what lies beneath is not what a pin says.
fn base_changed(pin: &Word, found: &str) -> Option<Problem> {
    let text = "the document beneath has changed since this one was written";
    (pin.value != found).then(|| {
        Problem::notice(ProblemCode::BaseChanged, pin.span, text)
            .here(format!("it is now {found}"))
            .help("look through its changes, then write the new figure here")
    })
}

/// 16 hexadecimal digits that change with any statement of a document or of those beneath it, and not with
/// comments or spacing (FNV-1a, 64 bits, over the canonical text).
pub fn fingerprint(document: &Document, beneath: Option<&str>, sources: &Sources) -> String {
    let mut text = beneath.unwrap_or("").to_owned();
    for statement in document.statements() {
        text.extend(sources.text(statement.span).split_whitespace());
        text.push('\n');
    }
    let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    format!("{hash:016x}")
}

fn kind_word(kind: DocumentKind) -> &'static str {
    match kind {
        DocumentKind::Stock => "stock spec",
        DocumentKind::AsFound => "as-found record",
        DocumentKind::Plan => "plan",
        DocumentKind::AsLeft => "as-left record",
        DocumentKind::TypeData => "type data",
    }
}

/// A path named in a document, from that document's folder.
pub fn relative(from: &str, path: &str) -> String {
    if path.starts_with('/') {
        return normal(path);
    }
    match from.rsplit_once('/') {
        Some((folder, _)) => normal(&format!("{folder}/{path}")),
        None => normal(path),
    }
}

/// `a/./b/../c` as `a/c`, so that one file has one name.
pub fn normal(path: &str) -> String {
    let mut kept: Vec<&str> = Vec::new();
    for step in path.split('/') {
        match step {
            "." => {}
            "" if !kept.is_empty() => {}
            ".." if kept.last().is_some_and(|last| !last.is_empty() && *last != "..") => {
                kept.pop();
            }
            step => kept.push(step),
        }
    }
    kept.join("/")
}

/// The file that a span of a problem is in, for callers that group by file.
pub fn file_of(problem: &Problem) -> FileId {
    problem.span().file
}
