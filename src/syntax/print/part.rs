//! Parts: their body and their legs.

use super::Out;
use crate::model::Kind;
use crate::syntax::document::is_electrolytic;
use crate::syntax::tree::{LegSaid, PartSaid, Spec, Word};
use crate::units::{Unit, exact};

impl Out {
    pub(super) fn part(&mut self, part: &PartSaid) {
        let kind = part.kind.value;
        match kind {
            Kind::ReverbTransformer => self.pair("transformer", &part.name),
            _ => self.pair(kind.word(), &part.name),
        }
        match kind {
            Kind::ReverbTransformer => self.word("reverb"),
            Kind::MainsTransformer => self.word("mains"),
            _ => {}
        }
        self.body(&part.spec, Some(kind));
        // What is written on the panel stands before the legs, a remark at the end.
        let titled = matches!(kind, Kind::Jack | Kind::Pot | Kind::Switch | Kind::Relay | Kind::Fitting);
        self.note(part.note.as_ref().filter(|_| titled));
        self.legs(kind, &part.spec, &part.legs);
        self.settings(&part.spec);
        self.note(part.note.as_ref().filter(|_| !titled));
    }

    /// Value, ratings and construction; `kind` is `None` for a replacement.
    pub(super) fn body(&mut self, spec: &Spec, kind: Option<Kind>) {
        let wound = matches!(kind, Some(Kind::OutputTransformer | Kind::ReverbTransformer));
        if spec.unknown.is_some() {
            self.word("unknown");
        }
        let type_first = kind != Some(Kind::Zener);
        if let (true, Some(name)) = (type_first, &spec.type_name) {
            self.word(&name.value);
        }
        if let Some(value) = &spec.value {
            if wound {
                self.word("primary");
            }
            if kind.is_some() {
                self.value(value);
            } else {
                self.open_value(value);
            }
        }
        if let Some(taper) = &spec.taper {
            self.word(taper.value.word());
        }
        if let Some(tolerance) = &spec.tolerance {
            let (below, above) = tolerance.value;
            let share = |x: f64| exact(x, Unit::Ratio);
            self.word(&if below == above {
                share(below)
            } else {
                format!("-{}/+{}", share(below), share(above))
            });
        }
        for rating in [&spec.power, &spec.volts].into_iter().flatten() {
            self.value(rating);
        }
        if let (false, Some(name)) = (type_first, &spec.type_name) {
            self.word(&name.value);
        }
        self.beside(spec, kind);
        if let Some(construction) = &spec.construction {
            self.word(construction.value.word());
        }
        if let Some(speed) = &spec.speed {
            self.word(&speed.value);
        }
    }

    /// Resistance, inductance and current beside the main value, and a transformer's taps.
    fn beside(&mut self, spec: &Spec, kind: Option<Kind>) {
        if let Some(ohms) = &spec.ohms {
            if kind == Some(Kind::Source) || (kind.is_none() && spec.value.is_none()) {
                self.word("behind");
            }
            self.value(ohms);
        }
        if spec.a_side.is_some() {
            self.word("a side");
        }
        if let Some(henries) = &spec.henries {
            self.value(henries);
        }
        if let Some(amps) = &spec.amps {
            self.value(amps);
        }
        if let Some(unloaded) = &spec.unloaded {
            self.word("unloaded");
            self.value(unloaded);
        }
        if spec.steady.is_some() {
            self.word("steady");
        }
        if !spec.output_taps.is_empty() {
            self.word("taps");
            spec.output_taps.iter().for_each(|tap| self.value(tap));
        }
    }

    fn legs(&mut self, kind: Kind, spec: &Spec, legs: &[LegSaid]) {
        match kind {
            Kind::Capacitor if !is_electrolytic(spec) => self.two(legs, ["plus", "minus"], ["from", "to"]),
            Kind::Tube => self.electrodes(legs),
            Kind::Bridge => self.doubled(legs, ["ac1", "ac2"], "ac"),
            Kind::OutputTransformer | Kind::ReverbTransformer => {
                self.doubled(legs, ["plate-a", "plate-b"], "plates");
            }
            _ if kind.legs() == ["1", "2"] => self.two(legs, ["1", "2"], ["from", "to"]),
            _ => legs.iter().for_each(|leg| self.leg(leg)),
        }
    }

    pub(super) fn electrodes(&mut self, legs: &[LegSaid]) {
        self.doubled(legs, ["a.plate", "b.plate"], "plates");
    }

    /// Two legs under one word where both are there, then the others.
    fn doubled(&mut self, legs: &[LegSaid], names: [&str; 2], word: &str) {
        let place = |name: &str| -> Option<&Word> {
            legs.iter().find(|leg| leg.leg.value == name).map(|leg| &leg.place)
        };
        let both = place(names[0]).zip(place(names[1]));
        if let Some((one, other)) = both {
            self.pair(word, one);
            self.word(&other.value);
        }
        for leg in legs.iter().filter(|leg| both.is_none() || !names.contains(&leg.leg.value.as_str())) {
            self.leg(leg);
        }
    }

    /// How it is set and what it belongs to.
    pub(super) fn settings(&mut self, spec: &Spec) {
        if spec.in_phase.is_some() {
            self.word("in phase");
        }
        if !spec.positions.is_empty() {
            self.word("positions");
            self.words(&spec.positions);
        }
        if let Some(now) = &spec.now {
            self.pair("now", now);
        }
        if let Some(at) = &spec.at {
            self.word("at");
            self.value(at);
        }
        for (share, place) in &spec.taps {
            self.word("tap");
            self.value(share);
            if let Some(place) = place {
                self.pair("to", place);
            }
        }
        if let Some(other) = &spec.ganged {
            self.pair("ganged with", other);
        }
        for (contact, place) in &spec.normals {
            self.pair("normals", contact);
            self.pair("to", place);
        }
        if let Some(other) = &spec.on {
            self.pair("on", other);
        }
        if spec.two_core.is_some() {
            self.word("two-core");
        }
        if let Some(year) = &spec.made {
            self.word(&format!("made {}", year.value));
        }
    }
}
