//! The board while documents are laid onto it: joints, nets of joints, and parts with their legs in joints.
//! Every leg has a joint of its own, its home, which stays when the leg leaves.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, VecDeque};

use super::part::Part;
use super::{Accept, Declared, Mains};
use crate::model::Kind;
use crate::source::{Problem, ProblemCode, Span, Spanned};

/// Places that a problem names at the most.
const MOST_LABELS: usize = 8;

/// Index of a joint.
pub(super) type Joint = usize;
/// Index of a net of joints; 0 is chassis.
pub(super) type BoardNet = usize;

/// Pad, tag or socket pin.
#[derive(Debug, Clone)]
pub(super) struct JointState {
    /// The net it is in.
    pub net: BoardNet,
    /// The net the stock spec put it in.
    pub stock_net: BoardNet,
    /// The part whose leg it was made for.
    pub part: String,
    /// That leg's index.
    pub leg: usize,
}

/// A net of joints.
#[derive(Debug, Clone, Default)]
pub(super) struct NetState {
    /// Declared name.
    pub name: Option<String>,
    /// What was declared.
    pub declared: Option<Declared>,
    /// Joints in it.
    pub joints: Vec<Joint>,
    /// The net a cut took it from.
    pub cut_from: Option<BoardNet>,
}

/// A leg on the board.
#[derive(Debug, Clone)]
pub(super) struct LegState {
    /// Name within the part.
    pub name: String,
    /// Its own joint.
    pub home: Joint,
    /// Its own joint by the stock spec.
    pub stock_home: Joint,
    /// The joint it sits in.
    pub at: Option<Joint>,
    /// Said to be lifted.
    pub lifted: bool,
    /// Alone on purpose.
    pub open: bool,
}

/// A part on the board. `part.legs` stays empty here; [`super::snapshot`] fills it.
#[derive(Debug, Clone)]
pub(super) struct BoardPart {
    /// Everything but the legs.
    pub part: Part,
    /// The legs.
    pub legs: Vec<LegState>,
    /// As the stock spec has it, for `restore`.
    pub stock: Option<Box<BoardPart>>,
}

/// Two nets made one by solder or carbonised board.
#[derive(Debug, Clone)]
pub(super) struct Bridge {
    /// One net.
    pub a: BoardNet,
    /// The other.
    pub b: BoardNet,
}

/// A target as text, kept until the nets are final.
#[derive(Debug, Clone)]
pub(super) struct PendingWindow {
    /// Place as written.
    pub place: Spanned<String>,
    /// The rest; its target is filled in by the snapshot.
    pub window: super::Window,
}

/// A heater feed as written.
#[derive(Debug, Clone)]
pub(super) struct PendingHeater {
    /// `T1`, `heat`.
    pub winding: (String, String),
    /// Valves.
    pub valves: Vec<String>,
    /// A joint's or declared net's board net.
    pub reference: Option<BoardNet>,
    /// The statement.
    pub span: Span,
}

/// Where a place leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Spot {
    /// A declared net or chassis.
    Net(BoardNet),
    /// A joint.
    Joint(Joint),
}

/// One join that a statement made, for the chain in an error.
#[derive(Debug, Clone)]
struct Join {
    a: Spot,
    b: Spot,
    span: Span,
}

/// The board.
#[derive(Debug, Clone)]
pub(super) struct Board {
    pub parts: BTreeMap<String, BoardPart>,
    pub joints: Vec<JointState>,
    pub nets: Vec<NetState>,
    pub net_names: BTreeMap<String, BoardNet>,
    pub bridges: Vec<Bridge>,
    pub mains: Option<Mains>,
    pub insulation: Option<Spanned<String>>,
    pub made: Option<u32>,
    pub heaters: Vec<PendingHeater>,
    pub drive: Option<(String, Option<f64>)>,
    pub windows: Vec<PendingWindow>,
    pub accepts: Vec<Accept>,
    /// Sections put to use, and the group that did.
    pub used_in: Vec<(String, String)>,
    joins: Vec<Join>,
}

impl Board {
    /// An empty board with its chassis.
    pub(super) fn new() -> Board {
        Board {
            parts: BTreeMap::new(),
            joints: Vec::new(),
            nets: vec![NetState { name: Some("chassis".into()), ..NetState::default() }],
            net_names: BTreeMap::from([("chassis".into(), 0)]),
            bridges: Vec::new(),
            mains: None,
            insulation: None,
            made: None,
            heaters: Vec::new(),
            drive: None,
            windows: Vec::new(),
            accepts: Vec::new(),
            used_in: Vec::new(),
            joins: Vec::new(),
        }
    }

    /// Declares a net by name.
    pub(super) fn declare_net(&mut self, name: &str, declared: Declared) -> BoardNet {
        self.nets.push(NetState { name: Some(name.into()), declared: Some(declared), ..NetState::default() });
        self.net_names.insert(name.into(), self.nets.len() - 1);
        self.nets.len() - 1
    }

    /// A new joint in a net of its own.
    pub(super) fn new_joint(&mut self, part: &str, leg: usize) -> Joint {
        let joint = self.joints.len();
        self.nets.push(NetState { joints: vec![joint], ..NetState::default() });
        let net = self.nets.len() - 1;
        self.joints.push(JointState { net, stock_net: net, part: part.into(), leg });
        joint
    }

    /// Adds a leg with its joint to a part.
    pub(super) fn add_leg(&mut self, part: &str, name: &str) -> usize {
        let index = self.parts[part].legs.len();
        let home = self.new_joint(part, index);
        if let Some(owner) = self.parts.get_mut(part) {
            let leg = LegState {
                name: name.into(),
                home,
                stock_home: home,
                at: Some(home),
                lifted: false,
                open: false,
            };
            owner.legs.push(leg);
        }
        index
    }

    /// The net of a spot.
    pub(super) fn net_at(&self, spot: Spot) -> BoardNet {
        match spot {
            Spot::Net(net) => net,
            Spot::Joint(joint) => self.joints[joint].net,
        }
    }

    /// A net in words: its name, or a leg of it.
    pub(super) fn net_words(&self, net: BoardNet) -> String {
        let state = &self.nets[net];
        let leg = || {
            let joint = &self.joints[*state.joints.first()?];
            let owner = self.parts.get(&joint.part)?;
            Some(format!("the net of {}", owner.part.spelled(&owner.legs.get(joint.leg)?.name)))
        };
        state.name.clone().or_else(leg).unwrap_or_else(|| "no net".to_owned())
    }

    /// Joins two spots. A join that would make two declared nets one, or a two-leg part a loop, is refused with
    /// the statements that form the chain.
    pub(super) fn join(&mut self, a: Spot, b: Spot, span: Span) -> Result<(), Problem> {
        let (net_a, net_b) = (self.net_at(a), self.net_at(b));
        let join = Join { a, b, span };
        if net_a == net_b {
            self.joins.push(join);
            return Ok(());
        }
        if self.nets[net_a].name.is_some() && self.nets[net_b].name.is_some() {
            return Err(self.two_nets(net_a, net_b, &join));
        }
        if let Some(part) = self.looped_part(net_a, net_b) {
            return Err(self.part_loop(&part, &join));
        }
        self.joins.push(join);
        self.merge(net_a, net_b);
        Ok(())
    }

    fn merge(&mut self, a: BoardNet, b: BoardNet) {
        let b_stays = self.nets[b].name.is_some()
            || (self.nets[a].name.is_none() && self.nets[b].joints.len() > self.nets[a].joints.len());
        let (stays, goes) = if b_stays { (b, a) } else { (a, b) };
        let moved = std::mem::take(&mut self.nets[goes].joints);
        for joint in &moved {
            self.joints[*joint].net = stays;
        }
        self.nets[stays].joints.extend(moved);
    }

    /// Moves one joint to another net, as a cut does.
    pub(super) fn shift_joint(&mut self, joint: Joint, to: BoardNet) {
        let from = self.joints[joint].net;
        self.nets[from].joints.retain(|j| *j != joint);
        self.joints[joint].net = to;
        self.nets[to].joints.push(joint);
    }

    /// Takes every joint as where the stock spec has it from now on.
    pub(super) fn settle_as_stock(&mut self) {
        for joint in &mut self.joints {
            joint.stock_net = joint.net;
        }
        for part in self.parts.values_mut() {
            for leg in &mut part.legs {
                leg.stock_home = leg.home;
            }
            part.stock = None;
            part.stock = Some(Box::new(part.clone()));
        }
    }

    /// A two-leg part with one leg in each of two nets that are about to be one.
    fn looped_part(&self, a: BoardNet, b: BoardNet) -> Option<String> {
        let (small, large) =
            if self.nets[a].joints.len() < self.nets[b].joints.len() { (a, b) } else { (b, a) };
        self.nets[small].joints.iter().find_map(|joint| {
            let owner = self.parts.get(&self.joints[*joint].part)?;
            let [one, two] = owner.legs.as_slice() else { return None };
            let other = if one.home == *joint { two.home } else { one.home };
            let two_legged = !matches!(owner.part.kind, Kind::Link | Kind::Switch | Kind::Relay);
            (two_legged && self.joints[other].net == large).then(|| owner.part.name.clone())
        })
    }

    fn two_nets(&self, a: BoardNet, b: BoardNet, join: &Join) -> Problem {
        let name = |net: BoardNet| self.nets[net].name.clone().unwrap_or_default();
        let text = format!("this joins `{}` and `{}`, which are declared as two nets", name(a), name(b));
        let problem = Problem::error(ProblemCode::NetsJoined, join.span, text)
            .here("this statement closes the chain")
            .help("put a part (or `link`) between them, or name another leg");
        self.with_chain(problem, Spot::Net(a), Spot::Net(b), join)
    }

    fn part_loop(&self, part: &str, join: &Join) -> Problem {
        let legs = &self.parts[part].legs;
        let text = format!("this joins both legs of {part} to one net");
        let problem = Problem::error(ProblemCode::PartJoinedToItself, join.span, text)
            .here("this statement closes the chain")
            .also(self.parts[part].part.declared, format!("{part} is declared here"))
            .help(format!("a part shorted on the bench is written `{part} shorted`"));
        self.with_chain(problem, Spot::Joint(legs[0].home), Spot::Joint(legs[1].home), join)
    }

    /// Adds the statements on the shortest way from one spot to another through the joins made so far and `last`.
    fn with_chain(&self, mut problem: Problem, from: Spot, to: Spot, last: &Join) -> Problem {
        let joins: Vec<&Join> = self.joins.iter().chain(std::iter::once(last)).collect();
        let mut at: BTreeMap<Spot, Vec<usize>> = BTreeMap::new();
        for (index, join) in joins.iter().enumerate() {
            at.entry(join.a).or_default().push(index);
            at.entry(join.b).or_default().push(index);
        }
        // For each join that is reached the one before it.
        let mut came: BTreeMap<usize, Option<usize>> = BTreeMap::new();
        let mut queue: VecDeque<(Spot, Option<usize>)> = VecDeque::from([(from, None)]);
        while let Some((spot, before)) = queue.pop_front() {
            if spot == to {
                let mut step = before;
                while let Some(index) = step {
                    if joins[index].span != last.span && problem.labels.len() < MOST_LABELS {
                        problem = problem.also(joins[index].span, "and this is part of it");
                    }
                    step = came.get(&index).copied().flatten();
                }
                break;
            }
            // A spot is left once.
            for index in at.remove(&spot).unwrap_or_default() {
                if let Entry::Vacant(entry) = came.entry(index) {
                    entry.insert(before);
                    let join = joins[index];
                    queue.push_back((if join.a == spot { join.b } else { join.a }, Some(index)));
                }
            }
        }
        problem
    }
}
