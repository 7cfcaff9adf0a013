//! Type data statements to [`Types`].

use std::collections::BTreeMap;

use super::on_demand::OnDemand;
use super::type_words::{DIRECTLY, INDIRECTLY, misread, misread_diode, needed};
use super::types::{DiodeType, GridCurrent, TubeConstruction, TubeModel, TubeType, Types};
use crate::source::{Problem, ProblemCode, Span};
use crate::syntax::tree::{Document, Said, TypeLine, TypeSaid, Word};

impl Types {
    /// Takes in the type data of a document; a type named again replaces what was there.
    pub fn take(&mut self, document: &Document, problems: &mut Vec<Problem>) {
        let mut opened: Vec<&str> = Vec::new();
        for statement in document.statements() {
            let Said::Type(said) = &statement.said else { continue };
            match said.line.value {
                TypeLine::TubeType => {
                    opened.push(&said.name.value);
                    self.open_tube(said, problems);
                }
                TypeLine::DiodeType => self.take_diode(said, problems),
                _ => self.take_line(said, problems),
            }
        }
        for name in opened {
            self.require_model(name, problems);
        }
    }

    fn open_tube(&mut self, said: &TypeSaid, problems: &mut Vec<Problem>) {
        let Some(construction) = said.construction.as_ref().and_then(|w| construction(w, problems)) else {
            return;
        };
        self.name(said, problems);
        let tube = TubeType {
            name: said.name.value.clone(),
            note: said.note.as_ref().map(|n| n.value.clone()),
            construction,
            base: said.base.as_ref().map(|b| b.value.clone()),
            pins: BTreeMap::new(),
            heater: None,
            indirectly_heated: None,
            model: None,
            spread: None,
            screen_residual: None,
            limits: BTreeMap::new(),
            rating_system: None,
            capacitances: BTreeMap::new(),
            provenance: Vec::new(),
            declared: said.name.span,
        };
        self.tubes.insert(tube.name.clone(), OnDemand::ready(tube));
    }

    /// Gives a type its names. One that another type has goes to the new one, which is told with the place of the other.
    fn name(&mut self, said: &TypeSaid, problems: &mut Vec<Problem>) {
        let names: Vec<&Word> = std::iter::once(&said.name).chain(&said.also).collect();
        for (at, name) in names.iter().enumerate() {
            if let Some(first) = names[..at].iter().find(|first| first.value == name.value) {
                let problem = Problem::error(
                    ProblemCode::SaidTwice,
                    name.span,
                    format!("`{}` is a name already", name.value),
                );
                problems.push(problem.also(first.span, "said first here").help("keep one of the two"));
            } else if let Some(other) = self.named(&name.value) {
                problems.push(renamed(name, other));
            }
        }
        self.also.remove(&said.name.value);
        for other in &said.also {
            self.also.insert(other.value.clone(), said.name.value.clone());
        }
    }

    /// Where the type stands that has a name.
    fn named(&self, name: &str) -> Option<Span> {
        self.tube(name).map(|tube| tube.declared).or(self.diode(name).map(|diode| diode.declared))
    }

    fn take_line(&mut self, said: &TypeSaid, problems: &mut Vec<Problem>) {
        let name = &said.name;
        if let (TypeLine::Provenance, Some(diode)) = (said.line.value, self.diodes.get_mut(&name.value)) {
            diode.diode_mut().provenance.push(provenance(said));
            return;
        }
        if !self.tubes.contains_key(&name.value) {
            let problem = Problem::error(
                ProblemCode::UnknownType,
                name.span,
                format!("there is no valve type `{}` for this line", name.value),
            );
            let help = format!("open it first: `tube-type {} double-triode`", name.value);
            problems.push(problem.help(help));
            return;
        }
        let Some(tube) = self.tubes.get_mut(&name.value).map(OnDemand::tube_mut) else { return };
        problems.extend(misread(tube, said));
        let number = |word: &(Word, Option<_>)| -> Option<f64> {
            let quantity: Option<&crate::syntax::tree::Value> = word.1.as_ref();
            quantity.map(|v| v.value.value)
        };
        match said.line.value {
            TypeLine::Pins => {
                tube.pins =
                    said.values.iter().filter_map(|v| Some((v.0.value.clone(), number(v)? as u32))).collect();
            }
            TypeLine::HeaterData => {
                let figures = figures(said);
                tube.heater = figures.get("volts").copied().zip(figures.get("amps").copied());
                let said = |word: &str| said.values.iter().any(|(key, _)| key.value == word);
                tube.indirectly_heated =
                    if said(INDIRECTLY) { Some(true) } else { said(DIRECTLY).then_some(false) };
            }
            TypeLine::Model => take_model(tube, said, problems),
            TypeLine::Limits => {
                for value in &said.values {
                    match number(value) {
                        Some(limit) => {
                            tube.limits.insert(value.0.value.clone(), limit);
                        }
                        None => tube.rating_system = Some(value.0.value.clone()),
                    }
                }
            }
            TypeLine::Capacitances => {
                tube.capacitances
                    .extend(said.values.iter().filter_map(|v| Some((v.0.value.clone(), number(v)?))));
            }
            TypeLine::Provenance => tube.provenance.push(provenance(said)),
            TypeLine::TubeType | TypeLine::DiodeType => {}
        }
    }

    fn take_diode(&mut self, said: &TypeSaid, problems: &mut Vec<Problem>) {
        let figures = figures(said);
        let (Some(saturation), Some(emission)) = (figures.get("saturation"), figures.get("emission")) else {
            problems.push(
                Problem::error(
                    ProblemCode::TypeIncomplete,
                    said.name.span,
                    "a diode type needs saturation and emission",
                )
                .help("diode-type NAME saturation 7n emission 1.8 inverse 1000V current 1A"),
            );
            return;
        };
        problems.extend(misread_diode(said));
        self.name(said, problems);
        let diode = DiodeType {
            name: said.name.value.clone(),
            note: said.note.as_ref().map(|n| n.value.clone()),
            saturation: *saturation,
            emission: *emission,
            inverse: figures.get("inverse").copied(),
            current: figures.get("current").copied(),
            provenance: Vec::new(),
            declared: said.name.span,
        };
        self.diodes.insert(diode.name.clone(), OnDemand::ready(diode));
    }

    fn require_model(&self, name: &str, problems: &mut Vec<Problem>) {
        if let Some(tube) = self.tubes.get(name).map(OnDemand::tube)
            && tube.model.is_none()
        {
            problems.push(
                Problem::notice(
                    ProblemCode::TypeIncomplete,
                    tube.declared,
                    format!("{name} has no `model` line"),
                )
                .help("without it nothing that depends on this valve can be solved"),
            );
        }
    }
}

/// A type that takes another's name: an error within one text, else something to know of.
fn renamed(name: &Word, other: Span) -> Problem {
    if other.file == name.span.file {
        let problem = Problem::error(
            ProblemCode::DeclaredTwice,
            name.span,
            format!("`{}` is declared twice", name.value),
        );
        return problem.here("again here").also(other, "first here").help("keep one of the two");
    }
    let text = format!("this `{}` takes the place of the type data that had the name", name.value);
    let problem = Problem::notice(ProblemCode::TypeRedefined, name.span, text).here("counts from here on");
    problem.also(other, "does not count any more").help("give it another name where both are meant")
}

fn construction(word: &Word, problems: &mut Vec<Problem>) -> Option<TubeConstruction> {
    let known = [
        ("triode", TubeConstruction::Triode),
        ("double-triode", TubeConstruction::DoubleTriode),
        ("pentode", TubeConstruction::Pentode),
        ("beam-tetrode", TubeConstruction::BeamTetrode),
        ("rectifier", TubeConstruction::Rectifier),
    ];
    let found = known.iter().find(|(name, _)| *name == word.value).map(|(_, c)| *c);
    if found.is_none() {
        let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
        problems.push(
            Problem::error(
                ProblemCode::UnknownWord,
                word.span,
                format!("`{}` is no construction of a valve", word.value),
            )
            .help(format!("one of {}", names.join(", "))),
        );
    }
    found
}

/// Group, source, mark.
fn provenance(said: &TypeSaid) -> (String, String, String) {
    let word = |i: usize| said.values.get(i).map(|v| v.0.value.clone()).unwrap_or_default();
    (word(0), said.note.as_ref().map(|n| n.value.clone()).unwrap_or_default(), word(1))
}

fn figures(said: &TypeSaid) -> BTreeMap<&str, f64> {
    said.values
        .iter()
        .filter_map(|(word, value)| Some((word.value.as_str(), value.as_ref()?.value.value)))
        .collect()
}

fn take_model(tube: &mut TubeType, said: &TypeSaid, problems: &mut Vec<Problem>) {
    let figures = figures(said);
    tube.spread = figures.get("spread").copied();
    tube.screen_residual = figures.get("screen-residual").copied();
    let needed = needed(tube.construction);
    for name in needed {
        match figures.get(name) {
            Some(value) if *value > 0.0 => {}
            Some(_) => {
                problems.push(Problem::error(
                    ProblemCode::TypeIncomplete,
                    said.line.span,
                    format!("{name} must be above 0"),
                ));
                return;
            }
            None => {
                let problem = Problem::error(
                    ProblemCode::TypeIncomplete,
                    said.line.span,
                    format!("this model needs `{name}`"),
                );
                problems
                    .push(problem.help(format!("a model of this construction has {}", needed.join(", "))));
                return;
            }
        }
    }
    let at = |name: &str| figures.get(name).copied().unwrap_or_default();
    // Grid current where none is given: the values of the DAFx-11 form for an ECC83, from memory.
    let or = |name: &str, usual: f64| figures.get(name).copied().unwrap_or(usual);
    let grid = GridCurrent { gg: or("grid-gg", 6e-4), cg: or("grid-cg", 10.0), xi: or("grid-xi", 1.3) };
    tube.model = Some(match tube.construction {
        TubeConstruction::Triode | TubeConstruction::DoubleTriode => TubeModel::Triode {
            mu: at("mu"),
            ex: at("ex"),
            kg1: at("kg1"),
            kp: at("kp"),
            kvb: at("kvb"),
            grid,
        },
        TubeConstruction::Pentode | TubeConstruction::BeamTetrode => TubeModel::Pentode {
            mu: at("mu"),
            ex: at("ex"),
            kg1: at("kg1"),
            kg2: at("kg2"),
            kp: at("kp"),
            kvb: at("kvb"),
            grid,
        },
        TubeConstruction::Rectifier => TubeModel::Rectifier { perveance: at("perveance") },
    });
}
