//! What stands in one file alone, asked by itself.

mod dense;
mod dimension;
mod draw;
mod json;
mod known;
mod load;
mod margins;
mod natural;
mod numbers;
mod page;
mod problems;
mod quantile;
mod shipped;
mod source;
mod sparse;
mod sweep;
mod table;
mod units;
mod value;
