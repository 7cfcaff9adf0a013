//! Type data statements to [`Types`].

use std::collections::BTreeMap;

use super::types::{DiodeType, GridCurrent, TubeConstruction, TubeModel, TubeType, Types};
use crate::source::{Problem, nearest};
use crate::syntax::tree::{Document, Said, TypeLine, TypeSaid, Word};

const RATING_SYSTEMS: [&str; 3] = ["design-centre", "design-maximum", "absolute"];

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
        for other in &said.also {
            self.also.insert(other.value.clone(), said.name.value.clone());
        }
        let tube = TubeType {
            name: said.name.value.clone(),
            note: said.note.as_ref().map(|n| n.value.clone()),
            construction,
            base: said.base.as_ref().map(|b| b.value.clone()),
            pins: BTreeMap::new(),
            heater: None,
            model: None,
            spread: None,
            screen_residual: None,
            limits: BTreeMap::new(),
            rating_system: None,
            capacitances: BTreeMap::new(),
            provenance: Vec::new(),
            declared: said.name.span,
        };
        self.tubes.insert(tube.name.clone(), tube);
    }

    fn take_line(&mut self, said: &TypeSaid, problems: &mut Vec<Problem>) {
        let name = &said.name;
        if let (TypeLine::Provenance, Some(diode)) = (said.line.value, self.diodes.get_mut(&name.value)) {
            diode.provenance.push(provenance(said));
            return;
        }
        if !self.tubes.contains_key(&name.value) {
            let problem = Problem::error(
                "unknown-type",
                name.span,
                format!("there is no valve type `{}` for this line", name.value),
            );
            problems.push(match nearest(&name.value, self.tubes.keys().map(String::as_str)) {
                Some(near) => problem.help(format!("did you mean `{near}`?")),
                None => problem.help("open it first: `tube-type NAME double-triode …`"),
            });
            return;
        }
        let Some(tube) = self.tubes.get_mut(&name.value) else { return };
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
                let figures: Vec<f64> = said.values.iter().filter_map(number).collect();
                tube.heater = match figures.as_slice() {
                    [volts, amps] => Some((*volts, *amps)),
                    _ => None,
                };
            }
            TypeLine::Model => take_model(tube, said, problems),
            TypeLine::Limits => {
                for value in &said.values {
                    match number(value) {
                        Some(limit) => {
                            tube.limits.insert(value.0.value.clone(), limit);
                        }
                        None if RATING_SYSTEMS.contains(&value.0.value.as_str()) => {
                            tube.rating_system = Some(value.0.value.clone());
                        }
                        None => problems.push(
                            Problem::error("unknown-word", value.0.span, "not a limit with a value")
                                .help(format!("a rating system is one of {}", RATING_SYSTEMS.join(", "))),
                        ),
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
                    "type-incomplete",
                    said.name.span,
                    "a diode type needs saturation and emission",
                )
                .help("diode-type NAME saturation 7n emission 1.8 inverse 1000V current 1A"),
            );
            return;
        };
        for other in &said.also {
            self.also.insert(other.value.clone(), said.name.value.clone());
        }
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
        self.diodes.insert(diode.name.clone(), diode);
    }

    fn require_model(&self, name: &str, problems: &mut Vec<Problem>) {
        if let Some(tube) = self.tubes.get(name)
            && tube.model.is_none()
        {
            problems.push(
                Problem::notice("type-incomplete", tube.declared, format!("{name} has no `model` line"))
                    .help("without it nothing that depends on this valve can be solved"),
            );
        }
    }
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
                "unknown-word",
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
    let needed: &[&str] = match tube.construction {
        TubeConstruction::Triode | TubeConstruction::DoubleTriode => &["mu", "ex", "kg1", "kp", "kvb"],
        TubeConstruction::Pentode | TubeConstruction::BeamTetrode => &["mu", "ex", "kg1", "kg2", "kp", "kvb"],
        TubeConstruction::Rectifier => &["perveance"],
    };
    for name in needed {
        match figures.get(name) {
            Some(value) if *value > 0.0 => {}
            Some(_) => {
                problems.push(Problem::error(
                    "type-incomplete",
                    said.line.span,
                    format!("{name} must be above 0"),
                ));
                return;
            }
            None => {
                let problem =
                    Problem::error("type-incomplete", said.line.span, format!("this model needs `{name}`"));
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
