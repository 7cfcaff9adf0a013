//! What a layer says of parts that stay where they are: checked, read, leaky, shorted, set, accepted.

use crate::circuit::Accept;
use crate::circuit::laying::Laying;
use crate::circuit::part::Leak;
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Span};
use crate::syntax::tree::{Said, Setting, Statement, Value, Word};
use crate::units::{Unit, value_code};

impl Laying<'_> {
    pub(super) fn mark(&mut self, statement: &Statement) {
        let span = statement.span;
        match &statement.said {
            Said::Checked(names) => {
                for name in names {
                    if self.about(name, span)
                        && let Some(owner) = self.board.parts.get_mut(&name.value)
                    {
                        owner.part.checked = true;
                    }
                }
            }
            Said::Reads { part, value, in_circuit, .. } if self.about(part, span) => {
                if let Some(problem) = self
                    .unreadable(part, value, *in_circuit)
                    .or_else(|| self.doubtful(part, value, *in_circuit))
                {
                    self.problems.push(problem);
                    return;
                }
                if let Some(owner) = self.board.parts.get_mut(&part.value) {
                    let slot = if *in_circuit {
                        &mut owner.part.component.read_in_circuit
                    } else {
                        &mut owner.part.component.measured
                    };
                    *slot = Some(value.value.value);
                }
            }
            Said::Leaks { part, amps, volts, to, .. } => {
                let leak = Leak { amps: amps.value.value, volts: volts.value.value };
                self.fault(part, to.as_ref(), Some(leak), span);
            }
            Said::Shorted { part, to, .. } => self.fault(part, to.as_ref(), None, span),
            Said::Set { control, to } => self.set(control, to, span),
            Said::Accept { rule, on, because } => self.board.accepts.push(Accept {
                rule: rule.value.clone(),
                on: on.as_ref().map(|p| p.value.clone()),
                because: because.value.clone(),
                span,
            }),
            Said::Window { .. }
            | Said::Open(_)
            | Said::Role { .. }
            | Said::Drive { .. }
            | Said::Heater { .. } => {
                self.join_up(statement);
            }
            _ => {}
        }
    }

    /// What no meter shows: the impedance of a transformer, a capacitance among other parts.
    fn unreadable(&self, part: &Word, value: &Value, in_circuit: bool) -> Option<Problem> {
        let owner = &self.board.parts[&part.value].part;
        let name = &part.value;
        let (code, text, help) = match owner.kind {
            Kind::OutputTransformer | Kind::ReverbTransformer => (
                ProblemCode::WrongKind,
                format!("the value of {name} is an impedance, which no meter reads"),
                format!("note what was measured: `note \"primary of {name} 95R a side\"`"),
            ),
            kind if in_circuit && kind.unit() != Some(Unit::Ohm) => (
                ProblemCode::WrongUnit,
                format!("{name} is no resistance, and that is what is read in circuit, between two joints"),
                format!("free a leg to read the part itself, and write `{name} reads 22n`"),
            ),
            Kind::Pot | Kind::Trimmer if in_circuit => (
                ProblemCode::WrongKind,
                format!("what joins the wiper of {name} decides what it reads in circuit"),
                format!("free its legs to read the part itself, and write `{name} reads 1M`"),
            ),
            _ => return None,
        };
        Some(Problem::error(code, value.span, text).also(owner.declared, "declared here").help(help))
    }

    /// A reading in another unit than the part's, or so far from its label that a prefix was forgotten.
    fn doubtful(&self, part: &Word, value: &Value, in_circuit: bool) -> Option<Problem> {
        let owner = &self.board.parts[&part.value].part;
        let name = &part.value;
        let about =
            |code, text: String| Problem::error(code, value.span, text).also(owner.declared, "declared here");
        let Some(unit) = owner.kind.unit() else {
            let text = format!("a {} has no value of its own to read", owner.kind.word());
            let help = format!("a reading at a place is written `meter {name}.LEG VALUE`");
            return Some(about(ProblemCode::WrongKind, text).help(help));
        };
        if let Some(read) = value.value.unit.filter(|read| *read != unit) {
            let text = format!("{name} is read as {}, and has {}", read.quantity(), unit.quantity());
            let help = format!("write what its meter shows, in the unit of {}", unit.quantity());
            return Some(about(ProblemCode::WrongUnit, text).help(help));
        }
        let label = owner.component.body.value.filter(|_| !in_circuit)?;
        // A forgotten k or M is a factor of 1,000; with a drift of two beside it the band starts there.
        (!(0.0005..=2000.0).contains(&(value.value.value / label))).then(|| {
            let (shown, label) = (value_code(value.value.value, unit), value_code(label, unit));
            about(ProblemCode::ReadingDoubtful, format!("{name} reads {shown}, and its label says {label}"))
                .here("was a prefix forgotten?")
                .help(format!(
                    "an open part is written `{name} missing \"open\"`, a shorted one `{name} shorted`"
                ))
        })
    }

    fn set(&mut self, control: &Word, to: &Setting, span: Span) {
        let known = self.board.known_part(&control.value, control.span);
        if self.note(known).is_none() {
            return;
        }
        let Some(owner) = self.board.parts.get_mut(&control.value) else { return };
        owner.part.said.push(span);
        match (owner.part.kind, to) {
            (Kind::Pot | Kind::Trimmer, Setting::Turn(turn)) => {
                owner.part.component.body.at = Some(turn.value.value);
            }
            (Kind::Switch | Kind::Relay, Setting::Position(word))
                if owner.part.component.body.positions.contains(&word.value) =>
            {
                owner.part.component.body.now = Some(word.value.clone());
            }
            (Kind::Switch | Kind::Relay, Setting::Position(word)) => {
                let problem =
                    Problem::error(ProblemCode::UnknownPosition, word.span, "not a position of this switch");
                let positions = owner.part.component.body.positions.join(", ");
                self.problems.push(problem.help(format!("its positions are {positions}")));
            }
            (kind, _) => {
                let text = format!("a {} is not set this way", kind.word());
                let problem = Problem::error(ProblemCode::WrongKind, control.span, text);
                self.problems.push(problem.help("`set VR1 60%` for a control, `set S2 play` for a switch"));
            }
        }
    }
}
