//! A supply's linear part over one stage of a time step: from what its stores held, the mains and the rectifiers'
//! currents to all volts and currents.
//!
//! Stages are those of Alexander's stiffly accurate, L-stable SDIRK method of order 2 (R. Alexander, SIAM J. Numer.
//! Anal. 14(6), 1977): both have the same matrix, and sums over the stages' weights keep charge exactly, so that
//! means obey the equations of the circuit at rest to the last digit whatever the step.
//!
//! ```text
//! 47 µF on 10 kΩ, steps of 100 µs: γ·h = 29.3 µs, C/(γh) = 1.605 S
//! node        (0.0001 + 1.605)·V = 1.605·V_before + I of the rectifier
//! V           0.99994·V_before + 0.623 Ω·I
//! inputs      V_before, sine, 1, I: the row (0.99994, 0, 0, 0.623)
//! resistance  the rectifier (cathode here) sees: 0.623 Ω, the minus of its own entry
//! ```

use crate::numeric::linear::dense::Dense;
use crate::numeric::time::rectifier::mesh::{Mesh, Piece};

/// Share of the step in each stage: 1 − 1/√2.
pub(crate) const GAMMA: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
/// Holds at 0 V one node of each group that nothing ties to chassis, in siemens.
const HOLD: f64 = 1e-10;
/// Leakage of a capacitor that nothing else discharges, per second: a decay over a million seconds.
// Without it the mean over a period of such a capacitor's volts is whatever it began with: Newton's matrix is
// singular.
const SELF_DISCHARGE: f64 = 1e-6;

/// The linear part for one step length.
#[derive(Debug, Clone)]
pub(crate) struct Operators {
    /// Capacitors and inductors, by piece.
    pub(crate) stores: Vec<usize>,
    /// By piece.
    pub(crate) rectifiers: Vec<usize>,
    /// Inputs: each store's value before, the mains (sine), constants, each rectifier's current.
    pub(crate) inputs: usize,
    /// Each store's value from the inputs, by rows.
    pub(crate) store_rows: Vec<f64>,
    /// Each rectifier's volts from the inputs, by rows.
    pub(crate) rectifier_rows: Vec<f64>,
    /// The same by columns: for each input its share in each rectifier's volts, then in each store's value.
    pub(crate) columns: Vec<f64>,
    /// Every unknown from the inputs: nodes after the chassis, then branches' currents.
    pub(crate) unknown_rows: Vec<f64>,
    /// For each piece the row of its current among the unknowns, where that is one.
    pub(crate) branch_row: Vec<Option<usize>>,
}

impl Operators {
    /// Lays out the linear part for steps of `step` seconds; `None` where it is singular.
    pub(crate) fn new(mesh: &Mesh, step: f64) -> Option<Self> {
        let mut branch_row = vec![None; mesh.pieces.len()];
        let mut size = mesh.nodes - 1;
        for (at, piece) in mesh.pieces.iter().enumerate() {
            if piece.is_branch() {
                branch_row[at] = Some(size);
                size += 1;
            }
        }
        let of = |test: fn(&Piece) -> bool| {
            let chosen = mesh.pieces.iter().enumerate().filter(|(_, piece)| test(piece));
            chosen.map(|(at, _)| at).collect::<Vec<usize>>()
        };
        let stores = of(Piece::stores);
        let rectifiers = of(|piece| matches!(piece, Piece::Rectifier { .. }));
        let inputs = stores.len() + 2 + rectifiers.len();
        let mut columns =
            Columns { size, matrix: vec![0.0; size * size], right: vec![vec![0.0; size]; inputs] };
        columns.stamp(mesh, &branch_row, step, stores.len());
        // Solved once for all inputs: a period is then 400 stages of products, no solve but for the rectifiers' own.
        let factors = Dense::factor(size, columns.matrix).ok()?;
        let mut unknown_rows = vec![0.0; size * inputs];
        for (input, mut right) in columns.right.into_iter().enumerate() {
            factors.solve(&mut right);
            for (row, value) in right.into_iter().enumerate() {
                unknown_rows[row * inputs + input] = value;
            }
        }
        let mut operators = Self {
            stores,
            rectifiers,
            inputs,
            store_rows: Vec::new(),
            rectifier_rows: Vec::new(),
            columns: Vec::new(),
            unknown_rows,
            branch_row,
        };
        operators.store_rows =
            operators.stores.iter().flat_map(|at| operators.value_row(mesh, *at)).collect();
        operators.rectifier_rows =
            operators.rectifiers.iter().flat_map(|at| operators.across_row(mesh, *at)).collect();
        for input in 0..inputs {
            let rows = operators.rectifier_rows.chunks_exact(inputs);
            let rows = rows.chain(operators.store_rows.chunks_exact(inputs));
            operators.columns.extend(rows.map(|row| row[input]));
        }
        // A pivot of rounding size passes for one in a dense system; its answer then overflows.
        operators.unknown_rows.iter().all(|value| value.is_finite()).then_some(operators)
    }

    /// A store's value: a capacitor's volts, an inductor's current.
    fn value_row(&self, mesh: &Mesh, piece: usize) -> Vec<f64> {
        match self.branch_row[piece] {
            Some(row) => self.unknown_rows[row * self.inputs..(row + 1) * self.inputs].to_vec(),
            None => self.across_row(mesh, piece),
        }
    }

    /// A piece's volts, first terminal above second.
    fn across_row(&self, mesh: &Mesh, piece: usize) -> Vec<f64> {
        let (a, b) = mesh.pieces[piece].ends();
        let at = |node: usize, input: usize| match node {
            0 => 0.0,
            _ => self.unknown_rows[(node - 1) * self.inputs + input],
        };
        (0..self.inputs).map(|input| at(a, input) - at(b, input)).collect()
    }

    /// Mean volts of each node after the chassis and currents of the branches, from the inputs' means.
    pub(crate) fn unknowns(&self, inputs: &[f64]) -> Vec<f64> {
        let rows = self.unknown_rows.chunks_exact(self.inputs);
        rows.map(|row| row.iter().zip(inputs).map(|(share, input)| share * input).sum()).collect()
    }

    /// How the current of one rectifier lowers the volts of another.
    pub(crate) fn resistance(&self, row: usize, column: usize) -> f64 {
        -self.rectifier_rows[row * self.inputs + self.stores.len() + 2 + column]
    }
}

/// The matrix and its right-hand sides, one for each input.
struct Columns {
    size: usize,
    matrix: Vec<f64>,
    right: Vec<Vec<f64>>,
}

impl Columns {
    fn add(&mut self, row: Option<usize>, column: Option<usize>, value: f64) {
        if let (Some(row), Some(column)) = (row, column) {
            self.matrix[row * self.size + column] += value;
        }
    }

    fn conduct(&mut self, a: usize, b: usize, siemens: f64) {
        let (a, b) = (a.checked_sub(1), b.checked_sub(1));
        self.add(a, a, siemens);
        self.add(b, b, siemens);
        self.add(a, b, -siemens);
        self.add(b, a, -siemens);
    }

    /// A current of one per unit of an input, from `from` through the piece to `to`.
    fn inject(&mut self, input: usize, from: usize, to: usize, amps: f64) {
        for (node, amps) in [(from, -amps), (to, amps)] {
            if let Some(row) = node.checked_sub(1) {
                self.right[input][row] += amps;
            }
        }
    }

    /// A branch's current out of `out` and into `into`, and its volts equation begun.
    fn branch(&mut self, row: usize, out: usize, into: usize) {
        for (node, sign) in [(out, 1.0), (into, -1.0)] {
            let node = node.checked_sub(1);
            self.add(node, Some(row), -sign);
            self.add(Some(row), node, sign);
        }
    }

    fn stamp(&mut self, mesh: &Mesh, branch_row: &[Option<usize>], step: f64, stores: usize) {
        let rate = 1.0 / (GAMMA * step);
        let held = joined(mesh, |piece| !matches!(piece, Piece::Capacitor { .. } | Piece::Draw { .. }));
        for node in adrift(mesh) {
            self.conduct(node, 0, HOLD);
        }
        let (mut store, mut rectifier) = (0, stores + 2);
        for (at, piece) in mesh.pieces.iter().enumerate() {
            match *piece {
                Piece::Resistor { a, b, ohms } => self.conduct(a, b, 1.0 / ohms),
                Piece::Capacitor { a, b, farads } => {
                    let leak = if held[a] && held[b] { 0.0 } else { farads * SELF_DISCHARGE };
                    self.conduct(a, b, farads * rate + leak);
                    self.inject(store, b, a, farads * rate);
                    store += 1;
                }
                Piece::Inductor { a, b, henries, ohms } => {
                    let row = branch_row[at].unwrap_or_default();
                    // Current from a to b: out of b, into a.
                    self.branch(row, b, a);
                    self.add(Some(row), Some(row), ohms + henries * rate);
                    self.right[store][row] = henries * rate;
                    store += 1;
                }
                Piece::Winding { a, b, ohms, ratio, transformer } => {
                    let row = branch_row[at].unwrap_or_default();
                    self.branch(row, a, b);
                    self.add(Some(row), Some(row), ohms);
                    let feed = mesh.transformers[transformer];
                    for (other, to) in mesh.pieces.iter().zip(branch_row) {
                        if let Piece::Winding { ratio: by, transformer: same, .. } = *other
                            && same == transformer
                        {
                            // Primary resistance couples all windings of a core, each to each by the product of their
                            // ratios.
                            self.add(Some(row), *to, ratio * by * feed.ohms);
                        }
                    }
                    self.right[stores][row] = ratio * feed.peak_volts;
                    self.right[stores + 1][row] = ratio * feed.ohms * feed.direct_amps;
                }
                Piece::Rectifier { anode, cathode, law } => {
                    self.conduct(anode, cathode, law.leak());
                    self.inject(rectifier, anode, cathode, 1.0);
                    rectifier += 1;
                }
                Piece::Draw { from, to, amps } => self.inject(stores + 1, from, to, amps),
            }
        }
    }
}

/// Whether each node is joined to chassis by pieces of the kind.
fn joined(mesh: &Mesh, by: impl Fn(&Piece) -> bool) -> Vec<bool> {
    let union = union(mesh, by);
    (0..mesh.nodes).map(|node| union.equiv(node, 0)).collect()
}

/// One node of each group that nothing ties to chassis.
fn adrift(mesh: &Mesh) -> Vec<usize> {
    let mut union = union(mesh, |piece| !matches!(piece, Piece::Draw { .. }));
    (0..mesh.nodes).filter(|node| union.union(*node, 0)).collect()
}

fn union(mesh: &Mesh, by: impl Fn(&Piece) -> bool) -> petgraph::unionfind::UnionFind<usize> {
    let mut union = petgraph::unionfind::UnionFind::new(mesh.nodes);
    for piece in mesh.pieces.iter().filter(|piece| by(piece)) {
        let (a, b) = piece.ends();
        union.union(a, b);
    }
    union
}
