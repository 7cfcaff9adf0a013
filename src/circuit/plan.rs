//! The verbs of a plan that undo: restore, remove, rejoin; and which of a plan's steps an as-left record confirms.

use std::collections::BTreeSet;

use super::board::{Board, BoardPart};
use super::laying::Laying;
use super::part::{Origin, State};
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Span};
use crate::syntax::tree::{Said, Statement, Word};

impl Laying<'_> {
    pub(super) fn restore(&mut self, statement: &Statement) {
        let Said::Restore { names, all, except } = &statement.said else { return };
        for name in except {
            let known = self.board.known_part(&name.value, name.span);
            self.note(known);
        }
        if *all {
            self.restore_all(except, statement.span);
            return;
        }
        for name in names {
            self.restore_one(name, statement.span);
        }
    }

    fn restore_one(&mut self, name: &Word, statement: Span) {
        let net = self.board.net_names.get(&name.value);
        if net.is_some_and(|net| self.board.nets[*net].cut_from.is_some()) {
            self.undo_cut(&name.value);
            return;
        }
        let known = self.board.known_part(&name.value, name.span);
        if self.note(known).is_none() {
            return;
        }
        let owner = &self.board.parts[&name.value];
        let Some(stock) = owner.stock.clone() else {
            let text =
                format!("{} is not in the stock spec, so there is nothing to restore it to", name.value);
            let problem = Problem::error(ProblemCode::NotStock, name.span, text)
                .also(owner.part.declared, "it was added here");
            self.problems.push(problem.help(format!("take it out: `remove {}`", name.value)));
            return;
        };
        if !differs(owner, &stock) {
            let text = format!("{} is as stock already", name.value);
            let problem =
                Problem::error(ProblemCode::StockAlready, name.span, text).here("nothing to restore");
            self.problems.push(problem.also(owner.part.declared, "as the stock spec has it"));
            return;
        }
        self.put_back(&name.value, statement);
    }

    /// Takes the part back to its stock body and joints, and so looks at it; its stand-ins go.
    fn put_back(&mut self, name: &str, statement: Span) {
        let Some(owner) = self.board.parts.get_mut(name) else { return };
        let Some(stock) = owner.stock.clone() else { return };
        let differed = differs(owner, &stock);
        let looked_at = owner.part.looked_at || differed;
        let mut said = std::mem::take(&mut owner.part.said);
        said.extend(differed.then_some(statement));
        let stand_ins = match &owner.part.state {
            State::ReplacedBy { parts, .. } => parts.clone(),
            _ => Vec::new(),
        };
        owner.part = stock.part.clone();
        (owner.part.said, owner.part.looked_at) = (said, looked_at);
        owner.legs.clone_from(&stock.legs);
        owner.stock = Some(stock);
        for part in stand_ins {
            self.vacate(&part, State::Removed);
        }
    }

    fn restore_all(&mut self, except: &[Word], statement: Span) {
        let kept = |name: &str| except.iter().any(|e| e.value == name);
        let names: Vec<String> = self.board.parts.keys().filter(|n| !kept(n)).cloned().collect();
        for name in names {
            match &self.board.parts[&name].part.origin {
                Origin::Stock => self.put_back(&name, statement),
                Origin::StandsFor { part } if kept(part) => {}
                Origin::Added { .. } | Origin::StandsFor { .. } => self.vacate(&name, State::Removed),
            }
        }
        let cuts: Vec<String> = self
            .board
            .nets
            .iter()
            .filter(|n| n.cut_from.is_some())
            .filter_map(|n| n.name.clone())
            .filter(|n| !kept(n))
            .collect();
        for cut in cuts {
            self.undo_cut(&cut);
        }
        self.board.bridges.clear();
    }

    /// Gives the joints of a cut-off net back, and takes the net's name away.
    fn undo_cut(&mut self, new: &str) {
        let Some(net) = self.board.net_names.get(new).copied() else { return };
        let Some(from) = self.board.nets[net].cut_from else { return };
        for joint in self.board.nets[net].joints.clone() {
            self.board.shift_joint(joint, from);
        }
        self.board.nets[net].cut_from = None;
        self.board.nets[net].name = None;
        self.board.nets[net].declared = None;
        self.board.net_names.remove(new);
        self.board.bridges.retain(|b| b.a != net && b.b != net);
    }

    /// `rejoin B3x to B3`: undoes the cut and takes out the wires that only bridged it.
    pub(super) fn rejoin(&mut self, new: &Word, to: &Word) {
        let cut = self.board.net_names.get(&new.value).copied();
        let Some(net) = cut.filter(|n| self.board.nets[*n].cut_from.is_some()) else {
            let problem = Problem::error(
                ProblemCode::NotCut,
                new.span,
                format!("`{}` is not a net that a cut made", new.value),
            );
            self.problems.push(problem.help("`rejoin NEW to NET` takes back `cut NET leaving LEG on NEW`"));
            return;
        };
        let from = self.board.nets[net].cut_from;
        if self.board.net_names.get(&to.value).copied() != from {
            let text = format!("`{}` was not cut from `{}`", new.value, to.value);
            self.problems.push(Problem::error(ProblemCode::NotCut, to.span, text));
            return;
        }
        let wires: Vec<String> =
            self.board.parts.values().filter(|p| self.bridges_cut(p, net, from)).map(name).collect();
        for wire in wires {
            self.vacate(&wire, State::Removed);
        }
        self.undo_cut(&new.value);
    }

    fn bridges_cut(&self, owner: &BoardPart, net: usize, from: Option<usize>) -> bool {
        let nets: Vec<usize> =
            owner.legs.iter().filter_map(|l| l.at).map(|j| self.board.joints[j].net).collect();
        owner.part.kind == Kind::Link
            && owner.part.origin != Origin::Stock
            && nets.len() == 2
            && nets.contains(&net)
            && from.is_some_and(|f| nets.contains(&f))
    }

    pub(super) fn remove_part(&mut self, name: &Word) {
        let owner = &self.board.parts[&name.value].part;
        match &owner.origin {
            // A stock part may be taken out by a plan too: it is then missing from the plan's circuit.
            Origin::Stock => self.vacate(&name.value, State::Missing { snipped: false, note: None }),
            Origin::StandsFor { part } => {
                let text = format!("{} stands in for {part}", name.value);
                let problem = Problem::error(ProblemCode::StandsIn, name.span, text);
                self.problems.push(problem.help(format!("`restore {part}` takes its stand-ins out")));
            }
            Origin::Added { .. } => self.vacate(&name.value, State::Removed),
        }
    }

    pub(super) fn remove_group(&mut self, group: &Word) {
        let members: Vec<String> =
            self.board.parts.values().filter(|p| in_group(p, &group.value)).map(name).collect();
        let used: Vec<String> =
            self.board.used_in.iter().filter(|(_, g)| *g == group.value).map(|(s, _)| s.clone()).collect();
        if members.is_empty() && used.is_empty() {
            let text = format!("there is no group \"{}\"", group.value);
            let problem = Problem::error(ProblemCode::UnknownGroup, group.span, text);
            self.problems.push(problem.help("groups are named by `added resistor R91 100k in \"NAME\"`"));
        }
        for member in members {
            self.vacate(&member, State::Removed);
        }
        for section in used {
            self.unuse(&section);
        }
        self.board.used_in.retain(|(_, g)| *g != group.value);
    }

    /// A section that a group used goes back to idle.
    fn unuse(&mut self, section: &str) {
        let Some((tube, letter)) = self.board.section(section) else { return };
        let prefix = format!("{letter}.");
        if let Some(owner) = self.board.parts.get_mut(&tube) {
            for leg in owner.legs.iter_mut().filter(|l| l.name.starts_with(&prefix)) {
                (leg.home, leg.at, leg.open) = (leg.stock_home, Some(leg.stock_home), true);
            }
            owner.part.unused.push(letter);
        }
    }
}

fn name(owner: &BoardPart) -> String {
    owner.part.name.clone()
}

fn in_group(owner: &BoardPart, group: &str) -> bool {
    matches!(&owner.part.origin, Origin::Added { group: Some(g) } if g == group)
}

/// Whether a part is other than stock in any respect.
fn differs(owner: &BoardPart, stock: &BoardPart) -> bool {
    let legs = |p: &BoardPart| p.legs.iter().map(|l| (l.at, l.home)).collect::<Vec<_>>();
    owner.part.component.body != stock.part.component.body
        || owner.part.state != stock.part.state
        || owner.part.component.examined()
        || legs(owner) != legs(stock)
}

/// The steps of a plan that an as-left record confirms by `done NAME…` or `done all`.
pub(super) fn confirmed(plan: &[&Statement], record: &[&Statement]) -> (Vec<Statement>, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut all = false;
    let mut named: Vec<&Word> = Vec::new();
    for statement in record {
        if let Said::Done { names, all: every } = &statement.said {
            all |= *every;
            named.extend(names);
        }
    }
    let steps: BTreeSet<&str> = plan.iter().flat_map(|s| step_names(&s.said)).collect();
    for word in &named {
        if !steps.contains(word.value.as_str()) {
            let text = format!("the plan has no step for `{}`", word.value);
            problems.push(
                Problem::error(ProblemCode::NotPlanned, word.span, text)
                    .help("`done` names the parts of a plan's steps"),
            );
        }
    }
    let named: BTreeSet<&str> = named.iter().map(|word| word.value.as_str()).collect();
    let is_named = |name: &str| all || named.contains(name);
    let steps = plan.iter().filter_map(|statement| {
        let said = match &statement.said {
            // Windows and acceptances are decisions, not work: they hold from the plan on.
            Said::Window { .. } | Said::Accept { .. } => statement.said.clone(),
            // One `restore` of several parts is several steps.
            Said::Restore { names, all: false, except } => {
                let names: Vec<Word> = names.iter().filter(|n| is_named(&n.value)).cloned().collect();
                (!names.is_empty()).then(|| Said::Restore { names, all: false, except: except.clone() })?
            }
            said => (all || step_names(said).into_iter().any(is_named)).then(|| said.clone())?,
        };
        Some(Statement { said, ..(*statement).clone() })
    });
    (steps.collect(), problems)
}

/// The names under which a step of a plan is confirmed.
fn step_names(said: &Said) -> Vec<&str> {
    match said {
        Said::Restore { names, .. } => names.iter().map(|n| n.value.as_str()).collect(),
        Said::Replaced { part, .. } => vec![&part.value],
        Said::Added { part, group, .. } => {
            std::iter::once(&part.name).chain(group).map(|word| word.value.as_str()).collect()
        }
        Said::Remove { name, .. } => vec![&name.value],
        Said::Moved { leg, .. } => leg.value.split('.').next().into_iter().collect(),
        Said::Rejoin { new, .. } => vec![&new.value],
        Said::Set { control, .. } => vec![&control.value],
        _ => Vec::new(),
    }
}

/// Marks every part of the stock spec as what `restore` goes back to.
pub(super) fn remember_stock(board: &mut Board) {
    for owner in board.parts.values_mut() {
        owner.part.origin = Origin::Stock;
    }
    board.settle_as_stock();
}
