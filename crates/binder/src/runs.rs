//! Lists of numbers as a table has room for them: three or more that follow one another as `6–9`.

use std::fmt::Write as _;

/// Numbers in rising order, in words: `1, 2, 6–9`. Nothing for no numbers.
pub(crate) fn runs(numbers: impl IntoIterator<Item = usize>) -> String {
    let mut all: Vec<(usize, usize)> = Vec::new();
    for number in numbers {
        match all.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => all.push((number, number)),
        }
    }
    let mut words = String::new();
    for (first, last) in all {
        let comma = if words.is_empty() { "" } else { ", " };
        // Writing to a `String` cannot fail.
        let _ = match last - first {
            0 => write!(words, "{comma}{first}"),
            1 => write!(words, "{comma}{first}, {last}"),
            _ => write!(words, "{comma}{first}–{last}"),
        };
    }
    words
}

/// The same, or what is missing of `all` where that is shorter: `all but 3, 17`. `all` is in rising order too.
pub(crate) fn runs_or_all_but(numbers: &[usize], all: &[usize]) -> String {
    let plain = runs(numbers.iter().copied());
    if numbers.len() * 2 < all.len() {
        return plain;
    }
    let missing: Vec<usize> =
        all.iter().copied().filter(|number| numbers.binary_search(number).is_err()).collect();
    if missing.is_empty() {
        return if all.is_empty() { plain } else { "all others".to_owned() };
    }
    let rest = format!("all but {}", runs(missing));
    if rest.chars().count() < plain.chars().count() { rest } else { plain }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_that_follow_one_another_are_a_run_and_two_are_not() {
        assert_eq!(runs([1, 2, 6, 7, 8, 9, 11]), "1, 2, 6–9, 11");
        assert_eq!(runs([]), "");
    }

    #[test]
    fn nearly_all_is_said_by_what_is_missing() {
        let all: Vec<usize> = (1..=20).filter(|&number| number != 7).collect();
        let most: Vec<usize> = all.iter().copied().filter(|&number| number != 3 && number != 12).collect();
        assert_eq!(runs_or_all_but(&most, &all), "all but 3, 12");
        assert_eq!(runs_or_all_but(&all, &all), "all others");
        assert_eq!(runs_or_all_but(&[4, 5], &all), "4, 5");
        // As long either way: the plain list is clearer.
        assert_eq!(runs_or_all_but(&[1, 2, 3, 4], &[1, 2, 3, 4, 9]), "1–4");
    }
}
