//! Words that a person typed: a note, a name. They go into one column of a row, so they hold no tabs and no row ends, and
//! they are short.

/// The most letters that are kept.
pub const SAID_LETTERS_MAX: usize = 120;

/// Words of a person, fit for one column of a row.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Said(String);

impl Said {
    /// These words in one row: each control letter becomes a space, blanks at either end and letters past
    /// [`SAID_LETTERS_MAX`] are left out.
    pub fn new(words: &str) -> Self {
        let in_a_row = |letter: char| if letter.is_control() { ' ' } else { letter };
        let row: String = words.chars().map(in_a_row).collect();
        let short: String = row.trim().chars().take(SAID_LETTERS_MAX).collect();
        Self(short.trim_end().to_owned())
    }

    /// All of these words in one row: for names of the layout, which are as long as they are.
    pub fn whole(words: &str) -> Self {
        Self(words.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect())
    }

    /// The words.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl std::fmt::Display for Said {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}
