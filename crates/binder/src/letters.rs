//! Which letters the binder's type can set, and what stands for those it cannot.
//!
//! A user's words are printed letter for letter. Where a letter is missing from the embedded fonts (an emoji, a script
//! they do not cover) its number is printed instead, `‹U+1F682›`, so that nothing vanishes and no empty box appears.
//! Letters that only steer how others are shown (tabs, line ends, joiners) become a space or nothing. Names beyond
//! [`NAME_LETTERS_MAX`] are cut with an ellipsis: they are pasted text, and would fill sheets.

use std::fmt::Write as _;

use typst::text::Coverage;

use crate::world::Fonts;

/// The most letters of one name that are printed.
pub(crate) const NAME_LETTERS_MAX: usize = 400;

/// The most letters of a reason, which may speak of several names.
pub(crate) const SENTENCE_LETTERS_MAX: usize = 2_000;

/// The letters that every embedded font has.
pub(crate) struct Letters {
    coverage: Vec<Coverage>,
}

impl Letters {
    /// The letters of these fonts.
    pub(crate) fn of(fonts: &Fonts) -> Self {
        Self { coverage: fonts.faces().map(|font| font.info().coverage.clone()).collect() }
    }

    /// A user's words as they can be printed, cut after `most` letters.
    pub(crate) fn set(&self, words: &str, most: usize) -> String {
        let mut printed = String::with_capacity(words.len());
        for (count, letter) in words.chars().enumerate() {
            if count == most {
                printed.push('…');
                break;
            }
            match letter {
                letter if letter.is_whitespace() || letter.is_control() => printed.push(' '),
                letter if self.has(letter) => printed.push(letter),
                // Joiners and variation selectors have no shape of their own.
                '\u{200B}'..='\u{200D}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' => {}
                letter => {
                    // Writing to a `String` cannot fail.
                    let _ = write!(printed, "‹U+{:04X}›", u32::from(letter));
                }
            }
        }
        printed.trim().to_owned()
    }

    fn has(&self, letter: char) -> bool {
        self.coverage.iter().all(|coverage| coverage.contains(u32::from(letter)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_the_type_lacks_is_printed_as_its_number() {
        let letters = Letters::of(Fonts::embedded());
        assert_eq!(letters.set("Wharf é 🚂", NAME_LETTERS_MAX), "Wharf é ‹U+1F682›");
        assert_eq!(letters.set("right\u{202E}left", NAME_LETTERS_MAX), "right‹U+202E›left");
    }

    #[test]
    fn letters_without_a_shape_leave_no_trace() {
        let letters = Letters::of(Fonts::embedded());
        assert_eq!(letters.set(" two\trows\nand a\u{200D}joiner ", NAME_LETTERS_MAX), "two rows and ajoiner");
    }

    #[test]
    fn a_pasted_novel_is_cut() {
        let letters = Letters::of(Fonts::embedded());
        let printed = letters.set(&"x".repeat(10_000), NAME_LETTERS_MAX);
        assert_eq!(printed.chars().count(), NAME_LETTERS_MAX + 1);
        assert!(printed.ends_with('…'));
    }
}
