//! The rule files that come with the tool, embedded.

/// Path below `rules/` and text of each.
pub const SHIPPED: &[(&str, &str)] =
    &[("supply/dropper-overloaded.rule", include_str!("../../rules/supply/dropper-overloaded.rule"))];
