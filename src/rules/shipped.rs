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
    (
        "output/bias-control-reaches-too-far.rule",
        include_str!("../../rules/output/bias-control-reaches-too-far.rule"),
    ),
    (
        "output/bias-lost-if-the-wiper-lifts.rule",
        include_str!("../../rules/output/bias-lost-if-the-wiper-lifts.rule"),
    ),
    (
        "output/cathode-biased-valve-idles-cold.rule",
        include_str!("../../rules/output/cathode-biased-valve-idles-cold.rule"),
    ),
    (
        "output/no-speaker-on-the-output.rule",
        include_str!("../../rules/output/no-speaker-on-the-output.rule"),
    ),
    ("output/output-pair-mismatched.rule", include_str!("../../rules/output/output-pair-mismatched.rule")),
    (
        "output/output-valve-idle-off-stock.rule",
        include_str!("../../rules/output/output-valve-idle-off-stock.rule"),
    ),
    ("output/output-valve-idles-cold.rule", include_str!("../../rules/output/output-valve-idles-cold.rule")),
    ("output/output-valve-idles-hot.rule", include_str!("../../rules/output/output-valve-idles-hot.rule")),
    (
        "output/output-valve-over-maximum-at-high-mains.rule",
        include_str!("../../rules/output/output-valve-over-maximum-at-high-mains.rule"),
    ),
    (
        "output/output-valve-over-maximum.rule",
        include_str!("../../rules/output/output-valve-over-maximum.rule"),
    ),
    (
        "output/output-valve-passes-nothing.rule",
        include_str!("../../rules/output/output-valve-passes-nothing.rule"),
    ),
    (
        "output/output-valves-fed-unequally.rule",
        include_str!("../../rules/output/output-valves-fed-unequally.rule"),
    ),
    (
        "output/output-valves-of-two-types.rule",
        include_str!("../../rules/output/output-valves-of-two-types.rule"),
    ),
    (
        "output/presence-control-carries-dc.rule",
        include_str!("../../rules/output/presence-control-carries-dc.rule"),
    ),
    ("output/screen-overloaded.rule", include_str!("../../rules/output/screen-overloaded.rule")),
    ("output/screen-overvolted.rule", include_str!("../../rules/output/screen-overvolted.rule")),
    ("output/screen-resistor-gone.rule", include_str!("../../rules/output/screen-resistor-gone.rule")),
    (
        "output/screen-resistor-too-small.rule",
        include_str!("../../rules/output/screen-resistor-too-small.rule"),
    ),
    ("output/sense-resistor-off.rule", include_str!("../../rules/output/sense-resistor-off.rule")),
    (
        "output/speaker-does-not-fit-the-tap.rule",
        include_str!("../../rules/output/speaker-does-not-fit-the-tap.rule"),
    ),
    ("plan/changed-without-a-look.rule", include_str!("../../rules/plan/changed-without-a-look.rule")),
    ("plan/plan-brings-hazard.rule", include_str!("../../rules/plan/plan-brings-hazard.rule")),
    ("plan/value-not-made.rule", include_str!("../../rules/plan/value-not-made.rule")),
    ("readings/reading-off.rule", include_str!("../../rules/readings/reading-off.rule")),
    ("readings/reading-out-of-window.rule", include_str!("../../rules/readings/reading-out-of-window.rule")),
    ("readings/reading-a-prefix-off.rule", include_str!("../../rules/readings/reading-a-prefix-off.rule")),
    ("readings/readings-contradict.rule", include_str!("../../rules/readings/readings-contradict.rule")),
    ("safety/acceptance-stale.rule", include_str!("../../rules/safety/acceptance-stale.rule")),
    (
        "safety/earth-goes-through-a-part.rule",
        include_str!("../../rules/safety/earth-goes-through-a-part.rule"),
    ),
    ("safety/fuse-bridged.rule", include_str!("../../rules/safety/fuse-bridged.rule")),
    (
        "safety/fuse-in-the-neutral-alone.rule",
        include_str!("../../rules/safety/fuse-in-the-neutral-alone.rule"),
    ),
    ("safety/fuse-too-large.rule", include_str!("../../rules/safety/fuse-too-large.rule")),
    (
        "safety/mains-capacitor-keeps-its-charge.rule",
        include_str!("../../rules/safety/mains-capacitor-keeps-its-charge.rule"),
    ),
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
    ("signal/cathode-bypass-added.rule", include_str!("../../rules/signal/cathode-bypass-added.rule")),
    (
        "signal/cathode-bypass-far-from-stock.rule",
        include_str!("../../rules/signal/cathode-bypass-far-from-stock.rule"),
    ),
    ("signal/cathode-bypass-gone.rule", include_str!("../../rules/signal/cathode-bypass-gone.rule")),
    (
        "signal/coupling-capacitor-far-from-stock.rule",
        include_str!("../../rules/signal/coupling-capacitor-far-from-stock.rule"),
    ),
    ("signal/feedback-amount-off.rule", include_str!("../../rules/signal/feedback-amount-off.rule")),
    ("signal/feedback-open.rule", include_str!("../../rules/signal/feedback-open.rule")),
    (
        "signal/feedback-wrong-way-round.rule",
        include_str!("../../rules/signal/feedback-wrong-way-round.rule"),
    ),
    ("signal/grid-stopper-shorted.rule", include_str!("../../rules/signal/grid-stopper-shorted.rule")),
    ("signal/inverter-lopsided.rule", include_str!("../../rules/signal/inverter-lopsided.rule")),
    ("signal/signal-lost-on-the-way.rule", include_str!("../../rules/signal/signal-lost-on-the-way.rule")),
    ("signal/stage-has-lost-gain.rule", include_str!("../../rules/signal/stage-has-lost-gain.rule")),
    ("signal/stage-has-too-much-gain.rule", include_str!("../../rules/signal/stage-has-too-much-gain.rule")),
    (
        "signal/tone-part-far-from-stock.rule",
        include_str!("../../rules/signal/tone-part-far-from-stock.rule"),
    ),
    ("signal/too-much-goes-on.rule", include_str!("../../rules/signal/too-much-goes-on.rule")),
    ("signal/treble-bleed-added.rule", include_str!("../../rules/signal/treble-bleed-added.rule")),
    (
        "supply/capacitor-overvolted-with-valves-out.rule",
        include_str!("../../rules/supply/capacitor-overvolted-with-valves-out.rule"),
    ),
    ("supply/charge-stays-long.rule", include_str!("../../rules/supply/charge-stays-long.rule")),
    ("supply/choke-overloaded.rule", include_str!("../../rules/supply/choke-overloaded.rule")),
    ("supply/dropper-overloaded.rule", include_str!("../../rules/supply/dropper-overloaded.rule")),
    ("supply/filter-without-bleeder.rule", include_str!("../../rules/supply/filter-without-bleeder.rule")),
    ("supply/first-charge-too-high.rule", include_str!("../../rules/supply/first-charge-too-high.rule")),
    (
        "supply/heaters-without-reference.rule",
        include_str!("../../rules/supply/heaters-without-reference.rule"),
    ),
    (
        "supply/inverter-rail-out-of-window.rule",
        include_str!("../../rules/supply/inverter-rail-out-of-window.rule"),
    ),
    ("supply/rail-far-from-stock.rule", include_str!("../../rules/supply/rail-far-from-stock.rule")),
    ("supply/rail-out-of-window.rule", include_str!("../../rules/supply/rail-out-of-window.rule")),
    ("supply/rail-without-capacitor.rule", include_str!("../../rules/supply/rail-without-capacitor.rule")),
    ("supply/rail-without-supply.rule", include_str!("../../rules/supply/rail-without-supply.rule")),
    ("supply/rating-not-stated.rule", include_str!("../../rules/supply/rating-not-stated.rule")),
    (
        "supply/rectifier-feed-too-stiff.rule",
        include_str!("../../rules/supply/rectifier-feed-too-stiff.rule"),
    ),
    ("supply/rectifier-overloaded.rule", include_str!("../../rules/supply/rectifier-overloaded.rule")),
    ("supply/rectifier-overvolted.rule", include_str!("../../rules/supply/rectifier-overvolted.rule")),
    ("supply/reservoir-too-large.rule", include_str!("../../rules/supply/reservoir-too-large.rule")),
    (
        "supply/resistor-overloaded-with-valves-out.rule",
        include_str!("../../rules/supply/resistor-overloaded-with-valves-out.rule"),
    ),
    ("supply/resistor-overloaded.rule", include_str!("../../rules/supply/resistor-overloaded.rule")),
    (
        "supply/stacked-capacitors-not-balanced.rule",
        include_str!("../../rules/supply/stacked-capacitors-not-balanced.rule"),
    ),
    (
        "supply/stacked-capacitors-unequal.rule",
        include_str!("../../rules/supply/stacked-capacitors-unequal.rule"),
    ),
    (
        "supply/standby-before-the-reservoir.rule",
        include_str!("../../rules/supply/standby-before-the-reservoir.rule"),
    ),
    ("supply/supply-overdrawn.rule", include_str!("../../rules/supply/supply-overdrawn.rule")),
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
    (
        "valves/follower-grid-at-the-rail-from-cold.rule",
        include_str!("../../rules/valves/follower-grid-at-the-rail-from-cold.rule"),
    ),
    ("valves/grid-hangs-free.rule", include_str!("../../rules/valves/grid-hangs-free.rule")),
    ("valves/grid-leak-too-high.rule", include_str!("../../rules/valves/grid-leak-too-high.rule")),
    ("valves/grid-stands-positive.rule", include_str!("../../rules/valves/grid-stands-positive.rule")),
    ("valves/grid-tied-down.rule", include_str!("../../rules/valves/grid-tied-down.rule")),
    (
        "valves/heater-cathode-overvolted.rule",
        include_str!("../../rules/valves/heater-cathode-overvolted.rule"),
    ),
    ("valves/plate-at-the-floor.rule", include_str!("../../rules/valves/plate-at-the-floor.rule")),
    ("valves/plate-at-the-rail.rule", include_str!("../../rules/valves/plate-at-the-rail.rule")),
    (
        "valves/plate-fed-from-another-rail.rule",
        include_str!("../../rules/valves/plate-fed-from-another-rail.rule"),
    ),
    ("valves/plate-overvolted.rule", include_str!("../../rules/valves/plate-overvolted.rule")),
    ("valves/plate-without-supply.rule", include_str!("../../rules/valves/plate-without-supply.rule")),
    ("valves/stage-turned-cold.rule", include_str!("../../rules/valves/stage-turned-cold.rule")),
    ("valves/stage-turned-hot.rule", include_str!("../../rules/valves/stage-turned-hot.rule")),
    ("valves/tail-current-off.rule", include_str!("../../rules/valves/tail-current-off.rule")),
    (
        "valves/valve-does-not-fit-its-socket.rule",
        include_str!("../../rules/valves/valve-does-not-fit-its-socket.rule"),
    ),
    ("valves/valve-out-of-its-socket.rule", include_str!("../../rules/valves/valve-out-of-its-socket.rule")),
    (
        "workmanship/carbon-composition-at-high-volts.rule",
        include_str!("../../rules/workmanship/carbon-composition-at-high-volts.rule"),
    ),
    (
        "workmanship/ceramic-in-the-tone-path.rule",
        include_str!("../../rules/workmanship/ceramic-in-the-tone-path.rule"),
    ),
    (
        "workmanship/electrolytic-of-old-make.rule",
        include_str!("../../rules/workmanship/electrolytic-of-old-make.rule"),
    ),
    ("workmanship/legs-left-behind.rule", include_str!("../../rules/workmanship/legs-left-behind.rule")),
    ("workmanship/paper-capacitor.rule", include_str!("../../rules/workmanship/paper-capacitor.rule")),
    (
        "workmanship/part-of-no-known-use.rule",
        include_str!("../../rules/workmanship/part-of-no-known-use.rule"),
    ),
];
