//! Words of the bench that are none of this language, each with what is written instead.

/// Words after a part's name, or at the head of a line, and what to write.
const INSTEAD: [(&[&str], &str); 9] = [
    (
        &["snipped", "removed", "absent", "gone", "unfitted"],
        "a part that is not there is written `C3 missing`, with snipped legs `C3 missing snipped`",
    ),
    (
        &["weak", "tired", "low-emission", "gassy", "noisy", "microphonic", "hums", "crackles"],
        "what is weak or noisy is measured, `meter V5.cathode 22mA`, or remarked on, `note \"V5 is weak\"`",
    ),
    (
        &["cold", "dry", "joint", "cracked", "joints"],
        "a joint that is open is written `R4.1 lifted \"cold joint\"`; one that has a resistance `cut B3 leaving R4.1 on B3x` \
         and `bridged B3 to B3x through 20R`",
    ),
    (
        &["open", "burnt", "burned", "blown", "dead", "broken"],
        "an open part is written `R4 missing \"open\"`, one leg that is out `R4.1 lifted`",
    ),
    (&["leaky", "leaking"], "a leaky capacitor is written `C33 leaks 12uA at 250V`"),
    (&["short", "shorts", "short-circuit"], "a part that conducts right through is written `C33 shorted`"),
    (
        &["drifted", "measures", "measured", "is", "high", "low"],
        "what its own value reads is written `R7 reads 131k`",
    ),
    (
        &["changed", "modified", "swapped-for"],
        "another part in the same place is written `R9 replaced 5k6 0.5W`",
    ),
    (
        &["disconnected", "loose", "unsoldered", "desoldered"],
        "a leg that is out of its joint is written `R4.1 lifted`",
    ),
];

/// What is written instead of a line that begins with a joint.
pub(super) fn of_a_joint(word: &str) -> Option<&'static str> {
    instead(word).filter(|_| matches!(word, "cold" | "dry" | "joint"))
}

/// What is written instead of a word of the bench.
pub(super) fn instead(word: &str) -> Option<&'static str> {
    let small = word.to_lowercase();
    INSTEAD.iter().find(|(words, _)| words.contains(&small.as_str())).map(|(_, help)| *help)
}
