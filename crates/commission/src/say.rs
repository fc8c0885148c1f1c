//! What a person saw, as words, turned into answers of checks.
//!
//! The words are those of [`Check::sentence`](crate::fault::Check::sentence), in any case, with a colon or without, and a
//! few that people use besides: `lever 5 is slow`, `5 is stuck`, `breaker trips only when 5 is thrown`.

use crate::diagnose::Seen;
use crate::fault::{Check, System};

/// What people write besides, and the answer that they mean.
const MEANS: [(&str, &str); 16] = [
    ("stuck", "does not move"),
    ("is stuck", "does not move"),
    ("does not throw", "does not move"),
    ("does nothing", "does not move"),
    ("is dead", "does not move"),
    ("is slow", "moves slowly"),
    ("slow", "moves slowly"),
    ("wrong way", "moves the wrong way"),
    ("moves wrong way", "moves the wrong way"),
    ("dead", "is dead"),
    ("dark", "is dark"),
    ("works", "moves"),
    ("works", "runs"),
    ("works", "lights"),
    ("does not trip", "holds"),
    ("is out", "is dark"),
];

/// Words that say nothing that can be looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotUnderstood {
    /// What was written.
    pub written: String,
    /// What may be written instead, in one sentence.
    pub help: String,
}

/// What was seen, check by check.
///
/// # Errors
/// When the words name nothing that this railroad has, or say of it what cannot be seen there.
pub fn understand(system: &System, written: &str) -> Result<Vec<Seen>, NotUnderstood> {
    let words = plain(written);
    if let Some(seen) = thrown(system, &words) {
        return Ok(seen);
    }
    // A bare number is the one that is painted beside the lever; any other bare name is a machine's.
    let spoken = ["", "lever ", "machine "].map(|what| format!("{what}{words}"));
    let found = spoken.iter().find_map(|words| Some((words, named(system, words)?)));
    let Some((words, (length, key, checks))) = found else { return Err(unnamed(system, written, &words)) };
    let rest = words.get(length..).unwrap_or_default().trim_start_matches([' ', ':']);
    let answers: Option<Vec<Seen>> = checks
        .iter()
        .map(|&check| Some(Seen { check, answer: answer(&system.checks[check], rest)? }))
        .collect();
    answers.ok_or_else(|| {
        let can = checks.first().map(|&check| system.checks[check].words.join(", ")).unwrap_or_default();
        NotUnderstood { written: written.to_owned(), help: format!("of {key} it can be said: {can}") }
    })
}

/// What the words begin with: how long that is, its name, the checks that look at it. The longest name counts.
fn named<'s>(system: &'s System, words: &str) -> Option<(usize, &'s str, Vec<usize>)> {
    let mut named: Option<(usize, &str, Vec<usize>)> = None;
    let single = system.by_key.iter().map(|(key, &check)| (key.as_str(), vec![check]));
    let several = system.alias.iter().map(|(key, checks)| (key.as_str(), checks.clone()));
    for (key, checks) in single.chain(several) {
        let key_plain = plain(key);
        let Some(rest) = words.strip_prefix(&key_plain) else { continue };
        let ends = rest.is_empty() || rest.starts_with([' ', ':']);
        if ends && named.as_ref().is_none_or(|(length, ..)| *length < key_plain.len()) {
            named = Some((key_plain.len(), key, checks));
        }
    }
    named
}

/// In small letters, with single spaces and no full stop.
fn plain(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").trim_end_matches('.').to_lowercase()
}

fn answer(check: &Check, said: &str) -> Option<u8> {
    let find = |said: &str| check.words.iter().position(|word| *word == said);
    let meant = || MEANS.iter().filter(|(word, _)| *word == said).find_map(|(_, means)| find(means));
    find(said).or_else(meant).and_then(|index| u8::try_from(index).ok())
}

/// `breaker trips only when 5 is thrown`, `only when 5 is thrown`, `lever 5 moves another machine`.
fn thrown(system: &System, words: &str) -> Option<Vec<Seen>> {
    if let Some(number) =
        words.strip_prefix("lever ").and_then(|rest| rest.strip_suffix(" moves another machine"))
    {
        let check = *system.by_key.get(&format!("others with lever {number}"))?;
        return Some(vec![Seen { check, answer: 1 }]);
    }
    let rest = words.strip_prefix("breaker trips ").unwrap_or(words);
    let (only, rest) = match rest.strip_prefix("only ") {
        Some(rest) => (true, rest),
        None => (false, rest),
    };
    let number = rest.strip_prefix("when ")?.strip_suffix(" is thrown")?;
    let number = number.strip_prefix("lever ").unwrap_or(number);
    let at = |position: &str| system.by_key.get(&format!("breaker with lever {number} {position}")).copied();
    let mut seen = vec![Seen { check: at("reverse")?, answer: 1 }];
    if only {
        seen.push(Seen { check: at("normal")?, answer: 0 });
    }
    Some(seen)
}

fn unnamed(system: &System, written: &str, words: &str) -> NotUnderstood {
    // The answer is left off word by word until what is left looks like something.
    let parts: Vec<&str> = words.split(' ').collect();
    let near = (1..=parts.len()).rev().find_map(|count| {
        let head = parts[..count].join(" ");
        notice::nearest(&head, system.by_key.keys().chain(system.alias.keys()).map(String::as_str))
    });
    let lever = system.alias.keys().find(|key| key.starts_with("lever ")).map_or("lever 1", String::as_str);
    let track =
        system.by_key.keys().find(|key| key.starts_with("track ")).map_or("track main", String::as_str);
    let forms = format!(
        "write what and how it is, such as `{lever} does not move`, `{track} is dead` or `breaker trips only when 1 is thrown`; --list prints all that can be looked at"
    );
    let help = near.map_or_else(|| forms.clone(), |near| format!("did you mean `{near}`? {forms}"));
    NotUnderstood { written: written.to_owned(), help }
}
