//! Bad input: exit status 2 and a message that says what is wrong, never a panic.

use super::{Folder, MOOR};

const SUPPLY: &str = "stock \"X\"\nrail B1\nsource HT 300V behind 100R plus B1 minus chassis\n\
                      resistor R2 10k 5W from B1 to chassis\n";

/// Every command that reads a document refuses it with these words, in text and in JSON.
fn refused(folder: &Folder, file: &str, words: &str) {
    for command in ["volts", "roles", "audit", "lint"] {
        let ran = folder.run(&format!("{command} {file}"));
        assert_eq!(ran.status, 2, "{command} {file}: {ran:?}");
        assert!(ran.err.contains(words), "{command} {file}: {}", ran.err);
        let json = folder.run(&format!("{command} --format json {file}"));
        assert_eq!(json.status, 2, "{command} {file}");
        let value: serde_json::Value = serde_json::from_str(&json.out).unwrap();
        assert!(value["schema"].as_str().unwrap().starts_with("asfound/"), "{value}");
    }
}

/// As [`refused`], for one text.
fn refused_text(text: &str, words: &str) {
    refused(&Folder::of(&[("x.amp", text)]), "x.amp", words);
}

#[test]
fn what_is_no_text_file() {
    let folder = Folder::of(&[("empty.amp", "")]);
    folder.write("binary.amp", b"\x7fELF\0\0\0abc");
    folder.write("latin.amp", b"stock \"caf\xe9\"\n");
    folder.write("big.amp", &vec![b'#'; 16 * 1024 * 1024]);
    refused(&folder, "missing.amp", "there is no file missing.amp");
    refused(&folder, "empty.amp", "empty.amp is empty");
    refused(&folder, "binary.amp", "binary.amp is not a text file (byte 4 is zero)");
    refused(&folder, "latin.amp", "latin.amp is not UTF-8 text (byte 10 is not)");
    refused(&folder, "big.amp", "big.amp is longer than 8 MiB");
    std::fs::create_dir(folder.path("jobs.d")).unwrap();
    refused(&folder, "jobs.d", "jobs.d is a folder");
}

/// Lengths past the bounds are refused before they are worked on; what is within them is answered.
#[test]
fn what_is_too_long() {
    let folder = Folder::of(&[("x.amp", &format!("{SUPPLY}{}", "# x\n".repeat(20_001)))]);
    refused(&folder, "x.amp", "x.amp has more than 20000 lines");
    for command in ["tidy x.amp", "merge x.amp x.amp x.amp", "survey x.amp"] {
        let ran = folder.run(command);
        assert_eq!(ran.status, 2, "{command}");
        let told = format!("{}{}", ran.out, ran.err);
        assert!(told.contains("x.amp has more than 20000 lines"), "{command}: {told}");
    }
    let half = format!("{SUPPLY}{}", "# x\n".repeat(10_000));
    let folder = Folder::of(&[
        ("s.amp", &half),
        ("j.amp", &half.replace("stock \"X\"", "as-found \"j\" of \"s.amp\"")),
    ]);
    refused(&folder, "j.amp", "s.amp with what rests on it has more than 20000 lines");
}

#[test]
fn a_thousand_layers_and_no_more() {
    let stack = |layers: usize| {
        let folder = Folder::of(&[("0.amp", SUPPLY)]);
        for at in 1..layers {
            let text = format!("as-found \"{at}\" of \"{}.amp\"\nR2 checked\n", at - 1);
            folder.write(&format!("{at}.amp"), text.as_bytes());
        }
        folder
    };
    assert!(stack(1000).run("roles 999.amp").status < 2);
    let ran = stack(1001).run("roles 1000.amp");
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("more than 1000 documents rest on each other"), "{}", ran.err);
}

/// What would never end or never come is refused at once, whatever asks for it.
#[cfg(unix)]
#[test]
fn what_is_no_file_at_all() {
    let folder = Folder::of(&[("x.amp", SUPPLY)]);
    assert!(std::process::Command::new("mkfifo").arg(folder.path("pipe.amp")).status().unwrap().success());
    let _listening = std::os::unix::net::UnixListener::bind(folder.path("socket.amp")).unwrap();
    std::os::unix::fs::symlink("/dev/zero", folder.path("zero.amp")).unwrap();
    std::os::unix::fs::symlink("pipe.amp", folder.path("link.amp")).unwrap();
    let none = "is a pipe, a socket or a device";
    for file in ["pipe.amp", "socket.amp", "zero.amp", "link.amp"] {
        refused(&folder, file, &format!("{file} {none}"));
        for command in [
            "tidy FILE",
            "merge x.amp x.amp FILE",
            "lint --known FILE x.amp",
            "lint --rules FILE x.amp",
            "survey FILE",
        ] {
            let ran = folder.run(&command.replace("FILE", file));
            assert_eq!(ran.status, 2, "{command} {file}");
            assert!(format!("{}{}", ran.out, ran.err).contains(none), "{command} {file}: {ran:?}");
        }
    }
    folder.write("on.amp", b"as-found \"j\" of \"pipe.amp\"\n");
    refused(&folder, "on.amp", none);
}

#[test]
fn layers_that_rest_on_each_other() {
    let folder = Folder::of(&[
        ("a.amp", "as-found \"a\" of \"b.amp\"\n"),
        ("b.amp", "as-found \"b\" of \"a.amp\"\n"),
        ("c.amp", "as-found \"c\" of \"nowhere.amp\"\n"),
    ]);
    refused(&folder, "a.amp", "these documents rest on each other");
    refused(&folder, "c.amp", "there is no file nowhere.amp");
}

#[test]
fn values_and_parts_that_cannot_be() {
    refused_text(&format!("{SUPPLY}resistor R1 1e400 from B1 to chassis\n"), "`1e400` is too large");
    refused_text(
        &format!("{SUPPLY}resistor R1 0R 1W from B1 to chassis\n"),
        "a resistance here is above zero",
    );
    refused_text(
        &format!("{SUPPLY}resistor R1 -10k 1W from B1 to chassis\n"),
        "a resistance here is above zero",
    );
    refused_text(&format!("{SUPPLY}resistor R2 10k 1W from B1 to chassis\n"), "`R2` is declared twice");
    refused_text(
        &format!("{SUPPLY}resistor R1 10k 1W from B1 to R1.1\n"),
        "joins both legs of R1 to one net",
    );
}

#[test]
fn circuits_without_an_operating_point() {
    let floating = "stock \"X\"\nrail B1\nrail B2\nsource HT 300V behind 100R plus B1 minus B2\n\
                    resistor R2 10k 5W from B1 to B2\n";
    refused_text(floating, "nothing in this circuit is joined to chassis");
    let sources = "source H2 310V plus B1 minus chassis\nsource H3 320V plus B1 minus chassis\n";
    let folder = Folder::of(&[("x.amp", &format!("{SUPPLY}{sources}"))]);
    for command in ["volts", "audit", "lint"] {
        let ran = folder.run(&format!("{command} x.amp"));
        assert_eq!(ran.status, 2);
        assert!(ran.err.contains("contradicting sources in a loop: H2, H3"), "{}", ran.err);
        assert!(ran.err.contains("x.amp:5:1"), "{}", ran.err);
    }
}

/// Two sections each holding the other: every command tells both ways to rest and picks none.
#[test]
fn a_circuit_with_two_operating_points() {
    let text = "stock \"X\"\nrail B1\nnet NEG\nsource HT 300V plus B1 minus chassis\n\
        source NB 100V plus chassis minus NEG\ntube V1 ECC83 a.cathode chassis b.cathode chassis\n\
        resistor R1 100k 1W from B1 to V1a.plate\nresistor R2 100k 1W from B1 to V1b.plate\n\
        resistor R3 1M 0.5W from V1a.plate to V1b.grid\nresistor R4 1M 0.5W from V1b.plate to V1a.grid\n\
        resistor R5 470k 0.5W from V1a.grid to NEG\nresistor R6 470k 0.5W from V1b.grid to NEG\n";
    // Equal halves rest at neither start; with unequal ones a cold start would end at one of the two all the same.
    for text in [text.to_owned(), text.replace("R1 100k", "R1 110k")] {
        let folder = Folder::of(&[("x.amp", &text)]);
        for command in ["volts", "audit", "lint", "supply"] {
            let ran = folder.run(&format!("{command} x.amp"));
            assert_eq!(ran.status, 2, "{command} {ran:?}");
            assert_eq!(ran.err.matches("it can rest in 2 ways").count(), 1, "{command} {}", ran.err);
            assert!(ran.err.contains("V1a.plate at") && ran.err.contains("V1b.plate at"), "{}", ran.err);
        }
    }
}

/// Links that close on themselves, a net of capacitors alone, a grid that nothing holds, an output transformer
/// without a load: each told for what it is, or harmless.
#[test]
fn odd_circuits_are_told_for_what_they_are() {
    let bench = |more: &str| Folder::of(&[("x.amp", &format!("{SUPPLY}rail B2\n{more}"))]);
    let run = |more: &str| bench(more).run("volts x.amp");
    let ring = run("link W1 from B1 to B2\nlink W2 from B1 to B2\nresistor R5 10k 5W from B2 to chassis\n");
    assert_eq!(ring.status, 0, "{ring:?}");
    let stage = "tube V1 ECC83\nresistor R6 100k 1W from B1 to V1a.plate\n\
        resistor R7 1k5 0.5W from V1a.cathode to chassis\nV1b unused\nresistor R8 10k 5W from B1 to B2\n\
        resistor R9 10k 5W from B2 to chassis\n";
    let floating = run(&format!("{stage}capacitor C9 22n 400V film from V1a.grid to B2\n"));
    assert_eq!(floating.status, 2);
    assert!(floating.out.contains("V1a.grid: floats"), "{}", floating.out);
    let capacitors = "capacitor C8 22n 400V film from B1 to C9.1\ncapacitor C9 22n 400V film to B2\n\
        resistor R8 10k 5W from B1 to B2\nresistor R9 10k 5W from B2 to chassis\n";
    let alone = run(capacitors);
    assert_eq!(alone.status, 0, "{alone:?}");
    assert!(
        alone.out.contains("C8.2: only capacitors lead there, so rests at 0 V by leakage"),
        "{}",
        alone.out
    );
    let unloaded = bench(
        "output-transformer T2 primary 5k 200R 20H taps 8R plate-a V1.plate supply B1 common chassis\n\
        tube V1 EL84 screen B1\nresistor R6 150R 2W from V1.cathode to chassis\n\
        resistor R7 470k 0.5W from V1.grid to chassis\nresistor R8 10k 5W from B1 to B2\n\
        resistor R9 10k 5W from B2 to chassis\n",
    );
    // At rest a load is nothing; what an open secondary does to a signal is the rules' to say.
    let rest = unloaded.run("volts x.amp");
    assert_eq!(rest.status, 0, "{rest:?}");
    let told = unloaded.run("lint x.amp");
    assert!(told.out.contains("no speaker closes the secondary of T2"), "{told:?}");
}

#[test]
fn a_stock_spec_with_an_island() {
    let loose = "capacitor C1 100n 400V film from B1 to C2.plus\n\
        capacitor C2 10u 400V electrolytic minus chassis\n";
    let folder = Folder::of(&[("x.amp", &format!("{SUPPLY}{loose}"))]);
    let ran = folder.run("volts x.amp");
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("C1.2 has no DC path to chassis"), "{}", ran.err);
    assert!(ran.out.contains("Partly solved"), "{}", ran.out);
}

#[test]
fn several_problems_of_one_text_are_told_at_once() {
    let ran = Folder::of(&[("x.amp", "stock \"X\"\nresitor R1 1k\nrail B1 window 3V to lots\nR9 checked\n")])
        .run("volts x.amp");
    assert_eq!(ran.status, 2);
    assert_eq!(ran.err.matches("error:").count(), 3, "{}", ran.err);
}

#[test]
fn a_rule_with_ten_thousand_brackets() {
    let deep = format!("{}1{}", "(".repeat(10_000), ")".repeat(10_000));
    let rule = format!("rule deep\n  for each resistor r\n  danger when power(r) > {deep} W\n  say \"x\"\n");
    let folder = Folder::of(&[("moor.amp", MOOR), ("deep.rule", &rule)]);
    let ran = folder.run("lint --rules deep.rule moor.amp");
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("deep.rule"), "{}", ran.err);
}

#[test]
fn words_the_command_line_does_not_know() {
    let folder = Folder::bench();
    for line in ["frob moor.amp", "volts --in warm moor.amp", "lint --fail-on bad moor.amp", "volts"] {
        let ran = folder.run(line);
        assert_eq!(ran.status, 2, "{line}");
        assert!(!ran.err.is_empty() && ran.out.is_empty(), "{line}");
    }
    let ran = folder.run("rules dropper-overlaoded");
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("did you mean dropper-overloaded?"), "{}", ran.err);
}

/// A rule of a pack that takes more steps than it may ends the run in trouble, whatever else was found; one that is
/// small enough does not.
#[test]
fn a_rule_of_a_pack_that_is_too_large_is_trouble() {
    let nested =
        "count(every(count(fitted(d) for d in each part) > 0 for c in each part) for b in each part) < 0";
    let pack = format!(
        "rule far-too-many\n  for each part p\n  danger when {nested}\n  say \"x\"\n  sign \"x\"\n  danger \"x\"\n  \
         measure dead \"x\"\n  cure \"x\"\n  not seen \"x\"\n  source \"x\"\n  flags \"\"\"\n    a\n  \"\"\"\n  \
         passes \"\"\"\n    b\n  \"\"\"\n"
    );
    let with = |parts: usize| {
        let one = |n| format!("resistor R{n} 10k 5W from B1 to chassis\n");
        let resistors = (1..=parts).map(one).collect::<Vec<String>>().concat();
        let stock = format!(
            "stock \"Stint 1\"\nrail B1\nsource HT 300V behind 1R plus B1 minus chassis\n{resistors}"
        );
        Folder::of(&[("x.amp", &stock), ("house.rule", &pack)])
    };
    let large = with(199);
    for line in ["lint x.amp", "audit x.amp", "survey x.amp", "review --base x.amp x.amp"] {
        let ran = large.run(line);
        assert_eq!(ran.status, 2, "{line}: {}{}", ran.out, ran.err);
        assert!(
            ran.err.contains("the rule far-too-many is too large for this document"),
            "{line}: {}",
            ran.err
        );
    }
    assert!(with(9).run("lint x.amp").status < 2);
}
