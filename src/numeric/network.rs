//! The circuit as the numeric core sees it: numbered nodes, named elements, one law each.
//!
//! Comes in from the analysis, which has already resolved switches, controls and conditions; goes out to
//! [`crate::numeric::operating_point`] and [`crate::numeric::response`]. SI units throughout, plain `f64`.

/// A node's number in [`Network::nodes`]; 0 is the chassis.
pub type Node = usize;

/// The chassis: every voltage is measured from it.
pub const CHASSIS: Node = 0;

/// Nodes and elements of one circuit in one condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    /// Node names as messages show them; the first is the chassis.
    pub nodes: Vec<String>,
    /// Elements; answers are asked for by their position here.
    pub elements: Vec<Element>,
}

/// One element: a name for messages and the law it obeys.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    /// The part's name as messages show it.
    pub name: String,
    /// What it does, and between which nodes.
    pub law: Law,
}

/// What an element does, with its terminals. Currents are counted into the terminals.
#[derive(Debug, Clone, PartialEq)]
#[expect(missing_docs, reason = "each field is a terminal or a value whose name carries its unit")]
pub enum Law {
    /// `i = (Va − Vb) / ohms`. Exactly 0 Ω is an ideal link; below 1 Ω the current is an unknown of its own.
    Resistor { a: Node, b: Node, ohms: f64 },
    /// Open at DC, `jωC` at AC.
    Capacitor { a: Node, b: Node, farads: f64 },
    /// `Va − Vb = (ohms + jωL)·i`.
    Inductor { a: Node, b: Node, henries: f64, ohms: f64 },
    /// `Vplus − Vminus = volts` at DC and `ac_volts` (real, may be negative) at AC.
    VoltageSource { plus: Node, minus: Node, volts: f64, ac_volts: f64 },
    /// `amps` leaves `from` and enters `to` through the source; open at AC.
    CurrentSource { from: Node, to: Node, amps: f64 },
    /// A triode, or any triode-connected section.
    Triode { plate: Node, grid: Node, cathode: Node, model: TriodeModel },
    /// A pentode or beam tetrode; the suppressor is at the cathode.
    Pentode { plate: Node, screen: Node, grid: Node, cathode: Node, model: PentodeModel },
    /// Silicon: `i = saturation_amps·(exp(V/(emission·25.852 mV)) − 1)`.
    Diode { anode: Node, cathode: Node, saturation_amps: f64, emission: f64 },
    /// A diode forward; in reverse past `zener_volts` it follows a slope of `zener_ohms`, with a smooth knee.
    Zener {
        anode: Node,
        cathode: Node,
        saturation_amps: f64,
        emission: f64,
        zener_volts: f64,
        zener_ohms: f64,
    },
    /// A rectifier valve: `i = perveance·max(0, V)^1.5`, perveance in A/V^1.5.
    VacuumDiode { anode: Node, cathode: Node, perveance: f64 },
    /// Windings on one core, coupling exactly 1: at DC their resistances alone.
    Windings { windings: Vec<Winding>, henries_per_turn_squared: f64 },
}

/// One winding: the dot is at `a`. `Va − Vb = ohms·i + turns·e`, `e` the volts per turn of the core.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Winding {
    /// The end with the dot.
    pub a: Node,
    /// The other end.
    pub b: Node,
    /// Turns; only ratios matter together with `henries_per_turn_squared`.
    pub turns: f64,
    /// DC resistance in ohms.
    pub ohms: f64,
}

/// Koren's triode (Glass Audio 8(5), 1996) with Dempwolf and Zölzer's grid current (DAFx-11).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TriodeModel {
    /// Amplification factor.
    pub mu: f64,
    /// Exponent of the plate current.
    pub ex: f64,
    /// Divisor of the plate current, V^ex/A.
    pub kg1: f64,
    /// Sharpness of cut-off.
    pub kp: f64,
    /// Knee, in volts squared.
    pub kvb: f64,
    /// The control grid.
    pub grid: GridModel,
}

/// Koren's pentode (Glass Audio 8(5), 1996) with Dempwolf and Zölzer's grid current (DAFx-11).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PentodeModel {
    /// Amplification factor, control grid to screen.
    pub mu: f64,
    /// Exponent of the plate current.
    pub ex: f64,
    /// Divisor of the plate current, V^ex/A.
    pub kg1: f64,
    /// Divisor of the screen current, V^1.5/A.
    pub kg2: f64,
    /// Sharpness of cut-off.
    pub kp: f64,
    /// Knee, in volts.
    pub kvb: f64,
    /// The control grid.
    pub grid: GridModel,
}

/// Grid current `gg·(ln(1 + exp(cg·Vgk))/cg)^xi`, grid to cathode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridModel {
    /// Perveance, A/V^xi.
    pub gg: f64,
    /// Sharpness of the onset, 1/V.
    pub cg: f64,
    /// Exponent.
    pub xi: f64,
}

impl Default for Network {
    fn default() -> Self {
        Self::new()
    }
}

impl Network {
    /// A network with the chassis and nothing else.
    pub fn new() -> Self {
        Self { nodes: vec!["chassis".to_owned()], elements: Vec::new() }
    }

    /// Adds a node and gives its number.
    pub fn add_node(&mut self, name: impl Into<String>) -> Node {
        self.nodes.push(name.into());
        self.nodes.len() - 1
    }

    /// Adds an element and gives its position.
    pub fn add(&mut self, name: impl Into<String>, law: Law) -> usize {
        self.elements.push(Element { name: name.into(), law });
        self.elements.len() - 1
    }

    /// The position of the element of that name; a walk through all of them.
    pub fn element(&self, name: &str) -> Option<usize> {
        self.elements.iter().position(|element| element.name == name)
    }

    /// The node of that name; a walk through all of them.
    pub fn node(&self, name: &str) -> Option<Node> {
        self.nodes.iter().position(|node| node == name)
    }
}

impl Law {
    /// The terminals, in the order in which answers list the currents into them: as the fields are
    /// declared, for windings `a`, `b` of each in turn.
    pub fn terminals(&self) -> Vec<Node> {
        let mut nodes = Vec::new();
        self.each_terminal(|node| nodes.push(node));
        nodes
    }

    /// The terminals of all but windings, without allocation; chassis in the places it lacks.
    pub(crate) fn ends(&self) -> [Node; 4] {
        let mut ends = [CHASSIS; 4];
        let mut places = ends.iter_mut();
        self.each_terminal(|node| {
            if let Some(place) = places.next() {
                *place = node;
            }
        });
        ends
    }

    /// Whether every value is one that the law can have.
    pub(crate) fn is_possible(&self) -> bool {
        let positive = |values: &[f64]| values.iter().all(|&value| value > 0.0 && value.is_finite());
        let not_negative = |values: &[f64]| values.iter().all(|&value| value >= 0.0 && value.is_finite());
        let grid_is_possible =
            // With an exponent of 1 or less the slope at the onset would not be 0: a kink, or an infinite slope.
            |grid: &GridModel| not_negative(&[grid.gg]) && positive(&[grid.cg]) && grid.xi > 1.0;
        match *self {
            Self::Resistor { ohms, .. } => not_negative(&[ohms]),
            Self::Capacitor { farads, .. } => not_negative(&[farads]),
            Self::Inductor { henries, ohms, .. } => not_negative(&[henries, ohms]),
            Self::VoltageSource { volts, ac_volts, .. } => volts.is_finite() && ac_volts.is_finite(),
            Self::CurrentSource { amps, .. } => amps.is_finite(),
            Self::Triode { model: TriodeModel { mu, ex, kg1, kp, kvb, ref grid }, .. } => {
                positive(&[mu, kg1, kp, kvb]) && ex > 1.0 && ex.is_finite() && grid_is_possible(grid)
            }
            Self::Pentode { model: PentodeModel { mu, ex, kg1, kg2, kp, kvb, ref grid }, .. } => {
                positive(&[mu, kg1, kg2, kp, kvb]) && ex > 1.0 && ex.is_finite() && grid_is_possible(grid)
            }
            Self::Diode { saturation_amps, emission, .. } => positive(&[saturation_amps, emission]),
            Self::Zener { saturation_amps, emission, zener_volts, zener_ohms, .. } => {
                positive(&[saturation_amps, emission, zener_volts, zener_ohms])
            }
            Self::VacuumDiode { perveance, .. } => positive(&[perveance]),
            Self::Windings { ref windings, henries_per_turn_squared } => {
                not_negative(&[henries_per_turn_squared])
                    && windings.iter().all(|winding| {
                        not_negative(&[winding.ohms]) && winding.turns != 0.0 && winding.turns.is_finite()
                    })
            }
        }
    }

    /// Calls `visit` for each terminal in the order of [`Law::terminals`].
    pub(crate) fn each_terminal(&self, mut visit: impl FnMut(Node)) {
        match *self {
            Self::Resistor { a, b, .. } | Self::Capacitor { a, b, .. } | Self::Inductor { a, b, .. } => {
                [a, b].into_iter().for_each(visit);
            }
            Self::VoltageSource { plus, minus, .. } => [plus, minus].into_iter().for_each(visit),
            Self::CurrentSource { from, to, .. } => [from, to].into_iter().for_each(visit),
            Self::Triode { plate, grid, cathode, .. } => [plate, grid, cathode].into_iter().for_each(visit),
            Self::Pentode { plate, screen, grid, cathode, .. } => {
                [plate, screen, grid, cathode].into_iter().for_each(visit);
            }
            Self::Diode { anode, cathode, .. }
            | Self::Zener { anode, cathode, .. }
            | Self::VacuumDiode { anode, cathode, .. } => [anode, cathode].into_iter().for_each(visit),
            Self::Windings { ref windings, .. } => {
                for winding in windings {
                    visit(winding.a);
                    visit(winding.b);
                }
            }
        }
    }
}
