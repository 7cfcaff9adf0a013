//! Known differences, made in a telling.

use asfound::model::Kind;
use asfound::syntax::tree::Word;

use super::{Numbers, Telling};

/// One known difference, as the list of changes should tell it: the change's word, and the part by the first telling's
/// name (an added part by its own).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Made {
    pub word: &'static str,
    pub part: String,
}

impl Telling {
    /// Makes so many differences, each on a part of its own.
    pub(crate) fn edit(&mut self, count: usize, numbers: &mut Numbers) -> Vec<Made> {
        let mut made: Vec<Made> = Vec::new();
        while made.len() < count {
            let names: Vec<String> = self.parts.keys().cloned().collect();
            let name = names[numbers.below(names.len())].clone();
            if made.iter().any(|m| m.part == name) || self.leant_on(&name) {
                continue;
            }
            let word = match numbers.below(6) {
                0 => self.revalue(&name, numbers),
                1 => self.take_out(&name),
                2 => {
                    let part = format!("ZZ{}", made.len());
                    self.put_in(&part, &name, numbers);
                    made.push(Made { word: "added", part });
                    None
                }
                3 => self.move_leg(&name, numbers),
                4 => self.reverse(&name),
                _ => self.change_type(&name),
            };
            made.extend(word.map(|word| Made { word, part: name }));
        }
        made.sort();
        made
    }

    /// Parts that other statements need, and links, whose absence is told as a net in two.
    fn leant_on(&self, name: &str) -> bool {
        !matches!(
            self.parts[name].said.kind.value,
            Kind::Resistor
                | Kind::Capacitor
                | Kind::Diode
                | Kind::Pot
                | Kind::Fuse
                | Kind::Tube
                | Kind::Choke
        )
    }

    fn revalue(&mut self, name: &str, numbers: &mut Numbers) -> Option<&'static str> {
        let told = self.parts.get_mut(name)?;
        let value = told.said.spec.value.as_mut()?;
        value.value.value *= [0.1, 0.33, 0.5, 2.0, 2.2, 4.7, 10.0][numbers.below(7)];
        Some("revalued")
    }

    fn take_out(&mut self, name: &str) -> Option<&'static str> {
        let told = &self.parts[name];
        if told.legs.len() != 2 {
            return None;
        }
        self.parts.remove(name);
        Some("missing")
    }

    fn put_in(&mut self, name: &str, like: &str, numbers: &mut Numbers) {
        let mut told =
            self.parts.values().find(|told| told.said.kind.value == Kind::Resistor).expect("one").clone();
        told.said.name = Word { value: name.to_owned(), span: self.parts[like].said.name.span };
        told.said.note = None;
        if let Some(value) = &mut told.said.spec.value {
            value.value.value = [1.3e3, 5.1e4, 2.4e5, 9.1e5, 100.0][numbers.below(5)];
        }
        let one = numbers.below(self.nets.len());
        let other = (one + 1 + numbers.below(self.nets.len() - 1)) % self.nets.len();
        told.legs = vec![("1".into(), Some(one)), ("2".into(), Some(other))];
        self.parts.insert(name.to_owned(), told);
    }

    fn move_leg(&mut self, name: &str, numbers: &mut Numbers) -> Option<&'static str> {
        let net = numbers.below(self.nets.len());
        let (told, leg) = (&self.parts[name], numbers.below(2));
        let from = told.legs[leg].1?;
        // Away from a net of its own it would only take the net with it.
        if told.legs.len() != 2 || told.legs.iter().any(|(_, at)| *at == Some(net)) || self.crowd(from) < 2 {
            return None;
        }
        self.parts.get_mut(name)?.legs[leg].1 = Some(net);
        Some("moved")
    }

    fn reverse(&mut self, name: &str) -> Option<&'static str> {
        let told = self.parts.get_mut(name)?;
        let polar = told.said.spec.construction.as_ref().is_some_and(|c| c.value.word() == "electrolytic");
        if told.said.kind.value != Kind::Diode && !polar {
            return None;
        }
        let other = told.legs[0].1;
        told.legs[0].1 = told.legs[1].1;
        told.legs[1].1 = other;
        Some("reversed")
    }

    fn change_type(&mut self, name: &str) -> Option<&'static str> {
        let told = self.parts.get_mut(name)?;
        let word = told.said.spec.type_name.as_mut()?;
        let other = match word.value.as_str() {
            "ECC83" => "ECC82",
            "EL84" => "6V6GT",
            "6L6GC" => "KT88",
            "GZ34" => "5U4GB",
            _ => return None,
        };
        other.clone_into(&mut word.value);
        Some("valve swapped")
    }
}
