//! Headers, places, windings and type data.

use super::Out;
use crate::syntax::tree::{Header, Said, TypeLine, TypeSaid, WindingSaid, WindowSaid};
use crate::units::{Unit, exact};

impl Out {
    pub(super) fn declared(&mut self, said: &Said) {
        match said {
            Said::Header(header) => self.header(header),
            Said::TypesFrom(path) => {
                self.word("types from");
                self.quoted(path);
            }
            Said::Net { rail, name, title, window } => {
                self.pair(if *rail { "rail" } else { "net" }, name);
                self.note(title.as_ref());
                if let Some(window) = window {
                    self.word("window");
                    self.window(window);
                }
            }
            Said::Mains { volts, hertz, limits } => {
                self.word("mains");
                self.value(volts);
                if let Some(hertz) = hertz {
                    self.value(hertz);
                }
                if let Some((low, high)) = limits {
                    self.word("limits");
                    self.value(low);
                    self.word("to");
                    self.value(high);
                }
            }
            Said::Insulation(class) => self.pair("insulation", class),
            Said::Made(year) => self.word(&format!("made {}", year.value)),
            Said::Note(text) => {
                self.word("note");
                self.quoted(text);
            }
            said => self.used(said),
        }
    }

    /// What parts are used for.
    fn used(&mut self, said: &Said) {
        match said {
            Said::Heater { winding, feeds, reference } => {
                self.pair("heater", winding);
                self.word("feeds");
                self.words(feeds);
                if let Some((end, place)) = reference {
                    self.pair("reference", end);
                    self.pair("to", place);
                }
            }
            Said::Contact { switch, position, a, b } => {
                self.pair("contact", switch);
                self.word(&position.value);
                self.pair("joins", a);
                self.pair("to", b);
            }
            Said::Unused { section, legs } => {
                self.word(&section.value);
                self.word("unused");
                self.electrodes(legs);
            }
            Said::Role { part, role, note } => {
                self.pair("role", part);
                self.word(&role.value);
                self.note(note.as_ref());
            }
            Said::Open(legs) => {
                self.word("open");
                self.words(legs);
            }
            Said::Window { place, window } => {
                self.pair("window", place);
                self.window(window);
            }
            Said::Drive { jack, behind } => {
                self.pair("drive", jack);
                if let Some(ohms) = behind {
                    self.word("behind");
                    self.value(ohms);
                }
            }
            _ => {}
        }
    }

    fn header(&mut self, header: &Header) {
        let kind = header.kind.value;
        self.word(kind.word());
        self.quoted(&header.title);
        self.note(header.subtitle.as_ref());
        if let Some(base) = &header.base {
            self.word(kind.preposition());
            self.quoted(base);
        }
        if let Some(pin) = &header.pin {
            self.pair("pinned", pin);
        }
    }

    fn window(&mut self, window: &WindowSaid) {
        self.value(&window.low);
        self.word("to");
        self.value(&window.high);
        if let Some(condition) = &window.condition {
            self.pair("in", condition);
        }
        if let Some(reason) = &window.because {
            self.word("because");
            self.quoted(reason);
        }
    }

    pub(super) fn winding(&mut self, winding: &WindingSaid) {
        self.pair("winding", &winding.name);
        let volts = exact(winding.volts.value.value, Unit::Volt);
        self.word(&if winding.centre_tapped { format!("{volts}-0-{volts}") } else { volts });
        if let Some(unloaded) = &winding.unloaded {
            self.word("unloaded");
            self.value(unloaded);
        }
        if let Some(ohms) = &winding.ohms {
            self.value(ohms);
            if winding.centre_tapped {
                self.word("a side");
            }
        }
        if let Some(amps) = &winding.amps {
            self.word("current");
            self.value(amps);
        }
        if !winding.taps.is_empty() {
            self.word("taps");
        }
        for (name, volts, end) in &winding.taps {
            self.word(&name.value);
            self.value(volts);
            self.pair("from", end);
        }
        self.two(&winding.legs, ["a", "b"], ["from", "to"]);
        self.two(&winding.legs, ["centre", ""], ["centre", ""]);
    }

    pub(super) fn type_line(&mut self, said: &TypeSaid) {
        let line = said.line.value;
        self.pair(line.word(), &said.name);
        if let Some(construction) = &said.construction {
            self.word(&construction.value);
        }
        if !said.also.is_empty() {
            self.word("also");
            self.words(&said.also);
        }
        if let Some(base) = &said.base {
            self.pair("base", base);
        }
        for (at, (key, value)) in said.values.iter().enumerate() {
            let unnamed = line == TypeLine::HeaterData && matches!(key.value.as_str(), "volts" | "amps");
            if !(unnamed && value.is_some()) {
                self.word(&key.value);
            }
            if let Some(value) = value {
                self.open_value(value);
            }
            // The source stands after the line that it is of: `limits "…" memory`.
            if line == TypeLine::Provenance && at == 0 {
                self.note(said.note.as_ref());
            }
        }
        if line != TypeLine::Provenance || said.values.is_empty() {
            self.note(said.note.as_ref());
        }
    }
}
