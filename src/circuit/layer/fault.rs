//! Shorts and leakages: of a part with two legs, of a rectifier's section or a winding, between two legs of one part,
//! or from a leg to chassis. What would not act in the circuit is refused, with what can be said instead.

use crate::circuit::board::BoardPart;
use crate::circuit::laying::Laying;
use crate::circuit::part::{Leak, Stray};
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Span};
use crate::syntax::tree::{Place, Word};

/// A part, the leg that a fault begins at, and the one it leads to (else chassis).
type Ends = (String, String, Option<String>);

/// A transformer and the outer legs of a winding.
type WindingEnds = (String, String, String);

impl Laying<'_> {
    /// A short, or with `leak` a leakage.
    pub(super) fn fault(&mut self, what: &Word, to: Option<&Place>, leak: Option<Leak>, span: Span) {
        let found = match to {
            Some(to) => self.fault_between(what, to),
            None => self.fault_of(what, leak.is_some()),
        };
        let Some((part, from, to)) = self.note(found) else { return };
        self.about(&Word { value: part.clone(), span: what.span }, span);
        let Some(owner) = self.board.parts.get_mut(&part) else { return };
        let whole = owner.legs.len() == 2 && to.is_some();
        let component = &mut owner.part.component;
        match leak {
            Some(leak) if whole => component.leak = Some(leak),
            None if whole => component.shorted = true,
            _ => {
                component.strays.push(Stray { from, to, leak });
                // The order of statements decides nothing.
                component.strays.sort_by(|a, b| {
                    (&a.from, &a.to, a.leak.is_some()).cmp(&(&b.from, &b.to, b.leak.is_some()))
                });
                component.strays.dedup();
            }
        }
    }

    /// `X shorted to Y`: two legs of one part, or a leg and chassis.
    fn fault_between(&mut self, what: &Word, to: &Place) -> Result<Ends, Problem> {
        let (part, from) = self.fault_end(what)?;
        if to.value == "chassis" {
            return Ok((part, from, None));
        }
        if self.board.parts[&part].part.kind == Kind::Tube && to.value == format!("{part}.heater") {
            return self.heater_at_chassis(&part, what, to).map(|()| (part, from, None));
        }
        if self.board.net_names.contains_key(&to.value) {
            let text = format!("{} is a net, and no leg of {part}", to.value);
            return Err(Problem::error(ProblemCode::TwoParts, to.span, text)
                .also(what.span, "of this part")
                .help(format!(
                    "write `bridged {0} to PLACE`, or `bridged {0} to PLACE through 150k`",
                    what.value
                )));
        }
        let (other, leg) = self.fault_end(to)?;
        if other != part {
            let text = format!("{} and {} are of two parts", what.value, to.value);
            return Err(Problem::error(ProblemCode::TwoParts, to.span, text)
                .also(what.span, "of this part")
                .help(format!(
                    "between parts write `bridged {0} to PLACE`, or `bridged {0} to PLACE through 150k`",
                    what.value
                )));
        }
        if leg == from {
            let text = format!("{} is one leg: nothing lies between", to.value);
            return Err(
                Problem::error(ProblemCode::OneLeg, to.span, text).help("name the leg at the other end")
            );
        }
        Ok((part, from, Some(leg)))
    }

    /// The part and leg that a fault ends at; of a winding its first end.
    fn fault_end(&mut self, place: &Place) -> Result<(String, String), Problem> {
        if let Some((part, leg, _)) = self.winding_ends(&place.value) {
            return Ok((part, leg));
        }
        let (part, leg) = self.board.leg_at(place, self.types)?;
        let name = self.board.parts[&part].legs[leg].name.clone();
        Ok((part, name))
    }

    /// A valve's heater is no leg of the signal circuit; it stands at what its winding is referred to.
    fn heater_at_chassis(&self, part: &str, what: &Word, to: &Place) -> Result<(), Problem> {
        let fed = self.board.heaters.iter().find(|h| h.valves.iter().any(|v| v == part));
        let at = fed.and_then(|h| h.reference);
        if at == Some(0) {
            return Ok(());
        }
        let problem = Problem::error(
            ProblemCode::HeaterElsewhere,
            to.span,
            format!("the heater of {part} is not at chassis"),
        )
        .here(if at.is_some() {
            "referred to another net"
        } else {
            "referred to nothing that is stated"
        });
        Err(problem.help(format!(
            "say it to the place that its winding is referred to: `bridged {} to PLACE through 5M`",
            what.value
        )))
    }

    /// `X shorted`: where it is plain between what.
    fn fault_of(&mut self, what: &Word, leaks: bool) -> Result<Ends, Problem> {
        if let Some(owner) = self.board.parts.get(&what.value) {
            return whole(owner, what, leaks);
        }
        if let Some((part, a, b)) = self.winding_ends(&what.value) {
            if leaks {
                let text = format!("what does {} leak to?", what.value);
                let help =
                    format!("write `{} leaks 1mA at 500V to chassis`, or to a leg of {part}", what.value);
                return Err(Problem::error(ProblemCode::LeaksWhere, what.span, text).help(help));
            }
            return Ok((part, a, Some(b)));
        }
        if let Some((tube, letter)) = self.board.section(&what.value) {
            let owner = &self.board.parts[&tube];
            let plates = section_plates(owner, &format!("{letter}."));
            return one_way(owner, &plates, what, leaks);
        }
        if what.value.contains('.') {
            self.board.leg_at(what, self.types)?;
            let text = format!("{} is one leg: a fault has two ends", what.value);
            let verb = verb(leaks);
            return Err(Problem::error(ProblemCode::OneLeg, what.span, text)
                .help(format!("write `{} {verb} to LEG`, with another leg of it or chassis", what.value)));
        }
        self.board.known_part(&what.value, what.span)?;
        Err(Problem::error(ProblemCode::UnknownPart, what.span, format!("there is no part `{}`", what.value)))
    }

    /// `T1.ht`, `T2.primary`: a transformer and the outer legs of one of its windings.
    fn winding_ends(&self, name: &str) -> Option<WindingEnds> {
        let (part, winding) = name.split_once('.')?;
        let owner = self.board.parts.get(part)?;
        let has = |leg: &str| owner.legs.iter().any(|l| l.name == leg);
        let ends = match (owner.part.kind, winding) {
            (Kind::MainsTransformer, _) => (format!("{winding}.a"), format!("{winding}.b")),
            (Kind::OutputTransformer | Kind::ReverbTransformer, "primary") => {
                ("plate-a".to_owned(), if has("plate-b") { "plate-b" } else { "supply" }.to_owned())
            }
            (Kind::OutputTransformer | Kind::ReverbTransformer, "secondary") => {
                let taps = owner.part.component.body.output_taps.iter();
                // The highest tap: from common to it is the whole secondary.
                let last = taps.max_by(|a, b| a.1.total_cmp(&b.1))?;
                ("common".to_owned(), last.0.clone())
            }
            _ => return None,
        };
        (has(&ends.0) && has(&ends.1)).then(|| (part.to_owned(), ends.0, ends.1))
    }
}

fn verb(leaks: bool) -> &'static str {
    if leaks { "leaks 2uA at 250V" } else { "shorted" }
}

/// A whole part: where it has two ends, or one plate and nothing that controls it.
fn whole(owner: &BoardPart, what: &Word, leaks: bool) -> Result<Ends, Problem> {
    let part = &owner.part;
    // What conducts already would not act: shorted it is the same circuit.
    if part.kind == Kind::Link || (leaks && part.kind == Kind::Fuse) {
        let text = format!("{} conducts from leg to leg as it is", part.name);
        let problem =
            Problem::error(ProblemCode::ConductsAnyway, what.span, text).also(part.declared, "declared here");
        return Err(
            problem.help(format!("write `bridged {}.1 to PLACE` for a path to another net", part.name))
        );
    }
    match (part.kind, owner.legs.as_slice()) {
        (Kind::Tube, _) => one_way(owner, &section_plates(owner, ""), what, leaks),
        (_, [a, b]) => Ok((part.name.clone(), a.name.clone(), Some(b.name.clone()))),
        (_, []) => {
            let text = format!("{} has no electrical legs", part.name);
            let problem =
                Problem::error(ProblemCode::NoLegs, what.span, text).also(part.declared, "declared here");
            Err(problem.help(format!("write `{} missing`, or name the part that the fault is in", part.name)))
        }
        _ => Err(which_legs(owner, what, leaks)),
    }
}

/// Plates of a valve, or of one section of it, that no grid controls.
fn section_plates(owner: &BoardPart, prefix: &str) -> Vec<String> {
    let electrode = |name: &str| name.rsplit('.').next().unwrap_or(name).to_owned();
    let gridded = owner.legs.iter().any(|l| electrode(&l.name) == "grid");
    let plates = owner.legs.iter().filter(|l| l.name.starts_with(prefix) && electrode(&l.name) == "plate");
    if gridded { Vec::new() } else { plates.map(|l| l.name.clone()).collect() }
}

/// A rectifier's one plate to its cathode.
fn one_way(owner: &BoardPart, plates: &[String], what: &Word, leaks: bool) -> Result<Ends, Problem> {
    match (plates, owner.legs.iter().find(|l| l.name.ends_with("cathode"))) {
        ([plate], Some(cathode)) => Ok((owner.part.name.clone(), plate.clone(), Some(cathode.name.clone()))),
        _ => Err(which_legs(owner, what, leaks)),
    }
}

/// More than two legs: which of them meet?
fn which_legs(owner: &BoardPart, what: &Word, leaks: bool) -> Problem {
    let part = &owner.part;
    let legs: Vec<String> = owner.legs.iter().map(|l| part.spelled(&l.name)).collect();
    let text = format!("{} has {} legs: between which of them?", part.name, legs.len());
    let problem =
        Problem::error(ProblemCode::WhichLegs, what.span, text).also(part.declared, "declared here");
    let wound =
        matches!(part.kind, Kind::MainsTransformer | Kind::OutputTransformer | Kind::ReverbTransformer);
    let winding = part.component.body.windings.first().map_or("primary", |w| w.name.as_str());
    let (first, last) =
        (legs.first().map_or("LEG", String::as_str), legs.last().map_or("LEG", String::as_str));
    let verb = verb(leaks);
    problem.help(if wound && !leaks {
        format!(
            "write `{0}.{winding} shorted`, or `{first} shorted to {last}`; its legs are {1}",
            part.name,
            legs.join(", ")
        )
    } else {
        format!("write `{first} {verb} to {last}`; its legs are {}", legs.join(", "))
    })
}
