//! The closed lists of words that rules compare with.

use std::borrow::Cow;

use crate::change::ChangeKind;
use crate::circuit::LIMITS;
use crate::model::{Condition, Construction, DocumentKind, Kind, RoleKind};
use crate::recognise::StageKind;

use super::dimension::{Dim, Domain};
use super::level::Level;

/// What a limit of type data is measured in, by its name.
pub(crate) fn limit(name: &str) -> Option<Dim> {
    LIMITS.iter().find(|(word, _)| *word == name).map(|(_, unit)| Dim::of(*unit))
}

/// What a part of no role, or a valve section in no stage, answers.
pub(crate) const NONE: &str = "none";

/// The word of a stage's kind.
pub(crate) fn stage_word(kind: StageKind) -> &'static str {
    match kind {
        StageKind::CommonCathode { .. } => "common-cathode",
        StageKind::CathodeFollower { .. } => "cathode-follower",
        StageKind::LongTailedPair => "long-tailed-pair",
        StageKind::SplitLoad => "split-load",
        StageKind::ReverbDriver => "reverb-driver",
        StageKind::SingleEndedOutput { .. } => "single-ended-output",
        StageKind::PushPullOutput { .. } => "push-pull-output",
    }
}

/// The word of a document's kind.
pub(crate) fn document_word(kind: DocumentKind) -> &'static str {
    match kind {
        DocumentKind::Stock => "stock",
        DocumentKind::AsFound => "as-found",
        DocumentKind::Plan => "plan",
        DocumentKind::AsLeft => "as-left",
        DocumentKind::TypeData => "type-data",
    }
}

/// A word of the texts as one word of a rule: `valve swapped` is `valve-swapped`.
pub(crate) fn joined(word: &'static str) -> Cow<'static, str> {
    if word.contains(' ') { word.replace(' ', "-").into() } else { word.into() }
}

impl Domain {
    /// All its words.
    pub fn all(self) -> Vec<Cow<'static, str>> {
        let own = |words: &[&'static str]| words.iter().map(|w| Cow::Borrowed(*w)).collect::<Vec<_>>();
        match self {
            Domain::Role => RoleKind::ALL.iter().map(|r| r.word()).chain([NONE]).map(Cow::Borrowed).collect(),
            Domain::Kind => Kind::ALL.iter().map(|k| k.word().into()).collect(),
            Domain::Construction => Construction::ALL.iter().map(|c| joined(c.word())).collect(),
            Domain::Change => ChangeKind::ALL.iter().map(|c| joined(c.word())).collect(),
            Domain::Stage => own(&[
                "common-cathode",
                "cathode-follower",
                "long-tailed-pair",
                "split-load",
                "reverb-driver",
                "single-ended-output",
                "push-pull-output",
                NONE,
            ]),
            Domain::Limit => LIMITS.iter().map(|(w, _)| (*w).into()).collect(),
            Domain::Condition => Condition::ALL.iter().map(|c| c.word().into()).collect(),
            Domain::Document => own(&["stock", "as-found", "plan", "as-left"]),
            Domain::Level => Level::ALL.iter().map(|l| l.word().into()).collect(),
        }
    }

    /// In words: what one of them is.
    pub fn words(self) -> &'static str {
        match self {
            Domain::Role => "a role",
            Domain::Kind => "a kind of part",
            Domain::Construction => "a construction",
            Domain::Change => "a kind of change",
            Domain::Stage => "a kind of stage",
            Domain::Limit => "a limit of type data",
            Domain::Condition => "a condition of the amplifier",
            Domain::Document => "a kind of document",
            Domain::Level => "a level",
        }
    }
}
