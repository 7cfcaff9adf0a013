//! A whole amplifier.

use proptest::prelude::*;

use super::{outline, roles, seen, table};

pub(crate) const FENNICK: &str = include_str!("fennick-50.amp");

#[test]
fn every_part_of_a_whole_amplifier_has_its_role() {
    let (circuit, recognised) = seen(&[FENNICK]);
    let expected: Vec<&str> = include_str!("fennick-50.roles").lines().collect();
    assert_eq!(roles(&circuit, &recognised), expected, "\n{}", table(&circuit, &recognised));
    assert!(recognised.unrecognised.is_empty() && recognised.strange_sections.is_empty());
}

#[test]
fn the_stages_and_rails_of_a_whole_amplifier() {
    let (circuit, recognised) = seen(&[FENNICK]);
    let expected = "first stage, channel 1: V1a common cathode, bypassed
first stage, channel 2: V1b common cathode, bypassed
second stage: V2a common cathode, not bypassed
third stage: V2b common cathode, not bypassed
cathode follower: V3a cathode follower, direct-coupled
phase inverter: V6a V6b long-tailed pair
output stage: V4 V5 push-pull output, fixed bias
rail RAW 0 - [C50 C51] D1 — RAW
rail B1 0 S2 [] D1 — RAW — F2 — S2 — B1
rail B2 1 L1 [C52] D1 — RAW — L1 — B2
rail B3 2 R52 [C53] D1 — RAW — L1 — B2 — R52 — B3
rail B4 3 R53 [C54] D1 — RAW — L1 — B2 — R52 — B3 — R53 — B4
rail B5 4 R54 [C55] D1 — RAW — L1 — B2 — R52 — B3 — R53 — B4 — R54 — B5";
    assert_eq!(outline(&circuit, &recognised), expected);
}

#[test]
fn standby_changes_no_role_and_no_rail() {
    let playing = seen(&[FENNICK]);
    let standing = seen(&[&FENNICK.replace("now play", "now standby")]);
    assert_eq!(roles(&playing.0, &playing.1), roles(&standing.0, &standing.1));
    let rails = |(circuit, recognised): &(asfound::circuit::Circuit, asfound::recognise::Recognised)| {
        recognised.rails.iter().map(|r| (circuit.net(r.net).name.clone(), r.depth)).collect::<Vec<_>>()
    };
    assert_eq!(rails(&playing), rails(&standing));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn the_order_of_statements_does_not_matter(shuffled in Just(FENNICK.lines().skip(1).collect::<Vec<_>>()).prop_shuffle()) {
        let text = std::iter::once(FENNICK.lines().next().unwrap()).chain(shuffled).collect::<Vec<_>>().join("\n");
        let (stock, other) = (seen(&[FENNICK]), seen(&[&text]));
        prop_assert_eq!(table(&stock.0, &stock.1), table(&other.0, &other.1));
        prop_assert_eq!(outline(&stock.0, &stock.1), outline(&other.0, &other.1));
    }
}
