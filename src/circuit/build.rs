//! A stack of documents, stock spec first, to one circuit for each of them.

use std::sync::Arc;

use super::board::Board;
use super::laying::Laying;
use super::plan::{confirmed, remember_stock};
use super::snapshot::{Top, snapshot};
use super::types::Types;
use super::{Circuit, layer};
use crate::model::DocumentKind;
use crate::source::{Problem, ProblemCode, Sources, Span};
use crate::syntax::tree::{Document, Said, Statement};

/// Documents laid on a board, stock spec first, with one circuit for each of them. Others can be laid on top.
#[derive(Debug, Clone)]
pub struct Laid {
    /// One for each document, in the order of the stack.
    pub circuits: Vec<Circuit>,
    /// Everything wrong or notable; with an error among them the circuits must not be used.
    pub problems: Vec<Problem>,
    depth: usize,
    types: Arc<Types>,
    board: Board,
    /// Of a plan at the top: what lies beneath, and its statements.
    plan: Option<(Board, Vec<Statement>)>,
}

/// Builds the circuit of every document of a stack: each rests on the one before, the first is a stock spec.
/// `types` is the shipped type data; type data in the documents themselves comes on top.
pub fn build(stack: &[Document], types: &Arc<Types>, sources: &Sources) -> Laid {
    let mut laid = Laid {
        circuits: Vec::new(),
        problems: Vec::new(),
        depth: 0,
        types: types.clone(),
        board: Board::new(),
        plan: None,
    };
    for document in stack.iter().filter(|document| has_types(document)) {
        Arc::make_mut(&mut laid.types).take(document, &mut laid.problems);
    }
    for document in stack {
        laid.lay(document, sources);
    }
    laid
}

impl Laid {
    /// Lays one more document, which must bring no type data of its own.
    pub fn lay(&mut self, document: &Document, sources: &Sources) {
        let statements: Vec<&Statement> = document.statements().collect();
        let kind = document.header().map_or(DocumentKind::Stock, |h| h.kind.value);
        let beneath = self.plan.take();
        if self.depth == 0 {
            self.problems.extend(lay_stock(&mut self.board, &self.types, &statements, sources));
        } else {
            if kind == DocumentKind::AsLeft && beneath.is_none() {
                self.problems.extend(nothing_planned(&statements));
            }
            // An as-left record holds of a plan only what it confirms; the rest stays as found.
            if let (DocumentKind::AsLeft, Some((beneath, plan))) = (kind, beneath) {
                let (steps, unplanned) = confirmed(&plan.iter().collect::<Vec<_>>(), &statements);
                self.problems.extend(unplanned);
                self.board = beneath;
                // The plan's own problems have been reported with the plan.
                let steps: Vec<&Statement> = steps.iter().collect();
                layer::lay(&mut self.board, &self.types, &steps, sources);
            }
            if kind == DocumentKind::Plan {
                self.plan = Some((self.board.clone(), document.statements().cloned().collect()));
            }
            look_anew(&mut self.board, kind);
            self.problems.extend(layer::lay(&mut self.board, &self.types, &statements, sources));
            if kind == DocumentKind::Stock {
                remember_stock(&mut self.board);
            }
        }
        self.problems.extend(empty_circuit(&self.board, &statements, self.depth));
        let top = top_of(document, kind, &statements);
        let circuit = snapshot(&self.board, &self.types, &top, &mut self.problems);
        self.circuits.push(circuit);
        self.depth += 1;
        self.problems.sort_by(|a, b| a.span().cmp(&b.span()).then_with(|| a.message.cmp(&b.message)));
        self.problems.dedup();
    }
}

/// Every document looks at the parts anew, but for an as-left record: what the record beneath it looked at stays so.
fn look_anew(board: &mut Board, kind: DocumentKind) {
    for owner in board.parts.values_mut() {
        owner.part.looked_at &= kind == DocumentKind::AsLeft;
        owner.part.checked = false;
    }
}

/// Whether a document brings type data.
pub fn has_types(document: &Document) -> bool {
    let own = |statement: &Statement| matches!(statement.said, Said::Type(_) | Said::TypesFrom(_));
    document.statements().any(own)
}

fn top_of<'a>(document: &Document, kind: DocumentKind, statements: &'a [&'a Statement]) -> Top<'a> {
    let header = document.header();
    Top {
        kind,
        title: header.map(|h| h.title.value.clone()).unwrap_or_default(),
        subtitle: header.and_then(|h| h.subtitle.as_ref()).map(|s| s.value.clone()),
        statements,
    }
}

fn lay_stock(board: &mut Board, types: &Types, statements: &[&Statement], sources: &Sources) -> Vec<Problem> {
    let mut laying = Laying { board, types, problems: layer::conflicts(statements, sources), variant: false };
    laying.declarations(statements);
    laying.pass(statements, |laying, statement| {
        laying.join_up(statement);
        laying.join_contact(statement);
    });
    laying.pass(statements, Laying::sense);
    let problems = laying.told();
    remember_stock(board);
    problems
}

/// A circuit without parts or without a ground can't be judged.
fn empty_circuit(board: &Board, statements: &[&Statement], depth: usize) -> Option<Problem> {
    if depth > 0 {
        return None;
    }
    let span = statements.first().map(|s| s.span)?;
    let first_part = statements.iter().find(|s| matches!(s.said, Said::Part(_))).map(|s| s.span);
    let Some(part) = first_part else {
        let problem = Problem::error(ProblemCode::NoParts, span, "this stock spec declares no parts");
        return Some(problem.help("a part is declared like `resistor R4 100k 1W from B4 to V1a.plate`"));
    };
    board.nets[0].joints.is_empty().then(|| no_ground(part))
}

/// `done` confirms steps of the plan beneath.
fn nothing_planned(statements: &[&Statement]) -> Option<Problem> {
    let done = statements.iter().find(|s| matches!(s.said, Said::Done { .. }))?;
    let problem =
        Problem::error(ProblemCode::NotPlanned, done.span, "nothing is planned beneath this record")
            .here("done of what?");
    Some(problem.help("`done` confirms a plan's steps: name the plan, `as-left \"JOB\" after \"PLAN.amp\"`, or write what is so"))
}

fn no_ground(part: Span) -> Problem {
    Problem::error(ProblemCode::NoGround, part, "nothing in this circuit is joined to chassis")
        .here("the first part")
        .help("chassis is 0 V and the only reference: join the supply's minus and the grounds to `chassis`")
}
