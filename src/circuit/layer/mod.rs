//! The verbs of a layer, laid onto the board in fixed passes, so that the order of statements does not matter.

mod add;
mod conflicts;
mod fault;
mod leave;
mod mark;
mod replace;
mod shift;

pub(in crate::circuit) use conflicts::conflicts;

use super::board::Board;
use super::laying::{Laying, Pass};
use super::types::Types;
use crate::model::DocumentKind;
use crate::source::{Problem, Sources, Span};
use crate::syntax::tree::{Place, Said, Statement, Word};

/// Passes of a layer after its declarations, in order. A new part comes into the joints of the old one before legs leave
/// them, so that what is said of its legs is said of the new one's.
const PASSES: [Pass; 10] = [
    |laying, statement| laying.put_to_use(statement),
    |laying, statement| laying.restore(statement),
    |laying, statement| laying.take_out(statement),
    |laying, statement| laying.cut_and_rejoin(statement),
    |laying, statement| laying.replace(statement),
    |laying, statement| laying.lift(statement),
    |laying, statement| laying.shift(statement),
    |laying, statement| laying.add(statement),
    |laying, statement| laying.bridge(statement),
    |laying, statement| laying.mark(statement),
];

/// Lays the statements of one layer onto the board and gives the problems found.
pub(super) fn lay(
    board: &mut Board,
    types: &Types,
    statements: &[&Statement],
    sources: &Sources,
) -> Vec<Problem> {
    let header = statements.iter().find_map(|statement| match &statement.said {
        Said::Header(header) => Some(header.kind.value),
        _ => None,
    });
    // A variant of a stock spec may declare what a job can only change.
    let variant = header == Some(DocumentKind::Stock);
    let mut laying = Laying { board, types, problems: conflicts(statements, sources), variant };
    laying.declarations(statements);
    for pass in PASSES {
        laying.pass(statements, pass);
    }
    // Last: what a statement would change can only be told from the finished board.
    laying.pass(statements, Laying::sense);
    for statement in statements {
        laying.remark(&statement.said);
    }
    laying.told()
}

impl Laying<'_> {
    fn remark(&mut self, said: &Said) {
        let Some((about, note)) = remark_of(said) else { return };
        let head = about.value.split('.').next().unwrap_or(&about.value).to_owned();
        let name = self.board.section(&head).map_or(head, |(tube, _)| tube);
        if let Some(owner) = self.board.parts.get_mut(&name) {
            owner.part.component.remarks.push(note.clone());
        }
    }

    /// The part's board state, if there is such a part; remembers that the statement is about it.
    pub(super) fn about(&mut self, name: &Word, statement: Span) -> bool {
        let known = self.board.known_part(&name.value, name.span);
        if self.note(known).is_none() {
            return false;
        }
        if let Some(owner) = self.board.parts.get_mut(&name.value) {
            // One statement may name a part twice (`swapped`): it is told once.
            if owner.part.said.last() != Some(&statement) {
                owner.part.said.push(statement);
            }
            owner.part.looked_at = true;
        }
        true
    }

    pub(super) fn leg_about(&mut self, place: &Place, statement: Span) -> Option<(String, usize)> {
        let found = self.board.leg_at(place, self.types);
        let (part, leg) = self.note(found)?;
        let word = Word { value: part.clone(), span: place.span };
        self.about(&word, statement);
        Some((part, leg))
    }
}

/// The quoted remark of a statement and the part or leg it is about.
fn remark_of(said: &Said) -> Option<(&Word, &Word)> {
    match said {
        Said::Reads { part, note, .. }
        | Said::Leaks { part, note, .. }
        | Said::Missing { part, note, .. }
        | Said::Replaced { part, note, .. }
        | Said::Swapped { part, note, .. }
        | Said::Reversed { part, note, .. }
        | Said::Shorted { part, note, .. }
        | Said::Lifted { what: part, note, .. }
        | Said::Moved { leg: part, note, .. }
        | Said::Joined { leg: part, note, .. }
        | Said::Remove { name: part, group: false, note } => Some((part, note.as_ref()?)),
        _ => None,
    }
}

/// The same with the remarks of what is no part: a net, a wire, a group, a reading.
pub(super) fn noted(said: &Said) -> Option<(&Word, &Word)> {
    let (about, note) = match said {
        Said::Added { part, .. } => (&part.name, &part.note),
        Said::Cut { new: about, note, .. }
        | Said::Rejoin { new: about, note, .. }
        | Said::Remove { name: about, group: true, note } => (about, note),
        Said::Bridged { a, wire, note, .. } => (wire.as_ref().unwrap_or(a), note),
        Said::Meter(reading) => (&reading.place, &reading.note),
        said => return remark_of(said),
    };
    Some((about, note.as_ref()?))
}
