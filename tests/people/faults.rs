//! The faults: each as lines of an as-found record, and as the same amplifier written out with nothing beneath.

#![allow(clippy::format_collect, reason = "documents are put together from lines")]

/// What is right to say of a fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Want {
    /// A danger to people.
    People,
    /// A warning, or worse.
    Warning,
}

/// One fault, told at one of `right`.
#[derive(Debug, Clone)]
pub(super) struct Fault {
    pub(super) kind: &'static str,
    pub(super) amplifier: &'static str,
    /// Lines of a record; none where a record has no words for it.
    pub(super) record: Option<String>,
    /// The whole stock document with the fault in it; none where a stock document has no words for it.
    pub(super) bare: Option<String>,
    /// What is right for the record and the bare document.
    pub(super) want: [Want; 2],
    pub(super) right: &'static [&'static str],
}

/// A mains side for the one that has none.
const MAINS_SIDE: &str = r#"mains 230V 50Hz
inlet P1 250V 10A live F1.1 earth chassis
fuse F1 500mA 250V slow "mains"
switch S1 250V 4A positions off on now on "Mains, both poles"
contact S1 on joins F1.2 to T1.primary.a
contact S1 on joins P1.neutral to T1.primary.b
transformer T1 mains 60W
winding T1.primary 230V 20R current 300mA
winding T1.heat 3.15V-0-3.15V 0R08 a side current 3A
heater T1.heat feeds V1 V2 reference centre to chassis
"#;

/// An example's text, with a mains side in any case.
pub(super) fn text(name: &str) -> String {
    let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("the example is there");
    match text.split_once('\n') {
        Some((first, rest)) if !text.contains("inlet P1") => format!("{first}\n{MAINS_SIDE}{rest}"),
        _ => text,
    }
}

/// Lists the faults of one amplifier.
struct Lister {
    amplifier: &'static str,
    text: String,
    faults: Vec<Fault>,
}

/// All faults, in order of amplifiers.
pub(super) fn faults(amplifiers: &[&'static str]) -> Vec<Fault> {
    let of = |amplifier: &&'static str| {
        let mut lister = Lister { amplifier, text: text(amplifier), faults: Vec::new() };
        lister.mains_within_reach();
        lister.high_tension();
        lister.earth();
        lister.fuses();
        lister.capacitors();
        lister.warnings();
        lister.faults
    };
    amplifiers.iter().flat_map(of).collect()
}

impl Lister {
    fn put(&mut self, kind: &'static str, texts: [Option<String>; 2], right: &'static [&'static str]) {
        let [record, bare] = texts;
        let want = [Want::People; 2];
        self.faults.push(Fault { kind, amplifier: self.amplifier, record, bare, want, right });
    }

    /// Parts that somebody added: a line each.
    fn add(&mut self, kind: &'static str, lines: &[String], right: &'static [&'static str]) {
        let record = lines.iter().map(|line| format!("added {line}\n")).collect();
        let bare = format!("{}\n{}\n", self.text, lines.join("\n"));
        self.put(kind, [Some(record), Some(bare)], right);
    }

    /// The text with something else in place of each of its lines that contains `key`.
    fn edited(&self, edits: &[(&str, &str)]) -> String {
        edits.iter().fold(self.text.clone(), |text, (from, to)| {
            assert!(text.contains(from), "{}: {from}", self.amplifier);
            text.replace(from, to)
        })
    }

    /// The text with another line in place of the one that begins so.
    fn line_instead(&self, start: &str, line: &str) -> String {
        self.text.lines().map(|own| if own.starts_with(start) { line } else { own }).fold(
            String::new(),
            |mut text, line| {
                text.push_str(line);
                text.push('\n');
                text
            },
        )
    }

    fn mains_within_reach(&mut self) {
        for from in ["P1.live", "P1.neutral", "T1.primary.a"] {
            self.joins(["chassis: wire", "chassis: resistor", "chassis: two in series"], from, "chassis");
            self.add(
                "chassis: capacitor",
                &[format!("capacitor C90 47n 630V film from {from} to chassis")],
                &["C90"],
            );
            let both = [
                format!("resistor R90 1k 1W from {from} to C90.1"),
                "capacitor C90 47n 630V film to chassis".to_owned(),
            ];
            self.add("chassis: two in series", &both, &["R90", "C90"]);
        }
        for to in ["J1.tip", "J1.sleeve", "T2.8R"] {
            for from in ["P1.live", "P1.neutral"] {
                self.joins(
                    ["jack or speaker: wire", "jack or speaker: resistor", "jack or speaker: two"],
                    from,
                    to,
                );
            }
        }
        for from in ["T1.primary.a", "P1.neutral"] {
            let kinds =
                ["primary to secondary: wire", "primary to secondary: resistor", "primary to secondary: two"];
            self.joins(kinds, from, "T1.heat.a");
        }
    }

    /// By wire, through a resistor, through two.
    fn joins(&mut self, kinds: [&'static str; 3], from: &str, to: &str) {
        self.add(kinds[0], &[format!("link W90 from {from} to {to}")], &["W90"]);
        self.add(kinds[1], &[format!("resistor R90 4k7 1W from {from} to {to}")], &["R90"]);
        let both =
            [format!("resistor R90 470R 1W from {from} to R91.1"), format!("resistor R91 2k2 1W to {to}")];
        self.add(kinds[2], &both, &["R90", "R91"]);
    }

    fn high_tension(&mut self) {
        for from in ["B1", "B2", "B3"] {
            self.joins(["HT on a tip: wire", "HT on a tip: resistor", "HT on a tip: two"], from, "J1.tip");
        }
    }

    fn earth(&mut self) {
        let lifted = self.edited(&[("live F1.1 earth chassis", "live F1.1")]);
        self.put("earth lifted", [Some("P1.earth lifted\n".to_owned()), Some(lifted)], &["P1"]);
        let two = self
            .edited(&[("inlet P1 250V 10A live F1.1 earth chassis", "inlet P1 two-core 250V 10A live F1.1")]);
        self.put("earth missing", [Some("P1 replaced two-core\n".to_owned()), Some(two)], &["P1"]);
        let part = "resistor R90 10R 5W from P1.earth to chassis";
        let through = format!("{}\n{part}\n", self.edited(&[("live F1.1 earth chassis", "live F1.1")]));
        let record = "P1.earth moved to R90.1\nadded resistor R90 10R 5W to chassis\n".to_owned();
        self.put("earth through a part", [Some(record), Some(through)], &["P1", "R90"]);
    }

    fn fuses(&mut self) {
        let past = self.line_instead("fuse F1", "").replace("live F1.1 ", "").replace("F1.2", "P1.live");
        self.put("fuse missing", [Some("P1.live moved to F1.2\n".to_owned()), Some(past)], &["P1", "F1"]);
        self.add("fuse bridged", &["link W90 from F1.1 to F1.2".to_owned()], &["F1", "W90", "P1"]);
        self.put("fuse shorted", [Some("F1 shorted\n".to_owned()), None], &["F1"]);
        let neutral =
            self.edited(&[("live F1.1", "neutral F1.1"), ("joins P1.neutral to", "joins P1.live to")]);
        let record = "P1 live swapped with neutral\n".to_owned();
        self.put("fuse in the neutral alone", [Some(record), Some(neutral)], &["F1", "P1"]);
        for amps in ["6.3A", "10A"] {
            let larger = self.line_instead("fuse F1", &format!("fuse F1 {amps} 250V slow"));
            let record = format!("F1 replaced {amps} 250V slow\n");
            self.put("fuse too large", [Some(record), Some(larger)], &["F1"]);
            // Without a spec it is above twice the full-load current, which is a warning.
            self.faults.last_mut().expect("just put").want[1] = Want::Warning;
        }
    }

    fn capacitors(&mut self) {
        for (from, made) in [
            ("P1.live", "4n7 500V ceramic"),
            ("P1.neutral", "22n 630V paper"),
            ("T1.primary.b", "100n 400V film"),
        ] {
            let line = format!("capacitor C90 {made} from {from} to chassis");
            self.add("capacitor without class", &[line], &["C90"]);
        }
        for made in ["470n", "1u", "2u2"] {
            let line = format!("capacitor C90 {made} 275V class-X2 from P1.live to P1.neutral");
            self.add("charge at the plug", &[line], &["C90"]);
        }
    }

    fn warnings(&mut self) {
        let before = self.faults.len();
        self.add("switch in the neutral alone", &["link W90 from F1.2 to T1.primary.a".to_owned()], &["S1"]);
        let car = self.line_instead("fuse F1", "fuse F1 500mA 32V slow");
        self.put(
            "fuse under mains volts",
            [Some("F1 replaced 500mA 32V slow\n".to_owned()), Some(car)],
            &["F1"],
        );
        for (kind, made) in [("switch under volts", "125V 10A"), ("switch under amperes", "250V 100mA")] {
            let line = format!("switch S1 {made} positions off on now on");
            self.put(kind, [None, Some(self.line_instead("switch S1", &line))], &["S1"]);
        }
        let load = "resistor R90 0R5 100W from T1.heat.a to T1.heat.b".to_owned();
        self.add("heater winding over its current", &[load], &["T1"]);
        let tie = "link W90 from T1.heat.a to T1.heat.b".to_owned();
        self.add("heater ends tied", &[tie], &["T1", "W90"]);
        let unfed = self.edited(&[("feeds V1 V2", "feeds V2")]);
        self.put("heater not fed", [None, Some(unfed)], &["V1"]);
        for fault in &mut self.faults[before..] {
            fault.want = [Want::Warning; 2];
        }
    }
}
