//! What a document may name: files of its own tree, and of what is no document not a word.

use super::{Folder, MOOR};

const SECRET: &str = "token=kestrel-9431\nR1 kestrel-9431 checked\n";

fn folder(version_controlled: bool) -> Folder {
    let folder = Folder::of(&[]);
    for inner in ["archive", "archive/shop", "archive/shop/jobs"] {
        std::fs::create_dir(folder.path(inner)).unwrap();
    }
    if version_controlled {
        std::fs::create_dir(folder.path("archive/.git")).unwrap();
    }
    folder.write("outside.amp", MOOR.as_bytes());
    folder.write("archive/moor.amp", MOOR.as_bytes());
    folder.write("archive/shop/moor.amp", MOOR.as_bytes());
    folder
}

/// A page in one line, however it was wrapped.
fn flat(text: &str) -> String {
    text.replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn lint(folder: &Folder, base: &str, options: &str) -> super::Ran {
    let job = format!("as-found \"job 1\" of \"{base}\"\nR3 checked\n");
    folder.write("archive/shop/jobs/job.amp", job.as_bytes());
    folder.run(&format!("lint {options}archive/shop/jobs/job.amp"))
}

#[test]
fn a_document_s_tree_is_its_repository_or_the_folder_above() {
    let near = folder(false);
    assert_eq!(lint(&near, "../moor.amp", "").status, 1, "the folder above");
    let far = lint(&near, "../../moor.amp", "");
    assert_eq!(far.status, 2);
    assert!(
        flat(&far.err).contains("lies outside archive/shop and is not read; with --anywhere it is"),
        "{}",
        far.err
    );
    assert_eq!(lint(&near, "../../moor.amp", "--anywhere ").status, 1);
    let kept = folder(true);
    assert_eq!(lint(&kept, "../../moor.amp", "").status, 1, "the version-controlled tree");
    let out = lint(&kept, "../../../outside.amp", "");
    assert!(out.status == 2 && flat(&out.err).contains("lies outside archive and"), "{}", out.err);
    // Whether a file is there isn't told either.
    let nothing = lint(&kept, "../../../nothing.amp", "");
    assert!(flat(&nothing.err).contains("lies outside archive and"), "{}", nothing.err);
}

#[test]
fn every_command_stays_in_the_tree() {
    let folder = folder(true);
    folder.write("archive/job.amp", b"as-found \"job 2\" of \"../outside.amp\"\nR3 checked\n");
    folder.write("archive/types.amp", format!("{MOOR}types from \"../outside.amp\"\n").as_bytes());
    let commands = [
        "audit",
        "lint",
        "volts",
        "supply",
        "response",
        "roles",
        "survey",
        "diff",
        "review",
        "lint --format sarif",
        "diff --texts",
    ];
    for command in commands {
        for file in ["archive/job.amp", "archive/types.amp"] {
            let ran = folder.run(&format!("{command} {file}"));
            let told = flat(&(ran.err.clone() + &ran.out));
            let usage = told.contains("Usage");
            assert!(
                usage || (ran.status == 2 && told.contains("outside.amp lies outside")),
                "{command} {file}: {told}"
            );
        }
    }
    // A link out of the tree leads out of it.
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(folder.path("outside.amp"), folder.path("archive/link.amp")).unwrap();
        folder.write("archive/job.amp", b"as-found \"job 2\" of \"link.amp\"\nR3 checked\n");
        let ran = folder.run("lint archive/job.amp");
        assert!(ran.status == 2 && flat(&ran.err).contains("lies outside"), "{}", ran.err);
    }
}

#[test]
fn many_documents_that_share_a_base_outside_are_refused_too() {
    let folder = folder(true);
    for job in ["a", "b", "c"] {
        folder.write(&format!("archive/{job}.amp"), b"as-found \"job\" of \"../outside.amp\"\nR3 checked\n");
    }
    let ran = folder.run("survey archive/a.amp archive/b.amp archive/c.amp");
    assert!(ran.status == 2 && flat(&ran.out).matches("lies outside").count() == 3, "{}{}", ran.out, ran.err);
}

#[test]
fn a_file_that_is_no_document_is_never_quoted() {
    let folder = Folder::of(&[
        ("secrets.env", SECRET),
        ("job.amp", "as-found \"j\" of \"secrets.env\"\nR3 checked\n"),
    ]);
    folder.write("types.amp", format!("{MOOR}types from \"secrets.env\"\n").as_bytes());
    let pem = "-----BEGIN SECRET-----\nkestrelkestrel9431\n-----END SECRET-----\n";
    folder.write("key.env", pem.as_bytes());
    folder.write("key.amp", b"plan \"p\" for \"key.env\"\nrestore all\n");
    for file in ["job.amp", "types.amp", "key.amp", "key.env", "secrets.env"] {
        for command in
            ["lint", "lint --format json", "lint --format sarif", "audit", "survey", "tidy", "diff"]
        {
            let ran = folder.run(&format!("{command} {file}"));
            let told = ran.out + &ran.err;
            let own = file == "types.amp" && command == "tidy";
            assert!(own || ran.status == 2 || command == "tidy", "{command} {file}: {told}");
            assert!(!told.contains("kestrel"), "{command} {file}: {told}");
        }
    }
    let named = folder.run("lint job.amp");
    assert!(named.err.contains("secrets.env is no document"), "{}", named.err);
}
