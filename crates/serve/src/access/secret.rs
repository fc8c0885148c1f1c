//! Random secrets of 128 bits, as 26 letters that can be read aloud and typed, and their hashes.
//!
//! # Source
//! The letters: D. Crockford, Base 32 (from memory): no I, L, O or U, and whoever types one of the first three means 1 or 0.
//! SHA-256: FIPS 180-4; the test has its first example.

/// 26 letters of 5 bits each; the first letter holds the 3 bits that are left over.
const LETTERS: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";

const LETTER_COUNT: u32 = 26;

/// A key or a session, as the one who holds it knows it. Never printed by accident: it has no `Debug`.
pub(super) struct Secret(String);

/// What is kept of a secret: SHA-256 of its letters, in hexadecimal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Hash(pub(super) String);

impl Secret {
    pub(super) fn new() -> Result<Self, getrandom::Error> {
        let mut bytes = [0; 16];
        getrandom::fill(&mut bytes)?;
        let bits = u128::from_be_bytes(bytes);
        let letter = |index: u32| {
            let five = (bits >> (5 * (LETTER_COUNT - 1 - index))) & 31;
            usize::try_from(five).ok().and_then(|five| LETTERS.get(five)).map_or('0', |&letter| letter.into())
        };
        Ok(Self((0..LETTER_COUNT).map(letter).collect()))
    }

    /// What someone typed: blanks and dashes do not matter, nor does the case.
    pub(super) fn typed(typed: &str) -> Option<Self> {
        // Nothing of a key has ten times its letters.
        if typed.len() > 260 {
            return None;
        }
        let letters = typed.chars().filter(|letter| !matches!(letter, ' ' | '-')).map(|letter| match letter
            .to_ascii_lowercase()
        {
            'o' => '0',
            'i' | 'l' => '1',
            other => other,
        });
        let letters: String = letters.collect();
        let are_ours = letters.bytes().all(|letter| LETTERS.contains(&letter));
        (are_ours && letters.len() == LETTER_COUNT as usize).then_some(Self(letters))
    }

    pub(super) fn letters(&self) -> &str {
        &self.0
    }

    pub(super) fn hash(&self) -> Hash {
        Hash(hexadecimal(&hmac_sha256::Hash::hash(self.0.as_bytes())))
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    let digit = |four: u8| char::from_digit(four.into(), 16).unwrap_or('0');
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_can_be_typed_with_blanks_in_capitals_and_with_the_letters_people_mix_up() {
        let secret = Secret("0123456789abcdefghjkmnpqr1".into());
        for typed in [
            "0123456789abcdefghjkmnpqr1",
            "0123 4567 89AB CDEF GHJK MNPQ R1",
            "O123-4567-89ab-cdef-ghjk-mnpq-rI",
            "o1234567-89abcdefghjkmnpqrl",
        ] {
            assert_eq!(Secret::typed(typed).map(|typed| typed.hash()), Some(secret.hash()), "{typed}");
        }
        for typed in
            ["", "0123456789abcdefghjkmnpqr", "0123456789abcdefghjkmnpqr11", "0123456789abcdefghjkmnpqru"]
        {
            assert!(Secret::typed(typed).is_none(), "{typed}");
        }
        assert!(Secret::typed(&" ".repeat(10_000)).is_none());
    }

    #[test]
    fn two_secrets_differ_and_each_can_be_typed() {
        let (one, two) = (Secret::new().unwrap(), Secret::new().unwrap());
        assert_ne!(one.0, two.0);
        assert!(Secret::typed(&one.0).is_some());
    }

    /// FIPS 180-4 (the examples of its first edition): SHA-256 of `abc`.
    #[test]
    fn the_hash_is_that_of_the_standard() {
        let hash = hexadecimal(&hmac_sha256::Hash::hash(b"abc"));
        assert_eq!(hash, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
