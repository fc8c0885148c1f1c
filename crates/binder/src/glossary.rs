//! The glossary: of the words that have one meaning here, those that the sheets use.
//!
//! The list is `docs/words.md`. A word is used where it stands in a value that is printed, or in the words of a template. A
//! template's words are told from its rules by where they stand: within brackets, and with nothing of a rule beside them.

use std::collections::BTreeSet;

use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::world;

const WORDS: &str = include_str!("../../../docs/words.md");

/// The entries that these values or the templates use, by the alphabet: each `(word, meaning)`.
pub(crate) fn glossary(values: &Dict) -> Array {
    let mut used = BTreeSet::new();
    for value in values.iter().map(|(_, value)| value) {
        gather(value, &mut used);
    }
    for text in world::prose() {
        gather_prose(text, &mut used);
    }
    let mut entries: Vec<(&str, &str)> = entries().filter(|(word, _)| is_used(word, &used)).collect();
    entries.sort_unstable();
    let entry = |(word, meaning): (&str, &str)| {
        dict! { "word" => word, "meaning" => meaning.replace('`', "") }.into_value()
    };
    entries.into_iter().map(entry).collect()
}

/// The rows of the list: word and meaning.
fn entries() -> impl Iterator<Item = (&'static str, &'static str)> {
    let rows = WORDS.lines().filter(|row| row.starts_with("| ")).skip(1);
    rows.filter_map(|row| {
        let mut cells = row.trim_matches('|').split(" | ").map(str::trim);
        Some((cells.next()?, cells.next()?))
    })
    .filter(|(word, meaning)| !word.is_empty() && !meaning.is_empty())
}

/// Whether one of the words that an entry explains stands among those used, alone or as several of it.
fn is_used(entry: &str, used: &BTreeSet<String>) -> bool {
    entry.split(", ").any(|word| used.contains(word) || used.contains(&format!("{word}s")))
}

fn add(text: &str, used: &mut BTreeSet<String>) {
    let words = text.split(|letter: char| !letter.is_alphabetic()).filter(|word| !word.is_empty());
    let words: Vec<String> = words.map(str::to_lowercase).collect();
    // Some entries are two words.
    used.extend(words.windows(2).map(|pair| pair.join(" ")));
    used.extend(words);
}

fn gather(value: &Value, used: &mut BTreeSet<String>) {
    if let Value::Str(text) = value {
        add(text, used);
    } else if let Value::Array(array) = value {
        array.iter().for_each(|value| gather(value, used));
    } else if let Value::Dict(dict) = value {
        dict.iter().for_each(|(_, value)| gather(value, used));
    }
}

/// The words of a template that are printed.
fn gather_prose(template: &str, used: &mut BTreeSet<String>) {
    let mut depth = 0usize;
    for row in template.lines().filter(|row| !row.trim_start().starts_with("//")) {
        let inside = depth > 0;
        let is_rule = ["let ", "=>", "if ", "for ", "spoken(", "("].iter().any(|sign| row.contains(sign));
        if inside && !is_rule {
            let words = row
                .split_whitespace()
                .filter(|word| !word.contains(['#', '(', '=', '"', '.']) || word.ends_with('.'));
            add(&words.collect::<Vec<_>>().join(" "), used);
        }
        for letter in row.chars() {
            match letter {
                '[' => depth += 1,
                ']' => depth = depth.saturating_sub(1),
                _ => {}
            }
        }
    }
}
