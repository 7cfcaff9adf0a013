//! One case: files with a mutation in them, and what is asked of the tool about them.

use std::ffi::OsString;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use asfound::cli::{Console, run};
use asfound::rules::RuleSet;
use asfound::source::FileId;

use crate::corpus::{Corpus, SMALL};
use crate::mutate::{Numbers, mutated};

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
enum Asked {
    /// The canonical text, again of what came out, and what the parts are for.
    Tidy,
    /// A merge of the three, and whether the result reads.
    Merge,
    /// Whether the rules load, and with the flag what they say.
    Rules(bool),
    /// A list compared, written anew, and written once more.
    Known,
    /// A command that works it all out.
    Whole(&'static str),
}

/// Commands that work it all out.
const WHOLE: [&str; 12] = [
    "lint",
    "audit",
    "volts",
    "supply",
    "response",
    "review",
    "diff",
    "lint --format json",
    "lint --format sarif",
    "audit --format json",
    "response --format json",
    "volts --format json --spread",
];

/// Files and a question.
#[derive(Debug, Clone)]
pub(crate) struct Case {
    /// The one that is mutated, last those that stay.
    pub(crate) files: Vec<(String, Vec<u8>)>,
    asked: Asked,
    /// Whether everything is asked twice.
    twice: bool,
}

/// How a command ended.
type Ran = (u8, String, String);

impl Case {
    /// The case of a number.
    pub(crate) fn new(corpus: &Corpus, seed: u64, number: u64) -> Case {
        let mut numbers =
            Numbers(seed.wrapping_mul(0x0100_0000_01b3) ^ number.wrapping_mul(0x5851_f42d_4c95_7f2d));
        let asked = match number % 40 {
            0 => Asked::Known,
            20 => Asked::Whole(WHOLE[numbers.below(WHOLE.len())]),
            10 => Asked::Rules(true),
            n if n % 7 == 1 => Asked::Merge,
            n if n % 5 == 2 => Asked::Rules(false),
            _ => Asked::Tidy,
        };
        let folder = numbers.of(&corpus.folders);
        let which = numbers.below(folder.len());
        let original = &folder[which].1;
        let mut vary = |text: &str| mutated(text, corpus, &mut numbers);
        let mut files = match asked {
            Asked::Merge => vec![
                ("theirs.amp".to_owned(), vary(original)),
                ("ours.amp".to_owned(), vary(original)),
                ("base.amp".to_owned(), original.clone().into_bytes()),
            ],
            Asked::Rules(_) => {
                let at = numbers.below(corpus.rules.len());
                let rule = mutated(&corpus.rules[at], corpus, &mut numbers);
                vec![("x.rule".to_owned(), rule), ("small.amp".to_owned(), SMALL.into())]
            }
            Asked::Known => {
                vec![("known.txt".to_owned(), vary(&corpus.known)), ("small.amp".to_owned(), SMALL.into())]
            }
            Asked::Tidy | Asked::Whole(_) => vec![(folder[which].0.clone(), vary(original))],
        };
        let beside = folder.iter().filter(|_| matches!(asked, Asked::Tidy | Asked::Whole(_)));
        files.extend(
            beside
                .filter(|f| f.0 != folder[which].0)
                .map(|(name, text)| (name.clone(), text.clone().into_bytes())),
        );
        Case { files, asked, twice: number % 16 < 4 }
    }

    /// Runs it in a folder; how many runs that were, or what failed.
    pub(crate) fn run(&self, folder: &Path) -> Result<u64, String> {
        for (name, bytes) in &self.files {
            fs::write(folder.join(name), bytes).map_err(|why| why.to_string())?;
        }
        let ended = match &self.asked {
            Asked::Tidy => self.tidy(folder),
            Asked::Merge => self.merge(folder),
            Asked::Rules(judged) => self.rules(folder, *judged),
            Asked::Known => self.known(folder),
            Asked::Whole(command) => self.ask(folder, command, &[&self.files[0].0]).map(|_| 1),
        };
        for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
            fs::remove_file(entry.path()).map_err(|why| why.to_string())?;
        }
        ended
    }

    fn tidy(&self, folder: &Path) -> Result<u64, String> {
        let name = self.files[0].0.as_str();
        let (status, tidied, err) = self.ask(folder, "tidy", &[name])?;
        if err.contains("would say something else") {
            return Err("the canonical text says something else".to_owned());
        }
        self.ask(folder, "roles", &[name])?;
        if status > 0 {
            return Ok(2);
        }
        fs::write(folder.join("again.amp"), &tidied).map_err(|why| why.to_string())?;
        let again = self.ask(folder, "tidy", &["again.amp"])?;
        if (again.0, &again.1) != (0, &tidied) {
            return Err(format!("the canonical text is not canonical: {}", again.2));
        }
        Ok(3)
    }

    fn merge(&self, folder: &Path) -> Result<u64, String> {
        let (status, merged, _) = self.ask(folder, "merge", &["base.amp", "ours.amp", "theirs.amp"])?;
        if status == 2 {
            return Ok(1);
        }
        fs::write(folder.join("merged.amp"), &merged).map_err(|why| why.to_string())?;
        let (read, _, err) = self.ask(folder, "tidy", &["merged.amp"])?;
        // Two sound texts may say of one thing what can't both be; then that is an error at its line, not an unread one.
        if read == 2 && (err.contains("not a statement") || err.contains("would say something else")) {
            return Err(format!("what was merged can't be read: {err}"));
        }
        Ok(2)
    }

    fn rules(&self, folder: &Path, judged: bool) -> Result<u64, String> {
        let text = String::from_utf8_lossy(&self.files[0].1).into_owned();
        let load = || catch_unwind(|| format!("{:?}", RuleSet::load(&[(FileId(0), &text)]).1));
        match (load(), load()) {
            (Ok(first), Ok(second)) if first == second => {}
            (Ok(_), Ok(_)) => return Err("rules load otherwise the second time".to_owned()),
            _ => return Err("panic while rules load".to_owned()),
        }
        if judged {
            self.ask(folder, "lint --rules x.rule", &["small.amp"])?;
        }
        Ok(2 + u64::from(judged))
    }

    fn known(&self, folder: &Path) -> Result<u64, String> {
        self.ask(folder, "lint --known known.txt", &["small.amp"])?;
        let written = || fs::read(folder.join("known.txt")).unwrap_or_default();
        let (status, ..) = self.ask(folder, "lint --write-known known.txt", &["small.amp"])?;
        if status == 2 {
            return if written() == self.files[0].1 {
                Ok(2)
            } else {
                Err("a refused list was changed".to_owned())
            };
        }
        let once = written();
        self.ask(folder, "lint --write-known known.txt", &["small.amp"])?;
        if written() == once { Ok(3) } else { Err("the list changes when nothing else does".to_owned()) }
    }

    /// One command; what is true of every one is looked at.
    fn ask(&self, folder: &Path, command: &str, files: &[&str]) -> Result<Ran, String> {
        let first = ran(folder, command, files)?;
        // A command that writes finds something else the second time.
        if self.twice && !command.contains("write") && first != ran(folder, command, files)? {
            return Err(format!("{command} says something else the second time"));
        }
        let (status, out, err) = &first;
        if *status == 2 && err.is_empty() && out.is_empty() {
            return Err(format!("{command} is in trouble and doesn't say why"));
        }
        if *status > 2 {
            return Err(format!("{command} ends with status {status}"));
        }
        let said = self.files.iter().any(|(_, bytes)| no_number(&String::from_utf8_lossy(bytes)));
        if no_number(out) && !said {
            return Err(format!("{command} prints no number: {out}"));
        }
        if command.contains("json") && serde_json::from_str::<serde_json::Value>(out).is_err() {
            return Err(format!("{command} prints no JSON"));
        }
        Ok(first)
    }

    /// The files in words.
    pub(crate) fn told(&self) -> String {
        let file = |(name, bytes): &(String, Vec<u8>)| {
            format!(
                "--- {name}\n{}\n",
                String::from_utf8_lossy(bytes).escape_debug().to_string().replace("\\n", "\n")
            )
        };
        let shown: String =
            self.files.iter().take(if self.asked == Asked::Merge { 3 } else { 1 }).map(file).collect();
        format!("{:?} of\n{shown}", self.asked)
    }
}

fn ran(folder: &Path, command: &str, files: &[&str]) -> Result<Ran, String> {
    let own = |word: &str| folder.join(word).into_os_string();
    let words =
        command.split(' ').map(|word| if word.contains('.') { own(word) } else { OsString::from(word) });
    let arguments: Vec<OsString> =
        std::iter::once("asfound".into()).chain(words).chain(files.iter().map(|file| own(file))).collect();
    let ended = catch_unwind(AssertUnwindSafe(|| {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let status = run(arguments, &mut Console::new(&mut out, &mut err, None));
        (status, out, err)
    }));
    let Ok((status, out, err)) = ended else { return Err(format!("panic in {command}")) };
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).map_err(|_| format!("{command} prints no text"));
    Ok((status, text(out)?, text(err)?))
}

/// Whether a text has what a figure that is none prints as.
fn no_number(text: &str) -> bool {
    text.split(|c: char| !c.is_alphanumeric()).any(|word| word == "NaN" || word == "inf")
}
