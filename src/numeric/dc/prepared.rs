//! A network's equations.

use crate::numeric::dc::islands::Islands;
use crate::numeric::dc::newton::Iteration;
use crate::numeric::dc::shorts::Links;
use crate::numeric::dc::unknowns::Layout;
use crate::numeric::network::Law;
use crate::numeric::point::FloatingGrids;

/// A network's equations, ready for many solves with other values.
#[derive(Debug, Clone)]
pub struct Prepared {
    pub(crate) nodes: usize,
    pub(crate) laws: Vec<Law>,
    pub(crate) floating: FloatingGrids,
    pub(crate) links: Links,
    pub(crate) islands: Islands,
    pub(crate) layout: Layout,
    pub(crate) iteration: Iteration,
    /// Elements found to carry nothing that matters.
    pub(crate) cut_off: Vec<usize>,
}
