//! Operating points: what is unknown (`shorts`, `islands`, `non_conducting`, `unknowns`), its equations (`stamp`, `device`,
//! `valve`), and their solution (`newton`, `continuation` where that fails, `multiple` where there are several).

pub(crate) mod answer;
pub(crate) mod continuation;
pub(crate) mod device;
pub(crate) mod islands;
pub(crate) mod multiple;
pub(crate) mod newton;
pub(crate) mod non_conducting;
pub(crate) mod prepared;
pub(crate) mod shorts;
pub(crate) mod solver;
pub(crate) mod stamp;
pub(crate) mod unknowns;
pub(crate) mod valve;

pub use multiple::operating_points;
pub use prepared::Prepared;
pub use solver::operating_point;
