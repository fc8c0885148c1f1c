//! Exponential, logarithm and arc tangent from sums and products alone, so that every machine gets the same bits.

use std::f64::consts::{FRAC_PI_2, LN_2};

/// e to the power of `x`.
pub(crate) fn exp(x: f64) -> f64 {
    if x.is_nan() {
        return x;
    }
    // Past these there is nothing but nought and infinity.
    let x = x.clamp(-800.0, 800.0);
    let halvings = (x / LN_2).round();
    let rest = x - halvings * LN_2;
    let (mut sum, mut term) = (1.0, 1.0);
    for n in 1..20 {
        term *= rest / f64::from(n);
        sum += term;
    }
    // By halves, so that the far ends fade out instead of breaking off.
    let (mut left, factor) = (halvings.abs(), if halvings < 0.0 { 0.5 } else { 2.0 });
    while left > 0.0 {
        sum *= factor;
        left -= 1.0;
    }
    sum
}

/// The natural logarithm of `x` above zero.
pub(crate) fn ln(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 || x.is_infinite() {
        return if x == 0.0 {
            f64::NEG_INFINITY
        } else if x > 0.0 {
            x
        } else {
            f64::NAN
        };
    }
    let (mut mantissa, mut doublings) = (x, 0.0);
    while mantissa > std::f64::consts::SQRT_2 {
        mantissa /= 2.0;
        doublings += 1.0;
    }
    while mantissa < std::f64::consts::FRAC_1_SQRT_2 {
        mantissa *= 2.0;
        doublings -= 1.0;
    }
    let ratio = (mantissa - 1.0) / (mantissa + 1.0);
    let square = ratio * ratio;
    let (mut sum, mut term) = (0.0, ratio);
    for n in 0..30 {
        sum += term / f64::from(2 * n + 1);
        term *= square;
    }
    2.0 * sum + doublings * LN_2
}

/// The angle whose tangent is `x`, in radians, for `x` not below zero.
pub(crate) fn arc_tangent(x: f64) -> f64 {
    if x > 1.0 {
        return FRAC_PI_2 - arc_tangent(1.0 / x);
    }
    if x > 0.2 {
        return 2.0 * arc_tangent(x / (1.0 + (1.0 + x * x).sqrt()));
    }
    let square = x * x;
    let (mut sum, mut term) = (0.0, x);
    for n in 0..16 {
        sum += term / f64::from(2 * n + 1);
        term *= -square;
    }
    sum
}

/// Sine and cosine of `x` radians, for moderate `x`.
pub(crate) fn sine_cosine(x: f64) -> (f64, f64) {
    let quarters = (x / FRAC_PI_2).round();
    let rest = x - quarters * FRAC_PI_2;
    let square = rest * rest;
    let (mut sine, mut cosine, mut term) = (0.0, 0.0, 1.0);
    for n in 0..10 {
        cosine += term;
        let odd = term * rest / f64::from(2 * n + 1);
        sine += odd;
        term *= -square / f64::from((2 * n + 1) * (2 * n + 2));
    }
    match quarters.rem_euclid(4.0) {
        turn if turn < 0.5 => (sine, cosine),
        turn if turn < 1.5 => (cosine, -sine),
        turn if turn < 2.5 => (-sine, -cosine),
        _ => (-cosine, sine),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[allow(
        clippy::disallowed_methods,
        reason = "the machine's own functions are what ours are held against"
    )]
    fn they_agree_with_the_machines_own() {
        for n in -400..400 {
            let x = f64::from(n) * 0.0831;
            assert!((exp(x) / x.exp() - 1.0).abs() < 1e-13, "exp {x}");
            assert!((ln(x.exp()) - x).abs() < 1e-13 * x.abs().max(1.0), "ln {x}");
            assert!((arc_tangent(x.abs()) - x.abs().atan()).abs() < 1e-14, "arc tangent {x}");
            let (sine, cosine) = sine_cosine(x);
            assert!((sine - x.sin()).abs() < 1e-13 && (cosine - x.cos()).abs() < 1e-13, "sine {x}");
        }
        assert!(exp(-900.0) == 0.0 || exp(-900.0) < 1e-300);
        assert!(ln(0.0).is_infinite() && ln(-1.0).is_nan());
    }
}
