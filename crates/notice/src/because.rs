//! Decisions and their reasons.

use std::fmt;

/// A rule of decision: a name to cite and the sentence it speaks, with `{}` where each fact goes.
#[derive(Debug, PartialEq, Eq)]
pub struct Rule {
    /// Two to four words, joined by hyphens; stable.
    pub name: &'static str,
    /// One short sentence with a `{}` for each fact, in order.
    pub sentence: &'static str,
}

/// Something a rule saw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fact {
    /// A count, a number or an address.
    Number(i64),
    /// A name from the user's description, or a short phrase.
    Name(String),
}

impl fmt::Display for Fact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => write!(f, "{number}"),
            Self::Name(name) => f.write_str(name),
        }
    }
}

impl From<&str> for Fact {
    fn from(name: &str) -> Self {
        Self::Name(name.to_owned())
    }
}

impl From<String> for Fact {
    fn from(name: String) -> Self {
        Self::Name(name)
    }
}

impl From<u16> for Fact {
    fn from(number: u16) -> Self {
        Self::Number(number.into())
    }
}

impl From<u32> for Fact {
    fn from(number: u32) -> Self {
        Self::Number(number.into())
    }
}

impl From<u64> for Fact {
    fn from(number: u64) -> Self {
        Self::Number(i64::try_from(number).unwrap_or(i64::MAX))
    }
}

impl From<usize> for Fact {
    fn from(number: usize) -> Self {
        Self::Number(i64::try_from(number).unwrap_or(i64::MAX))
    }
}

/// One reason: the rule that spoke and the facts it saw. Its words are made when it is printed, by the rule's sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Because {
    /// The rule that spoke.
    pub rule: &'static Rule,
    /// What it saw, in the order of the sentence.
    pub saw: Vec<Fact>,
}

impl Because {
    /// The reason that `rule` gives on seeing these facts.
    pub fn new<const N: usize>(rule: &'static Rule, saw: [Fact; N]) -> Self {
        debug_assert_eq!(rule.sentence.matches("{}").count(), N, "{} speaks of other facts", rule.name);
        Self { rule, saw: saw.into() }
    }
}

impl fmt::Display for Because {
    /// The sentence with its facts, and the rule's name behind it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut facts = self.saw.iter();
        for (index, part) in self.rule.sentence.split("{}").enumerate() {
            if index > 0
                && let Some(fact) = facts.next()
            {
                write!(f, "{fact}")?;
            }
            f.write_str(part)?;
        }
        write!(f, " ({})", self.rule.name)
    }
}

/// A value the tool chose, and why. There is no way to make one without a reason.
///
/// # Example
/// ```
/// use notice::{Because, Decided, Rule};
/// static FIRST_FREE: Rule = Rule { name: "first-free", sentence: "{} is the first free number" };
/// let number = Decided::new(5, Because::new(&FIRST_FREE, [5usize.into()]));
/// assert_eq!(number.because().next().unwrap().to_string(), "5 is the first free number (first-free)");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decided<T> {
    /// What was chosen.
    pub value: T,
    first: Because,
    further: Vec<Because>,
}

impl<T> Decided<T> {
    /// A value and the first reason for it.
    pub fn new(value: T, because: Because) -> Self {
        Self { value, first: because, further: Vec::new() }
    }

    /// Adds a reason.
    #[must_use]
    pub fn and(mut self, because: Because) -> Self {
        self.further.push(because);
        self
    }

    /// The same decision in another form, for the same reasons.
    pub fn map<U>(self, form: impl FnOnce(T) -> U) -> Decided<U> {
        Decided { value: form(self.value), first: self.first, further: self.further }
    }

    /// All reasons, the deciding one first.
    pub fn because(&self) -> impl Iterator<Item = &Because> {
        std::iter::once(&self.first).chain(&self.further)
    }
}
