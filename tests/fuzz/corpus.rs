//! What is mutated: the examples, the shipped rules, a list of known findings.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use asfound::rules::SHIPPED;
use asfound::syntax::words::STATEMENTS;

/// A folder of documents that rest on each other.
pub(crate) type Folder = Vec<(String, String)>;

/// A document that takes little time to judge, with a stage and a rail.
pub(crate) const SMALL: &str = "stock \"Sedge 1\"\nrail B1\nsource HT 250V behind 1k plus B1 minus chassis\n\
    tube V1 ECC83\nV1b unused grid V1b.cathode cathode chassis\nresistor R1 100k 1W from B1 to V1a.plate\n\
    resistor R2 1k5 0.5W from V1a.cathode to chassis\nresistor R3 1M 0.5W from V1a.grid to chassis\n\
    capacitor C1 25u 25V electrolytic plus V1a.cathode minus chassis\n";

/// A list as it is written, reasons put in.
const KNOWN: &str = "# Known findings. A danger counts all the same until its line ends in because \"…\".\n\nsmall.amp\n  \
    caution  rating-not-stated  R3\n  warning  dropper-overloaded  R1  because \"the owner waits for it\"\n  notice   \
    net-alone  V1a.plate\n\njobs/job-7.amp\n  danger   fuse-too-large  F1\n";

/// All of it.
pub(crate) struct Corpus {
    pub(crate) folders: Vec<Folder>,
    pub(crate) rules: Vec<String>,
    pub(crate) known: String,
    /// Complete statements, and every line of the examples.
    pub(crate) lines: Vec<String>,
    /// Words of all of them, and some that are none.
    pub(crate) words: Vec<String>,
}

impl Corpus {
    pub(crate) fn read() -> Corpus {
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
        let folders: Vec<Folder> = sorted(&examples).iter().map(|path| folder(path)).collect();
        let rules: Vec<String> = SHIPPED.iter().map(|(_, text)| (*text).to_owned()).collect();
        let texts = folders.iter().flatten().map(|(_, text)| text.as_str());
        let mut lines: Vec<String> = STATEMENTS.iter().map(|row| row.example.to_owned()).collect();
        lines.extend(texts.flat_map(str::lines).map(str::to_owned));
        let own = lines.iter().chain(&rules).flat_map(|text| text.split_whitespace());
        let words: BTreeSet<String> = own.chain(STRANGERS).map(str::to_owned).collect();
        Corpus { folders, rules, known: KNOWN.to_owned(), lines, words: words.into_iter().collect() }
    }
}

/// Words that no text of the corpus has.
const STRANGERS: [&str; 28] = [
    "0",
    "-1k",
    "1e300",
    "1e-300",
    "1e400",
    "1e-18F",
    "100%",
    "-5%",
    "µ\"µ",
    "\"",
    "\"\"",
    "(",
    ")",
    "{",
    "}",
    "V1.pin9",
    "V1..plate",
    "R1.",
    ".R1",
    "chassis.1",
    "J1.ring",
    "\u{feff}",
    "\r",
    "\t",
    "ﬀ",
    "e\u{301}",
    "4294967296",
    "99999999999999999999",
];

fn sorted(folder: &Path) -> Vec<std::path::PathBuf> {
    let entries = fs::read_dir(folder).expect("the examples are there");
    let mut paths: Vec<_> = entries.map(|entry| entry.expect("it can be listed").path()).collect();
    paths.sort();
    paths
}

fn folder(path: &Path) -> Folder {
    let documents = sorted(path).into_iter().filter(|path| path.extension().is_some_and(|end| end == "amp"));
    documents
        .map(|path| {
            let name = path.file_name().expect("a file has a name").to_string_lossy().into_owned();
            (name, fs::read_to_string(&path).expect("an example is text"))
        })
        .collect()
}
