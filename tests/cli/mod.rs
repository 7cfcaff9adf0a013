//! The command line: every command's output, and what becomes of bad input.
#![allow(clippy::unwrap_used, reason = "helpers of tests")]

use std::ffi::OsString;
use std::path::PathBuf;

use asfound::cli::{Console, run};
use tempfile::TempDir;

mod bad_input;
mod charge;
mod commands;
mod cures;
mod doors;
mod known;
mod open;
mod pages;
mod people;
mod process;
mod reach;
mod unknown_parts;
mod words;
mod written;

/// An invented stock spec: two triode stages and a single-ended output.
const MOOR: &str = r#"stock "Moor 5" "one-channel practice head"        # an invented maker and model

mains 230V 50Hz limits 207V to 253V
rail B1 "plates"   window 300V to 330V
rail B2 "screens"
rail B3 "preamp"

source HT 330V behind 120R unloaded 365V plus B1 minus chassis
capacitor C40 22u 450V electrolytic plus B1 minus chassis
resistor R40 1k 5W wirewound from B1 to B2
capacitor C41 22u 450V electrolytic plus B2 minus chassis
resistor R41 22k 2W from B2 to B3
capacitor C42 22u 450V electrolytic plus B3 minus chassis

jack J1 "Input" sleeve chassis
tube V1 ECC83
resistor R1 1M 0.5W from J1.tip to chassis
resistor R2 68k 0.5W from J1.tip to V1a.grid
resistor R3 1k5 0.5W from V1a.cathode to chassis
capacitor C1 25u 25V electrolytic plus V1a.cathode minus chassis
resistor R4 100k 1W from B3 to V1a.plate
capacitor C2 22n 400V film from V1a.plate to VR1.top
pot VR1 1M log "Volume" wiper V1b.grid bottom chassis at 60%
capacitor C3 120p 500V ceramic class-1 from VR1.top to VR1.wiper
resistor R5 1k5 0.5W from V1b.cathode to chassis
resistor R6 100k 1W from B3 to V1b.plate
capacitor C4 22n 400V film from V1b.plate to V2.grid
resistor R7 220k 0.5W from V2.grid to chassis
tube V2 6V6GT screen B2
resistor R8 470R 5W wirewound from V2.cathode to chassis
capacitor C5 25u 50V electrolytic plus V2.cathode minus chassis
output-transformer T2 primary 5k 250R 20H taps 8R plate V2.plate supply B1 common chassis 8R LS1.1
speaker LS1 8R 10W from T2.8R to chassis
drive J1 behind 10k
"#;

/// What the bench found.
const JOB: &str = r#"as-found "job 0501" of "moor.amp"
mains 236V
R3 R4 C1 checked
R8 replaced 250R 5W
C3 missing "snipped, legs still in the board"
R6 reads 131k
added resistor R90 1M 0.5W from VR1.top to chassis "squeal?"
meter B1 305V
meter B3 240V
meter V1a.plate 170V
meter V2.cathode 19V
meter T2.8R 3.1V ac at 1kHz
"#;

/// What is planned.
const PLAN: &str = r#"plan "back to stock, cooler" for "job.amp"
restore R8
restore C3
remove R90
change R5 to 2k2 0.5W "cooler second stage"
"#;

/// A folder of documents.
struct Folder(TempDir);

impl Folder {
    /// The Moor 5 with its job and plan.
    fn bench() -> Folder {
        Folder::of(&[("moor.amp", MOOR), ("job.amp", JOB), ("plan.amp", PLAN)])
    }

    fn of(files: &[(&str, &str)]) -> Folder {
        let folder = Folder(TempDir::new().unwrap());
        for (name, text) in files {
            folder.write(name, text.as_bytes());
        }
        folder
    }

    fn write(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.path(name), bytes).unwrap();
    }

    fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Runs a command line; a word that names a file of the folder stands for its path.
    fn run(&self, line: &str) -> Ran {
        let word = |word: &str| -> OsString {
            let path = self.path(word);
            if word.contains('.') || path.exists() { path.into() } else { word.into() }
        };
        let arguments = std::iter::once("asfound".into()).chain(line.split(' ').map(word));
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let status = run(arguments, &mut Console::new(&mut out, &mut err, None));
        let folder = format!("{}/", self.0.path().display());
        let plain = |bytes: &[u8]| {
            let text = String::from_utf8(bytes.to_vec()).unwrap();
            anstream::adapter::strip_str(&text).to_string().replace(&folder, "")
        };
        Ran { status, out: plain(&out), err: plain(&err) }
    }
}

/// How a run ended, without colours and without the folder's path.
#[derive(Debug)]
struct Ran {
    status: u8,
    out: String,
    err: String,
}
