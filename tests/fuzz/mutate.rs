//! Mutations of a text, by bytes, words, lines and statements.

use crate::corpus::Corpus;

/// A small generator of numbers (`SplitMix64`).
pub(crate) struct Numbers(pub(crate) u64);

impl Numbers {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    pub(crate) fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound.max(1) as u64) as usize
    }

    pub(crate) fn of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }
}

/// A text after one to six mutations of one kind or of several.
pub(crate) fn mutated(text: &str, corpus: &Corpus, numbers: &mut Numbers) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=numbers.below(6) {
        bytes = match numbers.below(5) {
            0 => by_bytes(bytes, numbers),
            1 => by_words(&bytes, corpus, numbers),
            2 => by_lines(&bytes, corpus, numbers),
            _ => by_statement(&bytes, corpus, numbers),
        };
    }
    bytes
}

/// A byte or a short stretch out, in, or another.
fn by_bytes(mut bytes: Vec<u8>, numbers: &mut Numbers) -> Vec<u8> {
    let at = numbers.below(bytes.len());
    let any = numbers.next() as u8;
    let printable = b' ' + any % 95;
    match numbers.below(6) {
        0 if !bytes.is_empty() => drop(bytes.remove(at)),
        1 => bytes.insert(at, printable),
        2 if !bytes.is_empty() => bytes[at] = printable,
        3 if !bytes.is_empty() => bytes[at] = any,
        4 => bytes.truncate(at),
        _ => {
            let end = (at + numbers.below(40)).min(bytes.len());
            let stretch = bytes[at..end].repeat(1 + numbers.below(4));
            bytes.splice(at..at, stretch);
        }
    }
    bytes
}

fn lines_of(bytes: &[u8]) -> Vec<String> {
    String::from_utf8_lossy(bytes).split('\n').map(str::to_owned).collect()
}

fn by_words(bytes: &[u8], corpus: &Corpus, numbers: &mut Numbers) -> Vec<u8> {
    let mut lines = lines_of(bytes);
    let at = numbers.below(lines.len());
    let mut words: Vec<String> = lines[at].split(' ').map(str::to_owned).collect();
    let (here, there) = (numbers.below(words.len()), numbers.below(words.len()));
    let stranger = numbers.of(&corpus.words).clone();
    match numbers.below(5) {
        0 => drop(words.remove(here)),
        1 => words.insert(here, stranger),
        2 => words.swap(here, there),
        3 => words.insert(there, words[here].clone()),
        _ => words[here] = stranger,
    }
    lines[at] = words.join(" ");
    lines.join("\n").into_bytes()
}

fn by_lines(bytes: &[u8], corpus: &Corpus, numbers: &mut Numbers) -> Vec<u8> {
    let mut lines = lines_of(bytes);
    let (here, there) = (numbers.below(lines.len()), numbers.below(lines.len()));
    let line = lines[here].clone();
    match numbers.below(5) {
        0 => drop(lines.remove(here)),
        1 => lines.insert(there, line),
        2 => lines.swap(here, there),
        3 => lines[there] += &line,
        _ => lines.insert(there, numbers.of(&corpus.lines).clone()),
    }
    lines.join("\n").into_bytes()
}

/// A statement of the table or of another text, its names exchanged for names and places of this one.
fn by_statement(bytes: &[u8], corpus: &Corpus, numbers: &mut Numbers) -> Vec<u8> {
    let mut lines = lines_of(bytes);
    let text = lines.join(" ");
    let mut names: Vec<&str> = text.split(' ').filter(|word| is_name(word)).collect();
    names.push("chassis");
    let statement = numbers.of(&corpus.lines).clone();
    let exchanged: Vec<&str> = statement
        .split(' ')
        .map(|word| if is_name(word) && numbers.below(3) > 0 { *numbers.of(&names) } else { word })
        .collect();
    let line = exchanged.join(" ");
    lines.insert(numbers.below(lines.len() + 1), line);
    lines.join("\n").into_bytes()
}

/// `R4`, `V1a.plate`, `B3`: what names parts, legs and nets in most texts.
fn is_name(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_uppercase()) && !word.contains('"')
}
