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
