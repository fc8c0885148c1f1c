//! Decimal numbers in rows of text, exact to the nanosecond.

/// A decimal number: a whole number times a power of ten.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Decimal {
    digits: i64,
    power: i32,
}

/// Digits past these do not fit and are left out.
const DIGITS_MAX: i64 = i64::MAX / 10 - 1;

impl Decimal {
    /// Reads `-1.25e-3`; with `comma`, a comma may stand for the point. Anything else is no number.
    #[inline]
    pub(super) fn read(text: &[u8], comma: bool) -> Option<Self> {
        let (negative, text) = match text {
            [b'-', rest @ ..] => (true, rest),
            [b'+', rest @ ..] => (false, rest),
            _ => (false, text),
        };
        let (mut digits, mut power, mut behind, mut seen) = (0i64, 0i32, false, false);
        let mut bytes = text.iter();
        for &byte in bytes.by_ref() {
            match byte {
                b'0'..=b'9' => {
                    seen = true;
                    if digits <= DIGITS_MAX {
                        digits = digits * 10 + i64::from(byte - b'0');
                        power -= i32::from(behind);
                    } else {
                        power += i32::from(!behind);
                    }
                }
                b'.' if !behind => behind = true,
                b',' if comma && !behind => behind = true,
                b'e' | b'E' if seen => {
                    power = power.saturating_add(exponent(bytes.as_slice())?);
                    return Some(Self { digits: if negative { -digits } else { digits }, power });
                }
                _ => return None,
            }
        }
        seen.then_some(Self { digits: if negative { -digits } else { digits }, power })
    }

    /// The number times this power of ten, rounded to a whole number; none where it is too large.
    #[inline]
    pub(super) fn scaled(self, power: i32) -> Option<i64> {
        let power = self.power.checked_add(power)?;
        if let Ok(up) = u32::try_from(power) {
            return if self.digits == 0 { Some(0) } else { self.digits.checked_mul(10i64.checked_pow(up)?) };
        }
        // Past nineteen places nothing is left.
        let Some(by) = 10i64.checked_pow(power.unsigned_abs()) else { return Some(0) };
        let (whole, rest) = (self.digits / by, self.digits % by);
        let away =
            if rest.unsigned_abs() >= by.unsigned_abs().div_ceil(2) { self.digits.signum() } else { 0 };
        Some(whole + away)
    }

    /// How many of its digits stand behind the point, 0 or more.
    pub(super) fn places(self) -> u32 {
        self.power.min(0).unsigned_abs()
    }
}

fn exponent(text: &[u8]) -> Option<i32> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, text),
    };
    if digits.is_empty() || digits.len() > 4 {
        return None;
    }
    let mut value = 0;
    for byte in digits {
        value = value * 10 + i32::from(byte.is_ascii_digit().then(|| byte - b'0')?);
    }
    Some(if negative { -value } else { value })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_exact() {
        let read = |text: &str, power| Decimal::read(text.as_bytes(), true)?.scaled(power);
        for (text, power, value) in [
            ("58.0", 3, Some(58_000)),
            ("0.000058", 9, Some(58_000)),
            ("5.8E-05", 9, Some(58_000)),
            ("-1,5e3", 0, Some(-1_500)),
            ("0.0000000005", 9, Some(1)),
            ("0.0000000004", 9, Some(0)),
            ("-0.5", 0, Some(-1)),
            ("12345678901234567890123", 0, None),
            ("0.33333333333333333333333333", 9, Some(333_333_333)),
            ("1e9999", 0, None),
            ("0e9999", 0, Some(0)),
            ("1e-9999", 0, Some(0)),
            ("1e99999", 0, None),
            ("", 0, None),
            (".", 0, None),
            ("-", 0, None),
            ("1.2.3", 0, None),
            ("e5", 0, None),
            ("5e", 0, None),
            ("0x10", 0, None),
        ] {
            assert_eq!(read(text, power), value, "{text}");
        }
        assert_eq!(Decimal::read(b"1,5", false), None);
    }
}
