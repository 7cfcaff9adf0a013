//! The answer first: what to act on, with what it brings; the worst first, in one screen.

use unicode_width::UnicodeWidthStr;

use super::findings::{all_the_same, style};
use super::head::counted;
use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::analysis::{Head, Heads, LEAST_HEARD, Root, moved_by, tone_of};
use crate::change::{Change, ChangeKind, Effect, QuantityKind, TONE};
use crate::render::text::style::{DANGER, FAINT, GOOD, HEAD, PLAIN};
use crate::rules::{Finding, Level, Verdicts};
use crate::units::{Unit, rounded};

/// What to act on: dangers numbered, warnings a line each, what is less in a paragraph.
pub fn heads(page: &mut Page, heads: &Heads, verdicts: &Verdicts) {
    let told = Told { heads, findings: &verdicts.findings };
    told.verdict(page);
    let of = |level: Level| heads.heads.iter().filter(move |head| told.level(head) == Some(level));
    let widest = [Level::Danger, Level::Warning].into_iter().flat_map(of);
    let names = widest.map(|head| told.name(head).width()).filter(|width| *width <= MOST_NAME);
    let widest = names.max().unwrap_or(0);
    for (number, head) in of(Level::Danger).enumerate() {
        told.numbered(page, number + 1, head, widest);
    }
    told.warnings(page, of(Level::Warning).collect(), widest);
    told.lesser(page, &of(Level::Caution).collect::<Vec<_>>(), "caution");
    told.lesser(page, &of(Level::Notice).collect::<Vec<_>>(), "notice");
    told.set_aside(page, verdicts);
    could_not_tell(page, verdicts);
}

/// Most columns of a head's name.
const MOST_NAME: usize = 7;

#[derive(Clone, Copy)]
struct Told<'a> {
    heads: &'a Heads,
    findings: &'a [Finding],
}

impl<'a> Told<'a> {
    /// The first line: whether it may be powered.
    fn verdict(self, page: &mut Page) {
        let dangers = self.count(Level::Danger);
        let causes = self.heads.heads.iter().filter(|head| self.level(head) == Some(Level::Danger)).count();
        page.blank();
        if dangers == 0 {
            let words = if self.count(Level::Warning) == 0 {
                "No danger and no warning found."
            } else {
                "No danger found."
            };
            page.paragraph(0, HEAD, words);
            return;
        }
        let from =
            if causes == dangers { String::new() } else { format!(" from {}", counted(causes, "cause")) };
        let words = format!(
            "DO NOT POWER IT UP. {}{from}. Unplug, discharge, verify with a meter, then:",
            counted(dangers, "danger")
        );
        page.paragraph(0, DANGER, &words);
    }

    fn count(self, level: Level) -> usize {
        self.findings.iter().filter(|finding| finding.counts() && finding.level == level).count()
    }

    /// The worst level under a head that counts.
    fn level(self, head: &'a Head) -> Option<Level> {
        head.worst(self.findings).map(|severity| severity.level)
    }

    /// The changes that a head is.
    fn changes(self, head: &'a Head) -> impl Iterator<Item = &'a Change> {
        self.heads.changes(head.root.changes())
    }

    fn name(self, head: &'a Head) -> String {
        head_name(self.heads, head)
    }

    /// The findings of a level under a head, those of several members in one line.
    fn messages(self, head: &'a Head, level: Level) -> Vec<String> {
        let mut lines: Vec<(&Finding, Vec<&str>)> = Vec::new();
        for under in &head.findings {
            let finding = &self.findings[under.finding];
            if !finding.counts() || finding.level != level {
                continue;
            }
            let same = |other: &Finding| other.rule == finding.rule && rest(other) == rest(finding);
            match lines.iter_mut().find(|(other, _)| same(other)) {
                Some((_, names)) => names.push(finding.subject()),
                None => lines.push((finding, vec![finding.subject()])),
            }
        }
        let line = |(finding, names): (&Finding, Vec<&str>)| {
            let whom = if finding.to_people { "to people: " } else { "" };
            if names.len() > 1 {
                let words = without_role(rest(finding));
                return format!("{whom}{}: {words}{}", names.join(", "), all_the_same(finding));
            }
            format!("{whom}{}{}", finding.message, all_the_same(finding))
        };
        // What is found of another finding repeats it: the plan leaves it in place.
        let repeats = |(finding, _): &(&Finding, Vec<&str>)| {
            let of = |other: &Finding| other.rule != finding.rule && finding.message.contains(&other.message);
            self.counting(head).any(of)
        };
        lines.into_iter().filter(|one| !repeats(one)).map(line).collect()
    }

    /// What a head is and what is worst of it, in a sentence, after its name; the rest of what it brings is counted.
    fn said(self, head: &'a Head, level: Level) -> String {
        let mut messages = self.messages(head, level);
        if level < Level::Danger {
            messages.truncate(1);
        }
        let worst = self.counting(head).next();
        let own = |change: &Change| worst.is_some_and(|finding| speaks_of(finding, &change.subject));
        let mut said: Vec<String> = Vec::new();
        if !self.changes(head).any(own) {
            said.extend(self.changes(head).next().map(in_short));
        }
        let messages_told = if level < Level::Danger { 1 } else { usize::MAX };
        said.extend(messages);
        let folded = self.counting(head).count() - self.counted_of(head, level).min(messages_told);
        let with = if folded == 0 { String::new() } else { format!(" (+{folded} more)") };
        let with = format!("{}{with}", self.either(head, level));
        let said = said.join("; ");
        let said = said.strip_prefix(&format!("{} ", self.name(head))).unwrap_or(&said);
        // Of a lesser one the role can be looked up.
        let said = if level < Level::Danger { without_role(said) } else { said.to_owned() };
        format!("{said}{with}")
    }

    /// Changes that bring the same: each of them has to go before it clears.
    fn either(self, head: &'a Head, level: Level) -> String {
        let of_level = |under: &&crate::analysis::Under| {
            let finding = &self.findings[under.finding];
            finding.counts() && finding.level == level
        };
        let either =
            head.findings.iter().filter(of_level).flat_map(|under| self.heads.changes(&under.either));
        let mut names: Vec<&str> = either.map(|change| change.subject.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        if names.is_empty() { String::new() } else { format!("; either is enough: {}", names.join(", ")) }
    }

    fn counting(self, head: &'a Head) -> impl Iterator<Item = &'a Finding> {
        let findings = self.findings;
        head.findings.iter().map(move |under| &findings[under.finding]).filter(|finding| finding.counts())
    }

    /// What to do: about the change itself, and with a danger about what it did.
    fn advice(self, head: &'a Head, level: Level) -> Option<String> {
        let counting = || self.counting(head).filter(|finding| finding.advice.is_some());
        let about = |finding: &&Finding| self.changes(head).any(|change| change.subject == finding.subject());
        let own = counting().find(about);
        let worst = counting().find(|finding| finding.level == level);
        let mut both: Vec<&str> = own.into_iter().chain(worst).filter_map(|f| f.advice.as_deref()).collect();
        both.dedup();
        match both[..] {
            [first, second] if level == Level::Danger => Some(format!("{first}; {second}")),
            [first] if level == Level::Danger => Some(first.to_owned()),
            // Of many words the first clause says what to do.
            [first, ..] => Some(first.split(';').next().unwrap_or(first).to_owned()),
            [] => None,
        }
    }

    fn numbered(self, page: &mut Page, number: usize, head: &'a Head, widest: usize) {
        let mark = format!("{number:>2} danger  {:widest$} ", self.name(head));
        page.item(1, &mark, style(Level::Danger), &self.said(head, Level::Danger));
        if let Some(advice) = self.advice(head, Level::Danger) {
            page.item(1 + mark.width() + 1, "→", GOOD, &advice);
        }
    }

    fn warnings(self, page: &mut Page, heads: Vec<&'a Head>, widest: usize) {
        let all = self.count(Level::Warning);
        if all == 0 {
            return;
        }
        let own: usize = heads.iter().map(|head| self.counted_of(head, Level::Warning)).sum();
        let words = match all - own {
            0 => format!("{} from {}", counted(all, "warning"), counted(heads.len(), "cause")),
            with if own == 0 => format!("{}, with the causes above", counted(with, "warning")),
            with => format!(
                "{}: {with} with the causes above, {own} from {}",
                counted(all, "warning"),
                counted(heads.len(), "cause")
            ),
        };
        page.heading(&words);
        for head in heads {
            let mark = format!("{:widest$} ", self.name(head));
            let advice =
                self.advice(head, Level::Warning).map_or(String::new(), |words| format!(" → {words}"));
            page.item(
                2,
                &mark,
                style(Level::Warning),
                &format!("{}{advice}", self.said(head, Level::Warning)),
            );
        }
    }

    fn counted_of(self, head: &'a Head, level: Level) -> usize {
        self.counting(head).filter(|finding| finding.level == level).count()
    }

    /// Heads whose worst is a caution or a notice, by name.
    fn lesser(self, page: &mut Page, heads: &[&'a Head], word: &str) {
        if heads.is_empty() {
            return;
        }
        let one = |head: &&Head| match &head.root {
            Root::Subject(_) => {
                self.counting(head).map(|finding| finding.message.clone()).collect::<Vec<_>>().join("; ")
            }
            Root::Changes(_) => {
                let changed = self.changes(head).next().map(in_short).unwrap_or_default();
                format!("{} {changed}", self.name(head))
            }
            root => {
                let mut names: Vec<&str> = self.counting(head).map(Finding::subject).collect();
                names.dedup();
                let names = names.join(" ");
                match root {
                    Root::Unseen => format!("nobody has looked at {names}"),
                    Root::Readings => format!("readings of {names}"),
                    _ => format!("in stock too: {names}"),
                }
            }
        };
        let words = heads.iter().map(one).collect::<Vec<_>>().join(" · ");
        page.paragraph(0, PLAIN, &format!("{} more: {words}", counted(heads.len(), word)));
    }

    fn set_aside(self, page: &mut Page, verdicts: &Verdicts) {
        let aside: Vec<&Finding> = self.findings.iter().filter(|f| !f.counts()).collect();
        if !aside.is_empty() {
            let mut by_rule: Vec<(&str, Vec<&str>)> = Vec::new();
            for finding in aside {
                match by_rule.iter_mut().find(|(rule, _)| *rule == finding.rule) {
                    Some((_, names)) => names.push(finding.subject()),
                    None => by_rule.push((&finding.rule, vec![finding.subject()])),
                }
            }
            let one = |(rule, names): &(&str, Vec<&str>)| format!("{rule} {}", names.join(" "));
            let words = by_rule.iter().map(one).collect::<Vec<_>>().join(" · ");
            page.paragraph(0, PLAIN, &format!("Accepted or known: {words}"));
        }
        if !verdicts.cleared.is_empty() {
            let one = |gone: &crate::rules::KnownFinding| format!("{} on {}", gone.rule, gone.subject);
            let words = verdicts.cleared.iter().map(one).collect::<Vec<_>>().join(" · ");
            page.paragraph(0, GOOD, &format!("Known, and there no more: {words}"));
        }
    }
}

/// A head in a word.
pub(super) fn head_name(heads: &Heads, head: &Head) -> String {
    match &head.root {
        Root::Changes(changes) => bundle_name(heads, changes),
        Root::Readings => "reading".to_owned(),
        Root::Unseen => "unseen".to_owned(),
        Root::Stock => "stock too".to_owned(),
        Root::Subject(name) => name.clone(),
    }
}

/// `C14`; of several changes the group's name, or the first and how many more.
fn bundle_name(heads: &Heads, changes: &[usize]) -> String {
    let group = changes.iter().find_map(|index| heads.comparison.as_ref()?.group(*index));
    if let Some(group) = group {
        return group.to_owned();
    }
    let mut names: Vec<&str> = heads.changes(changes).map(|change| change.subject.as_str()).collect();
    names.dedup();
    match names[..] {
        [one] => one.to_owned(),
        [one, ref more @ ..] => format!("{one} +{}", more.len()),
        [] => String::new(),
    }
}

/// A message without the name it begins with.
fn rest(finding: &Finding) -> &str {
    finding.message.strip_prefix(finding.subject()).unwrap_or(&finding.message).trim_start()
}

/// A sentence that begins with a role in brackets, without it.
fn without_role(said: &str) -> String {
    match said.strip_prefix('(').and_then(|rest| rest.split_once(") ")) {
        Some((_, rest)) => rest.to_owned(),
        None => said.to_owned(),
    }
}

/// Whether a finding's message says what a change is about.
fn speaks_of(finding: &Finding, subject: &str) -> bool {
    let word = |c: char| c.is_alphanumeric() || c == '_';
    finding.message.split(|c| !word(c)).any(|w| w == subject)
}

/// A change in a few words: `missing`, `1.25A slow → 3.15A fast`, `leaks 45 µA at 200 V`.
fn in_short(change: &Change) -> String {
    match change.kind {
        ChangeKind::Missing | ChangeKind::Added | ChangeKind::Removed | ChangeKind::Restored => {
            change.kind.word().to_owned()
        }
        ChangeKind::Leaky | ChangeKind::Drifted => change.after.clone(),
        ChangeKind::ValveSwapped | ChangeKind::Revalued | ChangeKind::Rerated | ChangeKind::ControlSet => {
            apart(&change.before, &change.after)
        }
        kind => kind.word().to_owned(),
    }
}

/// `2k2 → 5k6` of `2k2 0.5W carbon-film` and `5k6 0.5W carbon-film`: what both end with is left out.
fn apart(before: &str, after: &str) -> String {
    let (mut x, mut y): (Vec<&str>, Vec<&str>) = (before.split(' ').collect(), after.split(' ').collect());
    while x.len() > 1 && y.len() > 1 && x.last() == y.last() {
        x.pop();
        y.pop();
    }
    format!("{} → {}", x.join(" "), y.join(" "))
}

/// What could not be judged, by what is missing.
fn could_not_tell(page: &mut Page, verdicts: &Verdicts) {
    let mut by_missing: Vec<(&str, usize)> = Vec::new();
    for unknown in &verdicts.could_not_tell {
        match by_missing.iter_mut().find(|(missing, _)| *missing == unknown.missing) {
            Some((_, count)) => *count += 1,
            None => by_missing.push((&unknown.missing, 1)),
        }
    }
    by_missing.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    if by_missing.is_empty() {
        return;
    }
    let more = by_missing.len().saturating_sub(MOST_MISSING);
    by_missing.truncate(MOST_MISSING);
    let one = |(missing, count): &(&str, usize)| match count {
        1 => (*missing).to_owned(),
        _ => format!("{missing} ({count})"),
    };
    let mut words: Vec<String> = by_missing.iter().map(one).collect();
    words.extend((more > 0).then(|| format!("{more} more reasons")));
    let count = verdicts.could_not_tell.len();
    page.paragraph(0, PLAIN, &format!("{count} could not be judged: {}", words.join(" · ")));
}

/// Most reasons told why something can't be judged.
const MOST_MISSING: usize = 2;

/// Most changes whose effect is told.
const MOST_MOVED: usize = 6;

/// What each change does in a state, largest first; `heard` is whether the same signal goes through both.
pub fn moved(page: &mut Page, heads: &Heads, effects: &[Effect], (state, heard): (&str, bool)) {
    let Some(comparison) = &heads.comparison else { return };
    let mut table = Table::new(&[Align::Left, Align::Left]);
    let mut rows: Vec<(f64, String, String)> = Vec::new();
    let mut quiet = Vec::new();
    for bundle in &heads.bundles {
        let name = bundle_name(heads, bundle);
        let (moved, tone) = (moved_by(bundle, effects), tone_of(bundle, effects));
        let loudest = tone.into_iter().flatten().map(|amount| amount.abs() / LEAST_HEARD);
        let most = moved.first().map(|most| most.steps).into_iter().chain(loudest).fold(0.0, f64::max);
        let told: Vec<String> = moved.iter().map(in_words).chain(tone.map(tone_in_words)).collect();
        if told.is_empty() {
            quiet.push(name);
        } else {
            rows.push((most, name, told.join(" · ")));
        }
    }
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    let less: Vec<String> = rows.split_off(rows.len().min(MOST_MOVED)).into_iter().map(|row| row.1).collect();
    for (_, name, told) in rows {
        table.row(vec![Cell::new(name, HEAD), told.into()]);
    }
    if comparison.changes.is_empty() {
        return;
    }
    let whose = match comparison.changes.len() {
        1 => "the change".to_owned(),
        count => format!("each of {}", counted(count, "change")),
    };
    page.heading(&format!("What {whose} does at {state}, against the same without it"));
    page.table(2, &table);
    if !less.is_empty() {
        page.paragraph(2, PLAIN, &format!("less: {}", less.join(" ")));
    }
    if !quiet.is_empty() {
        let what = if heard {
            "nothing noticeable"
        } else {
            "no volts, current or gain moved, the sound could not be judged"
        };
        page.paragraph(2, FAINT, &format!("{what}: {}", quiet.join(" ")));
    }
    if let Some(way) = effects.iter().find(|effect| effect.quantity.tone_hertz().is_some()) {
        let words = format!(
            "level, bass (80 Hz), middle (400 Hz), treble (3 kHz): {}, controls as they stand",
            way.subject
        );
        page.paragraph(2, FAINT, &words);
    }
}

/// `level -4.2 dB`, or what of bass, middle and treble is heard: `bass +2.1 dB treble -6.0 dB`.
fn tone_in_words(tone: [f64; 3]) -> String {
    let figure = |amount: f64| {
        let sign = if amount >= 0.0 { "+" } else { "" };
        format!("{sign}{}", rounded(amount, Unit::Decibel, 2))
    };
    let [bass, middle, treble] = tone;
    if (bass - middle).abs() < LEAST_HEARD && (treble - middle).abs() < LEAST_HEARD {
        return format!("level {}", figure(middle));
    }
    let heard = TONE.iter().zip(tone).filter(|(_, amount)| amount.abs() >= LEAST_HEARD);
    heard.map(|(kind, amount)| format!("{} {}", kind.word(), figure(amount))).collect::<Vec<_>>().join(" ")
}

fn in_words(moved: &crate::analysis::Moved) -> String {
    let sign = if moved.amount >= 0.0 { "+" } else { "" };
    let figure = match moved.unit {
        Unit::Decibel => rounded(moved.amount, moved.unit, 2),
        _ => rounded(moved.amount, moved.unit, 3),
    };
    let gain = if moved.quantity == QuantityKind::StageGain { " gain" } else { "" };
    format!("{}{gain} {sign}{figure}", moved.subject)
}
