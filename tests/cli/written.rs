//! Files that are written: in one step, with what they were kept, whatever ends the run.

#![allow(clippy::print_stdout, reason = "the table is shown")]
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use super::Folder;

/// The commands that write, and the file that each writes.
const WRITERS: [(&str, &[&str]); 3] = [
    ("tidy", &["tidy", "--write", "target"]),
    ("merge", &["merge", "--write", "base.amp", "target", "theirs.amp"]),
    ("list of known findings", &["lint", "--write-known", "target", "job.amp"]),
];

/// A folder in which each of the writers has something to do, and the target's text.
fn bench(writer: &str, size: usize) -> (Folder, String) {
    let folder = Folder::bench();
    let filler =
        |sign: &str| format!("{sign} what the bench saw, line by line, at some length\n").repeat(size);
    let text = match writer {
        "tidy" => format!("{}R1   checked\n{}", folder.read("job.amp"), filler("#")),
        "merge" => folder.read("job.amp") + &filler("#"),
        _ => format!("asfound known findings 1\n{}", filler("#")),
    };
    folder.write("base.amp", text.as_bytes());
    folder.write("theirs.amp", (text.clone() + "R1 checked\n").as_bytes());
    folder.write("target", text.as_bytes());
    (folder, text)
}

fn command(folder: &Folder, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asfound"));
    command.current_dir(folder.0.path()).args(arguments).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("the folder is there");
    let mut names: Vec<String> =
        entries.map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn a_written_file_keeps_mode_owner_and_links() {
    for (writer, arguments) in WRITERS {
        let (folder, old) = bench(writer, 1);
        fs::create_dir(folder.path("elsewhere")).unwrap();
        fs::rename(folder.path("target"), folder.path("elsewhere/real")).unwrap();
        fs::set_permissions(folder.path("elsewhere/real"), PermissionsExt::from_mode(0o640)).unwrap();
        symlink("elsewhere/hop", folder.path("target")).unwrap();
        symlink("real", folder.path("elsewhere/hop")).unwrap();
        let superuser = std::os::unix::fs::chown(folder.path("elsewhere/real"), Some(12), Some(34)).is_ok();
        let before = fs::metadata(folder.path("target")).unwrap();
        command(&folder, arguments).status().unwrap();
        let after = fs::metadata(folder.path("target")).unwrap();
        assert_ne!(fs::read_to_string(folder.path("elsewhere/real")).unwrap(), old, "{writer}");
        assert_eq!(after.mode(), before.mode(), "{writer}");
        assert_eq!((after.uid(), after.gid()), (before.uid(), before.gid()), "{writer}");
        assert!(!superuser || after.uid() == 12, "{writer}");
        for link in ["target", "elsewhere/hop"] {
            assert!(fs::symlink_metadata(folder.path(link)).unwrap().is_symlink(), "{writer} {link}");
        }
        assert_eq!(names(&folder.path("elsewhere")), ["hop", "real"], "{writer}");
    }
}

/// A list that is not there yet is made, with the mode that any new file gets, also through a link to nowhere.
#[test]
fn a_new_file_is_as_any_other() {
    let folder = Folder::bench();
    symlink("there.txt", folder.path("known.txt")).unwrap();
    folder.run("lint --write-known known.txt job.amp");
    fs::write(folder.path("plain.txt"), "").unwrap();
    let mode = |name: &str| fs::metadata(folder.path(name)).unwrap().mode();
    assert_eq!(mode("there.txt"), mode("plain.txt"));
    assert!(fs::symlink_metadata(folder.path("known.txt")).unwrap().is_symlink());
}

/// The other names of a file keep its old text, and that is said; what may not be written is not.
#[test]
fn hard_links_and_what_may_not_be_written() {
    let (folder, old) = bench("tidy", 1);
    fs::hard_link(folder.path("target"), folder.path("other")).unwrap();
    let ran = folder.run("tidy --write target");
    assert_eq!(
        (ran.status, ran.err.as_str()),
        (0, "asfound: target has other names (hard links), which keep the old text\n")
    );
    assert_eq!(folder.read("other"), old);
    assert_ne!(folder.read("target"), old);
    folder.write("target", old.as_bytes());
    fs::set_permissions(folder.path("target"), PermissionsExt::from_mode(0o444)).unwrap();
    let ran = folder.run("tidy --write target");
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("target can't be written: it is read-only"), "{ran:?}");
    fs::set_permissions(folder.path("target"), PermissionsExt::from_mode(0o644)).unwrap();
    symlink("loop.b", folder.path("loop.a")).unwrap();
    symlink("loop.a", folder.path("loop.b")).unwrap();
    let ran = folder.run("lint --write-known loop.a job.amp");
    assert!(ran.err.contains("lead to each other"), "{ran:?}");
    assert!(names(folder.0.path()).iter().all(|name| !name.starts_with('.')));
}

/// A name that a run left which ended between naming and renaming: the next one that writes the file takes it away.
#[cfg(target_os = "linux")]
#[test]
fn a_name_left_by_another_run_is_taken_away() {
    let (folder, _) = bench("tidy", 1);
    folder.write(".target.asfound-new", b"left");
    assert_eq!(folder.run("tidy --write target").status, 0);
    assert!(!names(folder.0.path()).iter().any(|name| name.starts_with('.')));
    assert!(folder.read("target").contains("\nR1 checked\n"));
}

/// How runs that were interrupted ended.
#[derive(Default)]
struct Ends {
    old: usize,
    new: usize,
    strays: usize,
}

/// Runs a writer over and over, ends each after a random time, and looks at what stands.
fn interrupted(writer: &str, arguments: &[&str], signal: &str, runs: usize) -> Ends {
    let (folder, old) = bench(writer, 4_000);
    let start = Instant::now();
    command(&folder, arguments).status().unwrap();
    let whole = start.elapsed();
    let new = folder.read("target");
    assert_ne!(new, old, "{writer}");
    let there = names(folder.0.path());
    let mut numbers = 0x0412_u64;
    let mut ends = Ends::default();
    for run in 0..runs {
        folder.write("target", old.as_bytes());
        let mut child = command(&folder, arguments).spawn().unwrap();
        numbers = numbers.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        std::thread::sleep(whole.mul_f64(1.1 * (numbers >> 40) as f64 / (1_u64 << 24) as f64));
        let killed =
            Command::new("kill").args([signal, &child.id().to_string()]).stderr(Stdio::null()).status();
        killed.unwrap();
        child.wait().unwrap();
        let stands = folder.read("target");
        assert!(stands == old || stands == new, "{writer}, {signal}, run {run}: {} bytes", stands.len());
        if stands == old {
            ends.old += 1;
        } else {
            ends.new += 1;
        }
        // Killed between naming and renaming a run leaves its name behind: the next takes it away.
        if names(folder.0.path()) != there {
            command(&folder, arguments).status().unwrap();
        }
        let now = names(folder.0.path());
        ends.strays += usize::from(now != there);
        for stray in now.iter().filter(|name| !there.contains(name)) {
            fs::remove_file(folder.path(stray)).unwrap();
        }
    }
    ends
}

/// `ASFOUND_KILLS=200` for more, with the table.
#[test]
fn the_old_or_the_new_file_stands_whole_when_a_run_is_killed() {
    let full = std::env::var("ASFOUND_KILLS").ok().and_then(|runs| runs.parse().ok());
    for (writer, arguments) in WRITERS {
        for signal in ["-KILL", "-INT"] {
            let Ends { old, new, strays } = interrupted(writer, arguments, signal, full.unwrap_or(6));
            if full.is_some() {
                println!("| {writer} | {signal} | old {old} | new {new} | strays {strays} |");
            }
            assert_eq!(strays, 0, "{writer} {signal}");
        }
    }
}

/// Where no more than some bytes of a file can be written, the old file stands and nothing else is left.
#[test]
fn the_old_file_stands_where_the_disk_takes_no_more() {
    for (writer, arguments) in WRITERS {
        for handled in ["", "trap '' XFSZ; "] {
            let (folder, old) = bench(writer, 100);
            let there = names(folder.0.path());
            let script = format!("{handled}ulimit -f 1; exec \"$0\" \"$@\"");
            let mut shell = Command::new("sh");
            shell.current_dir(folder.0.path()).args(["-c", &script, env!("CARGO_BIN_EXE_asfound")]);
            let ran = shell.args(arguments).output().unwrap();
            assert!(!ran.status.success(), "{writer}: {ran:?}");
            assert_eq!(folder.read("target"), old, "{writer}");
            assert_eq!(names(folder.0.path()), there, "{writer}");
            let told = String::from_utf8_lossy(&ran.stderr).into_owned();
            assert!(handled.is_empty() || told.contains("target can't be written"), "{writer}: {told}");
        }
    }
}

/// The same on a file system that is full in earnest, where one may be mounted.
#[cfg(target_os = "linux")]
#[test]
fn the_old_file_stands_on_a_full_file_system() {
    let script = "mount -t tmpfs -o size=64k tmpfs disk && cp moor.amp job.amp base.amp theirs.amp target disk && cd disk \
                  && cat /dev/zero > filler 2>/dev/null; ls -A > ../before; \"$0\" \"$@\"; echo $? > ../status; ls -A > ../after; \
                  cat target > ../stands";
    for (writer, arguments) in WRITERS {
        let (folder, old) = bench(writer, 100);
        fs::create_dir(folder.path("disk")).unwrap();
        let mut shell = Command::new("unshare");
        shell.current_dir(folder.0.path()).args(["-rm", "sh", "-c", script, env!("CARGO_BIN_EXE_asfound")]);
        let ran = shell.args(arguments).output();
        if !ran.is_ok_and(|ran| ran.status.success()) {
            return;
        }
        assert_eq!(folder.read("status"), "2\n", "{writer}");
        assert_eq!(folder.read("stands"), old, "{writer}");
        assert_eq!(folder.read("before"), folder.read("after"), "{writer}");
    }
}

/// A loop of readers never sees a half.
#[test]
fn a_reader_sees_the_old_or_the_new_file() {
    let (folder, old) = bench("tidy", 4_000);
    let mut child = command(&folder, WRITERS[0].1).spawn().unwrap();
    let until = Instant::now() + Duration::from_secs(30);
    let mut seen = old.clone();
    while child.try_wait().unwrap().is_none() && Instant::now() < until {
        let now = folder.read("target");
        assert!(
            now == old || now.contains("\nR1 checked\n") && now.len() + 2 == old.len(),
            "{} bytes",
            now.len()
        );
        seen = now;
    }
    assert!(child.wait().unwrap().success() && (seen == old || seen == folder.read("target")));
}
