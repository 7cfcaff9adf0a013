//! The verbs of layers.

use super::Out;
use crate::syntax::tree::{MeterSaid, Replacement, Said, Setting, Spec, Word};

impl Out {
    pub(super) fn verb(&mut self, said: &Said) {
        match said {
            Said::Checked(names) => {
                self.words(names);
                self.word("checked");
            }
            Said::Reads { part, value, in_circuit, note } => {
                self.about(part, "reads");
                self.open_value(value);
                if *in_circuit {
                    self.word("in circuit");
                }
                self.note(note.as_ref());
            }
            Said::Leaks { part, amps, volts, to, note } => {
                self.about(part, "leaks");
                self.value(amps);
                self.word("at");
                self.value(volts);
                if let Some(to) = to {
                    self.pair("to", to);
                }
                self.note(note.as_ref());
            }
            Said::Missing { part, snipped, note } => {
                self.about(part, if *snipped { "missing snipped" } else { "missing" });
                self.note(note.as_ref());
            }
            Said::Replaced { change, part, by, note } => {
                if *change {
                    self.pair("change", part);
                    self.word("to");
                } else {
                    self.about(part, "replaced");
                }
                self.replacement(by);
                self.note(note.as_ref());
            }
            Said::Reversed { part, note } => {
                self.about(part, "reversed");
                self.note(note.as_ref());
            }
            Said::Shorted { part, to, note } => {
                self.about(part, "shorted");
                if let Some(to) = to {
                    self.pair("to", to);
                }
                self.note(note.as_ref());
            }
            Said::Used { section, group } => {
                self.about(section, "used");
                self.group(group.as_ref());
            }
            Said::Added { fit, part, group } => {
                self.word(if *fit { "fit" } else { "added" });
                self.part(part);
                self.group(group.as_ref());
            }
            said => self.legs_and_steps(said),
        }
    }

    fn legs_and_steps(&mut self, said: &Said) {
        match said {
            Said::Lifted { what, at, note } => {
                self.about(what, "lifted");
                if let Some(at) = at {
                    self.pair("at", at);
                }
                self.note(note.as_ref());
            }
            Said::Moved { plan, leg, to, note } => {
                if *plan {
                    self.pair("move", leg);
                } else {
                    self.about(leg, "moved");
                }
                self.pair("to", to);
                self.note(note.as_ref());
            }
            Said::Swapped { part, leg, with, note } => {
                self.word(&part.value);
                if let Some(leg) = leg {
                    self.word(&leg.value);
                }
                self.pair("swapped with", with);
                self.note(note.as_ref());
            }
            Said::Joined { leg, to, note } => {
                self.pair("joined", leg);
                self.pair("to", to);
                self.note(note.as_ref());
            }
            Said::Cut { net, legs, new, note } => {
                self.pair("cut", net);
                self.word("leaving");
                self.words(legs);
                self.pair("on", new);
                self.note(note.as_ref());
            }
            Said::Bridged { a, b, wire, through, note } => {
                self.pair("bridged", a);
                self.pair("to", b);
                if let Some(wire) = wire {
                    self.pair("with wire", wire);
                }
                if let Some(ohms) = through {
                    self.word("through");
                    self.value(ohms);
                }
                self.note(note.as_ref());
            }
            said => self.step(said),
        }
    }

    fn step(&mut self, said: &Said) {
        match said {
            Said::Meter(meter) => self.meter(meter),
            Said::Set { control, to } => {
                self.pair("set", control);
                match to {
                    Setting::Turn(share) => self.value(share),
                    Setting::Position(name) => self.word(&name.value),
                }
            }
            Said::Restore { names, all, except } => {
                self.word("restore");
                self.names(names, *all);
                if !except.is_empty() {
                    self.word("except");
                    self.words(except);
                }
            }
            Said::Remove { name, group, note } => {
                self.word("remove");
                if *group {
                    self.quoted(name);
                } else {
                    self.word(&name.value);
                }
                self.note(note.as_ref());
            }
            Said::Rejoin { new, to, note } => {
                self.pair("rejoin", new);
                self.pair("to", to);
                self.note(note.as_ref());
            }
            Said::Accept { rule, on, because } => {
                self.pair("accept", rule);
                if let Some(on) = on {
                    self.pair("on", on);
                }
                self.word("because");
                self.quoted(because);
            }
            Said::Done { names, all } => {
                self.word("done");
                if *all {
                    self.word("all");
                }
                for name in names {
                    // A group's name may have spaces; a part's may not.
                    if name.value.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_') {
                        self.word(&name.value);
                    } else {
                        self.quoted(name);
                    }
                }
            }
            _ => {}
        }
    }

    fn about(&mut self, name: &Word, verb: &str) {
        self.word(&name.value);
        self.word(verb);
    }

    fn names(&mut self, names: &[Word], all: bool) {
        if all {
            self.word("all");
        } else {
            self.words(names);
        }
    }

    fn group(&mut self, group: Option<&Word>) {
        if let Some(group) = group {
            self.word("in");
            self.quoted(group);
        }
    }

    fn replacement(&mut self, by: &Replacement) {
        let (word, bodies) = match by {
            Replacement::One(spec) => return self.replacing(spec),
            Replacement::Series(bodies) => ("by series", bodies),
            Replacement::Parallel(bodies) => ("by parallel", bodies),
        };
        self.word(word);
        for (at, (name, spec)) in bodies.iter().enumerate() {
            if at > 0 {
                self.text.push(',');
            }
            self.word(&name.value);
            self.replacing(spec);
        }
    }

    fn replacing(&mut self, spec: &Spec) {
        self.body(spec, None);
        self.settings(spec);
    }

    fn meter(&mut self, meter: &MeterSaid) {
        self.pair("meter", &meter.place);
        if let Some(to) = &meter.to {
            self.pair("to", to);
        }
        self.value(&meter.value);
        if meter.ac {
            self.word("ac");
        }
        if let Some(hertz) = &meter.hertz {
            self.word("at");
            self.value(hertz);
        }
        if let Some(condition) = &meter.condition {
            self.pair("in", condition);
        }
        let (accuracy, ohms) = &meter.with;
        if accuracy.is_some() || ohms.is_some() {
            self.word("with");
        }
        for value in [accuracy, ohms].into_iter().flatten() {
            self.value(value);
        }
        self.note(meter.note.as_ref());
    }
}
