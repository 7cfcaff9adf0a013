//! The rule files that come with the tool, embedded.

/// Path below `rules/` and text of each.
pub const SHIPPED: &[(&str, &str)] = &[
    (
        "capacitors/bright-capacitor-missing.rule",
        include_str!("../../rules/capacitors/bright-capacitor-missing.rule"),
    ),
    (
        "capacitors/bright-capacitor-not-stock.rule",
        include_str!("../../rules/capacitors/bright-capacitor-not-stock.rule"),
    ),
    ("capacitors/capacitor-leaks.rule", include_str!("../../rules/capacitors/capacitor-leaks.rule")),
    (
        "capacitors/capacitor-overvolted.rule",
        include_str!("../../rules/capacitors/capacitor-overvolted.rule"),
    ),
    (
        "capacitors/coupling-capacitor-overvolted.rule",
        include_str!("../../rules/capacitors/coupling-capacitor-overvolted.rule"),
    ),
    (
        "capacitors/electrolytic-reversed.rule",
        include_str!("../../rules/capacitors/electrolytic-reversed.rule"),
    ),
    (
        "capacitors/filter-capacitor-leaks.rule",
        include_str!("../../rules/capacitors/filter-capacitor-leaks.rule"),
    ),
    ("changes/leg-unconnected.rule", include_str!("../../rules/changes/leg-unconnected.rule")),
    ("changes/non-stock.rule", include_str!("../../rules/changes/non-stock.rule")),
    ("changes/part-added.rule", include_str!("../../rules/changes/part-added.rule")),
    ("changes/part-drifted.rule", include_str!("../../rules/changes/part-drifted.rule")),
    ("changes/part-missing.rule", include_str!("../../rules/changes/part-missing.rule")),
    ("changes/part-shorted-out.rule", include_str!("../../rules/changes/part-shorted-out.rule")),
    ("changes/wiring-not-stock.rule", include_str!("../../rules/changes/wiring-not-stock.rule")),
    ("output/output-pair-mismatched.rule", include_str!("../../rules/output/output-pair-mismatched.rule")),
    ("output/output-valve-idles-cold.rule", include_str!("../../rules/output/output-valve-idles-cold.rule")),
    ("output/output-valve-idles-hot.rule", include_str!("../../rules/output/output-valve-idles-hot.rule")),
    (
        "output/output-valve-over-maximum.rule",
        include_str!("../../rules/output/output-valve-over-maximum.rule"),
    ),
    (
        "output/output-valve-passes-nothing.rule",
        include_str!("../../rules/output/output-valve-passes-nothing.rule"),
    ),
    ("output/screen-overloaded.rule", include_str!("../../rules/output/screen-overloaded.rule")),
    ("output/screen-overvolted.rule", include_str!("../../rules/output/screen-overvolted.rule")),
    ("output/screen-resistor-gone.rule", include_str!("../../rules/output/screen-resistor-gone.rule")),
    ("readings/reading-off.rule", include_str!("../../rules/readings/reading-off.rule")),
    ("readings/reading-out-of-window.rule", include_str!("../../rules/readings/reading-out-of-window.rule")),
    ("safety/acceptance-stale.rule", include_str!("../../rules/safety/acceptance-stale.rule")),
    ("safety/fuse-too-large.rule", include_str!("../../rules/safety/fuse-too-large.rule")),
    (
        "safety/mains-capacitor-not-safety-class.rule",
        include_str!("../../rules/safety/mains-capacitor-not-safety-class.rule"),
    ),
    ("safety/mains-fuse-missing.rule", include_str!("../../rules/safety/mains-fuse-missing.rule")),
    ("safety/plan-leaves-hazard.rule", include_str!("../../rules/safety/plan-leaves-hazard.rule")),
    (
        "safety/protective-earth-missing.rule",
        include_str!("../../rules/safety/protective-earth-missing.rule"),
    ),
    (
        "safety/safety-part-not-looked-at.rule",
        include_str!("../../rules/safety/safety-part-not-looked-at.rule"),
    ),
    ("supply/charge-stays-long.rule", include_str!("../../rules/supply/charge-stays-long.rule")),
    ("supply/choke-overloaded.rule", include_str!("../../rules/supply/choke-overloaded.rule")),
    ("supply/dropper-overloaded.rule", include_str!("../../rules/supply/dropper-overloaded.rule")),
    ("supply/filter-without-bleeder.rule", include_str!("../../rules/supply/filter-without-bleeder.rule")),
    ("supply/first-charge-too-high.rule", include_str!("../../rules/supply/first-charge-too-high.rule")),
    (
        "supply/inverter-rail-out-of-window.rule",
        include_str!("../../rules/supply/inverter-rail-out-of-window.rule"),
    ),
    ("supply/rail-out-of-window.rule", include_str!("../../rules/supply/rail-out-of-window.rule")),
    ("supply/rating-not-stated.rule", include_str!("../../rules/supply/rating-not-stated.rule")),
    (
        "supply/rectifier-feed-too-stiff.rule",
        include_str!("../../rules/supply/rectifier-feed-too-stiff.rule"),
    ),
    ("supply/rectifier-overloaded.rule", include_str!("../../rules/supply/rectifier-overloaded.rule")),
    ("supply/rectifier-overvolted.rule", include_str!("../../rules/supply/rectifier-overvolted.rule")),
    ("supply/reservoir-too-large.rule", include_str!("../../rules/supply/reservoir-too-large.rule")),
    ("supply/resistor-overloaded.rule", include_str!("../../rules/supply/resistor-overloaded.rule")),
    (
        "supply/supply-resistor-overvolted.rule",
        include_str!("../../rules/supply/supply-resistor-overvolted.rule"),
    ),
    ("supply/winding-overloaded.rule", include_str!("../../rules/supply/winding-overloaded.rule")),
    (
        "valves/cathode-current-too-high.rule",
        include_str!("../../rules/valves/cathode-current-too-high.rule"),
    ),
    ("valves/cathode-hangs-free.rule", include_str!("../../rules/valves/cathode-hangs-free.rule")),
    ("valves/control-carries-dc.rule", include_str!("../../rules/valves/control-carries-dc.rule")),
    ("valves/grid-hangs-free.rule", include_str!("../../rules/valves/grid-hangs-free.rule")),
    ("valves/grid-leak-too-high.rule", include_str!("../../rules/valves/grid-leak-too-high.rule")),
    (
        "valves/heater-cathode-overvolted.rule",
        include_str!("../../rules/valves/heater-cathode-overvolted.rule"),
    ),
    ("valves/plate-overvolted.rule", include_str!("../../rules/valves/plate-overvolted.rule")),
    ("valves/plate-without-supply.rule", include_str!("../../rules/valves/plate-without-supply.rule")),
];
