//! The list of known findings as a file: what it is told by, and what of it stays.

use super::Folder;

/// The file name forgotten, the shell supplies the first job in its place: no document, and no other file, is taken for a
/// list or written over.
#[test]
fn a_file_that_is_no_list_of_known_findings_is_left_alone() {
    let folder = Folder::bench();
    let notes = "# Known findings\njob.amp\n  caution part-drifted R6\n";
    for (name, text) in [("notes.txt", notes), ("empty.txt", ""), ("first.amp", &folder.read("job.amp"))] {
        folder.write(name, text.as_bytes());
        for line in [
            format!("survey --write-known {name} job.amp plan.amp"),
            format!("lint --write-known {name} job.amp"),
            format!("audit --write-known {name} job.amp"),
            format!("lint --known {name} job.amp"),
            format!("survey --known {name} job.amp"),
        ] {
            let ran = folder.run(&line);
            assert_eq!(ran.status, 2, "{line}: {ran:?}");
            assert!(ran.err.contains("not a list of known findings"), "{line}: {ran:?}");
            assert_eq!(folder.read(name), text, "{line}");
        }
    }
    let ran = folder.run("lint --write-known . job.amp");
    assert_eq!(ran.status, 2, "{ran:?}");
}

/// What the first version wrote is read as before, and stays as it is but for what is new.
#[test]
fn a_list_of_an_earlier_version_is_one() {
    let folder = Folder::bench();
    folder.run("lint --write-known new.txt job.amp");
    let new = folder.read("new.txt");
    let head = "asfound known findings 1\n# A danger counts all the same until its line ends in because \"…\"; one to people \
                always.\n";
    let rest = new.strip_prefix(head).expect("its first line says what it is");
    let old = "# Known findings. A danger counts all the same until its line ends in because \"…\".\n"
        .to_owned()
        + rest;
    folder.write("old.txt", old.as_bytes());
    assert_eq!(folder.run("lint --write-known old.txt job.amp").status, folder.run("lint job.amp").status);
    assert_eq!(folder.read("old.txt"), old);
}

/// A list noted anew keeps comments, order and reasons; a document that has no operating point, one that can't be read
/// and one judged in one state alone take nothing out of it.
#[test]
fn what_is_written_in_a_list_by_hand_stays() {
    let folder = Folder::bench();
    folder.run("survey --write-known known.txt job.amp plan.amp");
    let noted = folder.read("known.txt");
    let mut lines: Vec<String> = noted.lines().map(str::to_owned).collect();
    let at = lines.iter().position(|line| line == "job.amp").expect("the job is in it");
    let end =
        at + 1 + lines[at + 1..].iter().position(|line| line.trim().is_empty()).expect("the plan follows");
    lines[at + 1..end].reverse();
    for (of, words) in
        [("part-drifted  R6", "  # in the margin"), ("non-stock  R8", "  because \"the owner knows\"")]
    {
        let line = lines[at..end].iter_mut().find(|line| line.ends_with(of)).expect("it is in it");
        *line += words;
    }
    lines.insert(at + 2, "  # told on the telephone".to_owned());
    lines.insert(at, "# bench two".to_owned());
    let by_hand = lines.join("\n") + "\n";
    folder.write("known.txt", by_hand.as_bytes());
    for line in [
        "lint --write-known known.txt job.amp",
        "survey --write-known known.txt plan.amp job.amp",
        "lint --in standby --write-known known.txt plan.amp",
        "lint --in high-mains --write-known known.txt job.amp",
    ] {
        folder.run(line);
        assert_eq!(folder.read("known.txt"), by_hand, "{line}");
    }
    let job = folder.read("job.amp");
    folder.write("job.amp", format!("{job}C3 mising\n").as_bytes());
    assert_eq!(folder.run("survey --write-known known.txt job.amp").status, 2);
    assert_eq!(folder.read("known.txt"), by_hand);
    // A finding that is gone takes its line away, and not what a person wrote on it.
    folder.write("job.amp", b"as-found \"job 0501\" of \"moor.amp\"\n");
    folder.run("lint --write-known known.txt job.amp");
    let now = folder.read("known.txt");
    for words in ["# bench two", "# told on the telephone", "# in the margin", "because \"the owner knows\""]
    {
        assert!(now.contains(words), "{words}: {now}");
    }
    let (jobs, plans) = now.split_once("\nplan.amp\n").expect("the plan is in it");
    assert_eq!(jobs.matches("  # no more: ").count(), 2, "{now}");
    assert!(!jobs.contains("\n  caution  part-drifted  R6") && plans.contains("part-drifted  R6\n"), "{now}");
}
