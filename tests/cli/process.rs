//! The command as a process: colours, pipes, exit status.

use std::io::Read;
use std::process::{Command, Stdio};

use super::Folder;

fn command(folder: &Folder) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asfound"));
    command.current_dir(folder.0.path()).env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE");
    command
}

#[test]
fn no_colours_where_the_output_is_no_terminal_or_where_they_are_not_wanted() {
    let folder = Folder::bench();
    let plain = command(&folder).args(["audit", "job.amp"]).output().unwrap();
    assert!(!plain.stdout.contains(&0x1b));
    let refused = command(&folder)
        .args(["audit", "nowhere.amp"])
        .env("NO_COLOR", "1")
        .env("CLICOLOR_FORCE", "1")
        .output();
    assert!(!refused.unwrap().stderr.contains(&0x1b));
    let unwanted =
        command(&folder).args(["audit", "job.amp"]).env("NO_COLOR", "1").env("CLICOLOR_FORCE", "1").output();
    assert!(!unwanted.unwrap().stdout.contains(&0x1b));
    let wanted = command(&folder).args(["audit", "job.amp"]).env("CLICOLOR_FORCE", "1").output();
    assert!(wanted.unwrap().stdout.contains(&0x1b));
}

#[test]
fn a_reader_that_goes_away_is_no_trouble() {
    let folder = Folder::bench();
    let mut child = command(&folder)
        .args(["audit", "--fail-on", "danger", "--format", "json", "job.amp"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let status = child.wait().unwrap();
    let mut err = String::new();
    child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
    assert_eq!(status.code(), Some(0), "{err}");
    assert!(!err.contains("panic"), "{err}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_trouble_without_panic() {
    let folder = Folder::bench();
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let ran = command(&folder).args(["volts", "job.amp"]).stdout(full).output().unwrap();
    assert_eq!(ran.status.code(), Some(2));
    assert!(String::from_utf8(ran.stderr).unwrap().contains("can't write"));
}

/// Every command that prints, where nobody reads and where nothing can be written.
#[cfg(target_os = "linux")]
#[test]
fn every_command_ends_well_where_its_output_does_not() {
    let folder = Folder::bench();
    let lines = [
        "--help",
        "audit job.amp",
        "diff job.amp",
        "lint --format sarif job.amp",
        "review plan.amp",
        "supply moor.amp",
        "roles --format json moor.amp",
        "survey job.amp",
        "tidy moor.amp",
        "merge job.amp job.amp job.amp",
        "rules",
    ];
    for line in lines {
        let run = |out: Stdio| {
            command(&folder).args(line.split(' ')).stdout(out).stderr(Stdio::piped()).output().unwrap()
        };
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let ran = run(full.into());
        let err = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert_eq!(ran.status.code(), Some(2), "{line}: {err}");
        assert!(err.contains("can't write"), "{line}: {err}");
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let ran = run(writer.into());
        let err = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert_eq!(ran.status.code(), Some(0), "{line}: {err}");
        assert!(!err.contains("panic"), "{line}: {err}");
    }
    let bare = command(&folder).output().unwrap();
    assert_eq!(bare.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&bare.stderr).contains("Usage"), "{bare:?}");
}

/// Names that are no text, or hold a line end, and texts as other systems write them.
#[cfg(unix)]
#[test]
fn odd_names_and_odd_line_ends() {
    use std::os::unix::ffi::OsStrExt;
    let folder = Folder::bench();
    let stock = folder.read("moor.amp");
    let latin = std::ffi::OsStr::from_bytes(b"caf\xe9.amp");
    let names = [std::ffi::OsStr::new("two\nlines.amp"), latin];
    for name in names {
        std::fs::write(folder.0.path().join(name), &stock).unwrap();
        for words in [&["lint"][..], &["roles"], &["survey"], &["tidy"], &["audit", "--format", "json"]] {
            let ran = command(&folder).args(words).arg(name).output().unwrap();
            let err = String::from_utf8_lossy(&ran.stderr).into_owned();
            assert!(
                ran.status.code().is_some_and(|code| code <= 2) && !err.contains("panic"),
                "{words:?} {name:?}: {err}"
            );
            assert!(
                ran.status.code() != Some(2) || !(err.is_empty() && ran.stdout.is_empty()),
                "{words:?} {name:?}"
            );
        }
    }
    let plain = command(&folder).args(["roles", "moor.amp"]).output().unwrap();
    for (name, text) in [("mark.amp", format!("\u{feff}{stock}")), ("crlf.amp", stock.replace('\n', "\r\n"))]
    {
        folder.write(name, text.as_bytes());
        let ran = command(&folder).args(["roles", name]).output().unwrap();
        let out = String::from_utf8_lossy(&ran.stdout).replace(name, "moor.amp");
        assert_eq!(out, String::from_utf8_lossy(&plain.stdout), "{name}: {ran:?}");
    }
}

/// In a real repository: git shows changes of the circuit by the driver, canonical texts by the converter, and a
/// document is reviewed against a revision of itself.
#[test]
fn git_shows_circuits() {
    let folder = Folder::bench();
    let git = |arguments: &[&str]| {
        let mut git = Command::new("git");
        git.current_dir(folder.0.path()).args([
            "-c",
            "user.name=bench",
            "-c",
            "user.email=bench@example.org",
        ]);
        git.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null");
        let ran = git.args(arguments).output().expect("git runs");
        let told = String::from_utf8_lossy(&ran.stdout).into_owned();
        assert!(ran.status.success(), "{arguments:?}: {told}{}", String::from_utf8_lossy(&ran.stderr));
        told
    };
    let tool = env!("CARGO_BIN_EXE_asfound");
    git(&["init", "--quiet"]);
    git(&["config", "diff.amplifier.command", &format!("'{tool}' git-driver")]);
    let convert = format!("f() {{ '{tool}' tidy \"$1\" 2>/dev/null || cat \"$1\"; }}; f");
    git(&["config", "diff.amplifier.textconv", &convert]);
    std::fs::write(folder.path(".gitattributes"), "*.amp diff=amplifier\n").unwrap();
    git(&["add", "."]);
    git(&["commit", "--quiet", "-m", "as found"]);
    // Order and spacing alone are no change of the circuit.
    let text = folder.read("job.amp");
    let (head, rest) = text.split_once('\n').unwrap();
    let turned: Vec<&str> = rest.lines().rev().collect();
    std::fs::write(folder.path("job.amp"), format!("{head}\n{}\n", turned.join("\n"))).unwrap();
    let told = git(&["diff"]);
    assert!(told.contains("job.amp: 0 differences") && told.contains("The same circuit"), "{told}");
    // A change of the stock spec is told as one, as a circuit.
    let stock = folder.read("moor.amp");
    std::fs::write(folder.path("moor.amp"), stock.replacen("resistor R5 1k5", "resistor R5 2k7", 1)).unwrap();
    let told = git(&["diff", "moor.amp"]);
    assert!(
        told.contains("moor.amp: 1 difference\n") && told.contains("1k5") && told.contains("2k7"),
        "{told}"
    );
    // The converter: what differs in the canonical text.
    let told = git(&["diff", "--no-ext-diff", "moor.amp"]);
    assert!(told.lines().any(|line| line.starts_with("+resistor R5 2k7")), "{told}");
    let removed = git(&["diff", "--no-ext-diff", "-R", "moor.amp"]);
    assert!(removed.lines().any(|line| line.starts_with("-resistor R5 2k7")), "{removed}");
    // A document that can't be read is told, and git goes on.
    std::fs::write(folder.path("plan.amp"), "plan \"x\" for \"job.amp\"\nrestor R1\n").unwrap();
    let shown = git(&["diff", "--no-ext-diff", "plan.amp"]);
    assert!(shown.contains("+restor R1"), "{shown}");
    std::fs::write(folder.path("new.amp"), &stock).unwrap();
    git(&["add", "--intent-to-add", "new.amp"]);
    let told = git(&["diff"]);
    assert!(told.contains("moor.amp: 1 difference\n") && told.contains("new.amp: a new document"), "{told}");
    // What is said beside the circuit is told too.
    let told = job_with(&folder, &git, "meter B2 290V\n");
    assert!(told.contains("something else said of it") && told.contains("now meter B2 290V"), "{told}");
    let review = command(&folder).args(["review", "--base", "HEAD", "moor.amp"]).output().unwrap();
    let out = String::from_utf8_lossy(&review.stdout).into_owned();
    assert!(out.contains("(HEAD)") && out.contains("R5"), "{out}{}", String::from_utf8_lossy(&review.stderr));
    let nowhere = command(&folder).args(["review", "--base", "no-such", "moor.amp"]).output().unwrap();
    assert_eq!(nowhere.status.code(), Some(2));
    let why = String::from_utf8_lossy(&nowhere.stderr).into_owned();
    assert!(why.contains("can't be had from revision no-such"), "{why}");
}

/// The record with a line more, as git shows it.
fn job_with(folder: &Folder, git: &dyn Fn(&[&str]) -> String, line: &str) -> String {
    let text = git(&["show", "HEAD:job.amp"]) + line;
    std::fs::write(folder.path("job.amp"), text).unwrap();
    git(&["diff", "job.amp"])
}

/// The README's hook: what is staged is looked at, whatever lies beside it.
#[test]
fn the_hook_refuses_a_danger_that_is_staged() {
    let folder = Folder::bench();
    let readme = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    let hook = readme.split("```text\n").find(|text| text.starts_with("#!/bin/sh")).unwrap();
    let hook = hook.split("```").next().unwrap();
    let tools = std::path::Path::new(env!("CARGO_BIN_EXE_asfound")).parent().unwrap();
    let path = format!("{}:{}", tools.display(), std::env::var("PATH").unwrap());
    let git = |arguments: &[&str]| {
        let identity = ["-c", "user.name=bench", "-c", "user.email=bench@example.org"];
        let mut git = Command::new("git");
        git.current_dir(folder.0.path()).args(identity).args(arguments).env("PATH", &path);
        git.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null");
        git.output().expect("git runs")
    };
    assert!(git(&["init", "--quiet"]).status.success());
    git(&["add", "moor.amp"]);
    assert!(git(&["commit", "--quiet", "-m", "stock"]).status.success());
    let place = folder.path(".git/hooks/pre-commit");
    std::fs::create_dir_all(place.parent().unwrap()).unwrap();
    std::fs::write(&place, hook).unwrap();
    assert!(Command::new("chmod").arg("+x").arg(&place).status().unwrap().success());
    let sound = "as-found \"job\" of \"moor.amp\"\nR1 checked\n";
    std::fs::write(folder.path("job.amp"), format!("{sound}C40 reversed\n")).unwrap();
    git(&["add", "job.amp"]);
    std::fs::write(folder.path("job.amp"), sound).unwrap();
    let refused = git(&["commit", "--quiet", "-m", "job"]);
    assert!(!refused.status.success(), "{refused:?}");
    let told = [refused.stdout, refused.stderr].concat();
    let told = String::from_utf8_lossy(&told).into_owned();
    assert!(told.contains("Dangers") && told.contains("C40"), "{told}");
    git(&["add", "job.amp"]);
    let taken = git(&["commit", "--quiet", "-m", "job"]);
    assert!(taken.status.success(), "{taken:?}");
}
