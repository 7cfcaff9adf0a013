//! The faults: each as lines of an as-found record, and as the same amplifier written out with nothing beneath. Places and
//! values are drawn from a seed.

#![allow(clippy::format_collect, reason = "documents are put together from lines")]

use std::fmt::Write as _;

use super::places::Places;
use crate::robust::Numbers;

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
    pub(super) shape: Shape,
    /// Lines of a record; none where a record has no words for it.
    pub(super) record: Option<String>,
    /// The whole stock document with the fault in it; none where a stock document has no words for it.
    pub(super) bare: Option<String>,
    /// What is right for the record and the bare document.
    pub(super) want: [Want; 2],
    pub(super) right: &'static [&'static str],
}

/// Which sound amplifier the fault is done to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Shape {
    /// The example as it is.
    Plain,
    /// The same on a lead of two cores, insulated throughout.
    ClassTwo,
    /// The same with two primaries and a selector of the mains volts.
    Selector,
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

/// An example's text in a shape.
pub(super) fn text(name: &str, shape: Shape) -> String {
    let plain = plain(name);
    match shape {
        Shape::Plain => plain,
        Shape::ClassTwo => {
            let lead = "inlet P1 250V 10A live F1.1 earth chassis";
            assert!(plain.contains(lead), "{name}");
            let text = plain.replace(lead, "inlet P1 two-core 250V 10A live F1.1");
            let text = text.replace("insulation class-I\n", "");
            format!("{text}\ninsulation class-II\n")
        }
        Shape::Selector => selector(&plain),
    }
}

/// Two windings of half the volts in place of the primary, and a switch that puts them one behind the other or side by side.
fn selector(plain: &str) -> String {
    let mut text = String::new();
    for line in plain.lines() {
        let words: Vec<&str> = line.split_whitespace().collect();
        if let ["winding", "T1.primary", "230V", ohms, rest @ ..] = words.as_slice() {
            for name in ["primary", "primary2"] {
                let _ = writeln!(text, "winding T1.{name} 115V {ohms} {}", rest.join(" "));
            }
        } else {
            let _ = writeln!(text, "{}", line.replace("to T1.primary.b", "to T1.primary2.b"));
        }
    }
    text.push_str(
        "switch S9 250V 10A positions 230 115 now 230 \"mains volts\"\n\
         contact S9 230 joins T1.primary.b to T1.primary2.a\n\
         contact S9 115 joins T1.primary.a to S9.x\n\
         contact S9 115 joins T1.primary.b to S9.y\n\
         link W81 from S9.x to T1.primary2.a\nlink W82 from S9.y to T1.primary2.b\n",
    );
    text
}

/// An example's text, with a mains side in any case.
fn plain(name: &str) -> String {
    let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("the example is there");
    match text.split_once('\n') {
        Some((first, rest)) if !text.contains("inlet P1") => format!("{first}\n{MAINS_SIDE}{rest}"),
        _ => text,
    }
}

/// Lists the faults of one amplifier.
pub(super) struct Lister {
    pub(super) amplifier: &'static str,
    pub(super) shape: Shape,
    pub(super) text: String,
    pub(super) places: Places,
    pub(super) numbers: Numbers,
    pub(super) faults: Vec<Fault>,
}

/// All faults, in order of amplifiers, as a seed draws them.
pub(super) fn faults(amplifiers: &[&'static str], seed: u64) -> Vec<Fault> {
    let of = |(index, amplifier): (usize, &&'static str)| {
        let mut all = Vec::new();
        for shape in [Shape::Plain, Shape::ClassTwo, Shape::Selector] {
            let text = text(amplifier, shape);
            let places = Places::of(&text);
            let numbers = Numbers(seed.wrapping_add(1000 * shape as u64 + index as u64));
            let mut lister = Lister { amplifier, shape, text, places, numbers, faults: Vec::new() };
            match shape {
                Shape::Plain => lister.plain(),
                Shape::ClassTwo => lister.class_two(),
                Shape::Selector => lister.selector(),
            }
            all.extend(lister.faults);
        }
        all
    };
    amplifiers.iter().enumerate().flat_map(of).collect()
}

/// Draws of each kind and amplifier.
const DRAWS: usize = 3;

impl Lister {
    fn plain(&mut self) {
        for _ in 0..DRAWS {
            self.mains_within_reach();
            self.high_tension();
            self.unknown_parts();
            self.charges();
        }
        self.earth();
        self.fuses();
        self.high_tension_fuse();
        self.warnings();
    }

    pub(super) fn put(
        &mut self,
        kind: &'static str,
        texts: [Option<String>; 2],
        right: &'static [&'static str],
    ) {
        let [record, bare] = texts;
        let (amplifier, shape, want) = (self.amplifier, self.shape, [Want::People; 2]);
        self.faults.push(Fault { kind, amplifier, shape, record, bare, want, right });
    }

    /// Parts that somebody added: a line each.
    pub(super) fn add(&mut self, kind: &'static str, lines: &[String], right: &'static [&'static str]) {
        let record = lines.iter().map(|line| format!("added {line}\n")).collect();
        let bare = format!("{}\n{}\n", self.text, lines.join("\n"));
        self.put(kind, [Some(record), Some(bare)], right);
    }

    pub(super) fn draw(&mut self, from: &[&str]) -> String {
        from[self.numbers.below(from.len())].to_owned()
    }

    fn place(&mut self, from: fn(&Places) -> &Vec<String>) -> String {
        let at = self.numbers.below(from(&self.places).len());
        from(&self.places)[at].clone()
    }

    pub(super) fn mains(&mut self) -> String {
        self.place(|places| &places.mains)
    }

    pub(super) fn rail(&mut self) -> String {
        self.place(|places| &places.rails)
    }

    pub(super) fn tip(&mut self) -> String {
        self.place(|places| &places.tips)
    }

    pub(super) fn reach(&mut self) -> String {
        self.place(|places| &places.reach)
    }

    /// Anything from next to nothing up.
    pub(super) fn ohms(&mut self) -> String {
        self.draw(&["1R", "22R", "470R", "4k7", "47k", "220k", "470k", "1M", "4M7", "10M"])
    }

    /// By wire, through a resistor, through two; `most` of what a resistor may have.
    pub(super) fn joins(&mut self, kinds: [&'static str; 3], from: &str, to: &str, ohms: [String; 3]) {
        let [one, two, three] = ohms;
        self.add(kinds[0], &[format!("link W90 from {from} to {to}")], &["W90"]);
        self.add(kinds[1], &[format!("resistor R90 {one} 1W from {from} to {to}")], &["R90"]);
        let both = [
            format!("resistor R90 {two} 1W from {from} to R91.1"),
            format!("resistor R91 {three} 1W to {to}"),
        ];
        self.add(kinds[2], &both, &["R90", "R91"]);
    }

    fn mains_within_reach(&mut self) {
        let ohms = [self.ohms(), self.ohms(), self.ohms()];
        let from = self.mains();
        self.joins(["chassis: wire", "chassis: resistor", "chassis: two in series"], &from, "chassis", ohms);
        let (from, farads) = (self.mains(), self.draw(&["100p", "1n", "47n", "470n"]));
        let line = format!("capacitor C90 {farads} 630V film from {from} to chassis");
        self.add("chassis: capacitor", &[line], &["C90"]);
        let (from, ohms, farads) = (self.mains(), self.ohms(), self.draw(&["1n", "47n"]));
        let both = [
            format!("resistor R90 {ohms} 1W from {from} to C90.1"),
            format!("capacitor C90 {farads} 630V film to chassis"),
        ];
        self.add("chassis: resistor and capacitor", &both, &["R90", "C90"]);
        let ohms = [self.ohms(), self.ohms(), self.ohms()];
        let (from, to) = (self.mains(), self.reach());
        let kinds = ["jack or speaker: wire", "jack or speaker: resistor", "jack or speaker: two"];
        self.joins(kinds, &from, &to, ohms);
        let (from, to) = (self.mains(), self.tip());
        let line = format!("capacitor C90 2n2 275V class-Y2 from {from} to {to}");
        self.add("jack: class Y", &[line], &["C90"]);
        let ohms = [self.ohms(), self.ohms(), self.ohms()];
        let kinds =
            ["primary to secondary: wire", "primary to secondary: resistor", "primary to secondary: two"];
        let from = self.mains();
        self.joins(kinds, &from, "T1.heat.a", ohms);
        let (from, ohms) = (self.mains(), self.draw(&["220k", "1M"]));
        self.add("bleeder to chassis", &[format!("resistor R90 {ohms} 1W from {from} to chassis")], &["R90"]);
    }

    fn high_tension(&mut self) {
        let mut ohms = || self.numbers.below(4);
        let values = ["100R", "2k2", "10k", "33k"];
        let ohms = [values[ohms()], values[ohms()], values[ohms()]].map(str::to_owned);
        let (from, to) = (self.rail(), self.tip());
        self.joins(["HT on a tip: wire", "HT on a tip: resistor", "HT on a tip: two"], &from, &to, ohms);
        // Hollin's S3 lies between the winding and the jack. Further down the chain what loads the speaker's winding holds it near chassis.
        let from = "B1";
        let lines = format!("T2.common lifted\nadded link W90 from {from} to T2.8R\n");
        let open = self.text.replace(" common chassis", "");
        let bare = format!("{open}\nlink W90 from {from} to T2.8R\n");
        self.put("HT on the speaker's terminals", [Some(lines), Some(bare)], &["W90", "S3"]);
    }

    /// The text with something else in place of each of its lines that contains `key`.
    pub(super) fn edited(&self, edits: &[(&str, &str)]) -> String {
        edits.iter().fold(self.text.clone(), |text, (from, to)| {
            assert!(text.contains(from), "{}: {from}", self.amplifier);
            text.replace(from, to)
        })
    }

    /// The text with another line in place of the one that begins so.
    pub(super) fn line_instead(&self, start: &str, line: &str) -> String {
        let lines = self.text.lines().map(|own| if own.starts_with(start) { line } else { own });
        lines.map(|line| format!("{line}\n")).collect()
    }
}
