//! Things by name: for messages, for acceptances and for the statements that a finding points to.

use crate::circuit::{NetId, PartId, Target};
use crate::source::Span;

use super::context::Context;
use super::value::Thing;

/// What a finding says it is about.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Subject {
    /// Names, the most telling first.
    pub(crate) names: Vec<String>,
    /// Parts.
    pub(crate) parts: Vec<PartId>,
    /// Statements.
    pub(crate) spans: Vec<Span>,
}

/// The name of a thing.
pub(crate) fn name(context: &Context<'_>, thing: Thing) -> String {
    subject(context, thing).names.into_iter().next().unwrap_or_default()
}

/// Names, parts and statements of a thing.
pub(crate) fn subject(context: &Context<'_>, thing: Thing) -> Subject {
    let circuit = context.circuit();
    let mut subject = Subject::default();
    match thing {
        Thing::Part(id) => subject.part(context, id),
        Thing::Net(id) => subject.net(context, id),
        Thing::Leg(id) => {
            subject.names.push(circuit.leg_name(id));
            subject.part(context, id.part);
        }
        Thing::Section(id) => {
            subject.names.push(context.section_name(id));
            subject.part(context, id.tube);
        }
        Thing::Stage(index) => {
            let stage = &context.recognised().stages[index];
            subject.names.push(stage.name.clone());
            stage.sections.iter().for_each(|s| subject.part(context, s.tube));
        }
        Thing::Change(_) | Thing::Difference(_) => {
            if let Some(change) = context.change(thing) {
                subject.names.push(change.subject.clone());
                subject.spans.extend(&change.spans);
                subject.parts.extend(change.after_part);
                if change.spans.is_empty() {
                    change.after_part.into_iter().for_each(|part| subject.part(context, part));
                }
            }
        }
        Thing::Reading(index) => {
            let reading = &circuit.readings[index];
            subject.names.push(reading.place.clone());
            subject.spans.push(reading.span);
            subject.target(context, reading.target);
        }
        Thing::Window(index) => {
            let window = &circuit.windows[index];
            subject.target(context, window.target);
            subject.spans.insert(0, window.span);
        }
        Thing::Amplifier => subject.names.push(circuit.title.clone()),
        Thing::Hazard(_) | Thing::Introduced(_) => {
            if let Some(found) = context.told(thing) {
                subject.names.extend(found.subjects.iter().cloned());
                subject.spans.extend(&found.spans);
            }
        }
        Thing::Acceptance(index) => {
            let accept = &circuit.accepts[index];
            subject.names.push(match &accept.on {
                Some(on) => format!("{} on {on}", accept.rule),
                None => accept.rule.clone(),
            });
            subject.spans.push(accept.span);
        }
    }
    subject.names.dedup();
    subject.spans.sort();
    subject.spans.dedup();
    subject
}

impl Subject {
    fn part(&mut self, context: &Context<'_>, id: PartId) {
        let part = context.part(id);
        self.names.push(part.name.clone());
        self.parts.push(id);
        self.spans.push(part.declared);
        self.spans.extend(&part.said);
    }

    fn net(&mut self, context: &Context<'_>, id: NetId) {
        let net = context.circuit().net(id);
        self.names.push(net.name.clone());
        self.spans.extend(net.declared.as_ref().map(|d| d.span));
    }

    fn target(&mut self, context: &Context<'_>, target: Target) {
        match target {
            Target::Net(net) => self.net(context, net),
            Target::Between(a, b) => {
                let circuit = context.circuit();
                self.names.push(format!("{} to {}", circuit.net(a).name, circuit.net(b).name));
                self.net(context, a);
                self.net(context, b);
            }
            Target::Leg(leg) => {
                self.names.push(context.circuit().leg_name(leg));
                self.part(context, leg.part);
            }
            Target::Part(part) => self.part(context, part),
        }
    }
}
