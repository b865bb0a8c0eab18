//! Chi-square, F, beta and normal distributions, to about twelve digits.
//!
//! Incomplete gamma by series and continued fraction, incomplete beta by continued fraction (Lentz), and their inverses by
//! bisection on a function that only rises: slow by a microsecond, never wrong by a bad start.

use std::f64::consts::PI;

const ENOUGH: f64 = 1e-16;
const TINY: f64 = 1e-300;

/// Logarithm of the gamma function for `x > 0`: Stirling's series above 12, the recurrence below.
pub(super) fn ln_gamma(mut x: f64) -> f64 {
    let mut below = 0.0;
    while x < 12.0 {
        below += x.ln();
        x += 1.0;
    }
    let z = 1.0 / (x * x);
    let series = z * (1.0 / 1260.0 - z * (1.0 / 1680.0 - z * (1.0 / 1188.0 - z * (691.0 / 360_360.0 - z / 156.0))));
    (x - 0.5) * x.ln() - x + 0.5 * (2.0 * PI).ln() + (1.0 / 12.0 - z / 360.0 + z * series) / x - below
}

/// Lower and upper regularised incomplete gamma: P(a, x) and Q(a, x) = 1 - P.
pub(super) fn gamma_shares(a: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x.is_infinite() {
        return (1.0, 0.0);
    }
    let front = (a * x.ln() - x - ln_gamma(a)).exp();
    if x < a + 1.0 {
        let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
        while term > sum * ENOUGH {
            n += 1.0;
            term *= x / n;
            sum += term;
        }
        let p = (front * sum).min(1.0);
        (p, 1.0 - p)
    } else {
        let mut b = x + 1.0 - a;
        let (mut c, mut d) = (1.0 / TINY, 1.0 / b);
        let mut h = d;
        let mut i = 1.0;
        while i < 100_000.0 {
            let an = -i * (i - a);
            b += 2.0;
            d = 1.0 / far(an * d + b);
            c = far(b + an / c);
            h *= d * c;
            if (d * c - 1.0).abs() < ENOUGH * 4.0 {
                break;
            }
            i += 1.0;
        }
        let q = (front * h).min(1.0);
        (1.0 - q, q)
    }
}

fn far(x: f64) -> f64 {
    if x.abs() < TINY { TINY } else { x }
}

/// The point below which a share `p` of the chi-square distribution lies.
pub(super) fn chi_square_quantile(p: f64, degrees: f64) -> f64 {
    let a = degrees / 2.0;
    2.0 * rising(p, |x| gamma_shares(a, x))
}

/// Where a distribution on (0, infinity), given by its lower and upper shares, reaches `p`.
fn rising(p: f64, shares: impl Fn(f64) -> (f64, f64)) -> f64 {
    if p <= 0.0 {
        return 0.0;
    }
    if p >= 1.0 {
        return f64::INFINITY;
    }
    // The smaller tail is the exact one.
    let below = |x: f64| {
        let (lower, upper) = shares(x);
        if p <= 0.5 { lower < p } else { upper > 1.0 - p }
    };
    let (mut low, mut high) = (0.0, 1.0);
    while below(high) {
        low = high;
        high *= 2.0;
    }
    while low == 0.0 && high > TINY && !below(high / 2.0) {
        high /= 2.0;
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if below(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Share of the chi-square distribution above `x`.
pub(super) fn chi_square_above(x: f64, degrees: f64) -> f64 {
    gamma_shares(degrees / 2.0, x / 2.0).1
}

/// Share of the normal distribution above `z`.
pub(super) fn normal_above(z: f64) -> f64 {
    let half = gamma_shares(0.5, z * z / 2.0).1 / 2.0;
    if z >= 0.0 { half } else { 1.0 - half }
}

/// The point below which a share `p` of the normal distribution lies.
pub(super) fn normal_quantile(p: f64) -> f64 {
    let root = chi_square_quantile((2.0 * p - 1.0).abs(), 1.0).sqrt();
    if p < 0.5 { -root } else { root }
}

/// Regularised incomplete beta I_x(a, b) and its complement.
pub(super) fn beta_shares(a: f64, b: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x >= 1.0 {
        return (1.0, 0.0);
    }
    let front = (ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (-x).ln_1p()).exp();
    if x < (a + 1.0) / (a + b + 2.0) {
        let p = (front * beta_fraction(a, b, x) / a).min(1.0);
        (p, 1.0 - p)
    } else {
        let q = (front * beta_fraction(b, a, 1.0 - x) / b).min(1.0);
        (1.0 - q, q)
    }
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / far(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    let mut m = 1.0;
    while m < 100_000.0 {
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / far(1.0 + even * d);
        c = far(1.0 + even / c);
        h *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / far(1.0 + odd * d);
        c = far(1.0 + odd / c);
        h *= d * c;
        if (d * c - 1.0).abs() < ENOUGH * 4.0 {
            break;
        }
        m += 1.0;
    }
    h
}

/// The point below which a share `p` of the F distribution lies: x / (1 - x) of a beta point, times d2 / d1.
pub(super) fn f_quantile(p: f64, d1: f64, d2: f64) -> f64 {
    let odds = rising(p, |odds| beta_shares(d1 / 2.0, d2 / 2.0, odds / (1.0 + odds)));
    odds * d2 / d1
}

/// The point below which a share `p` of the beta distribution lies.
pub(super) fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    let odds = rising(p, |odds| beta_shares(a, b, odds / (1.0 + odds)));
    if odds.is_infinite() { 1.0 } else { odds / (1.0 + odds) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_points() {
        let close = |a: f64, b: f64| assert!((a - b).abs() <= 1e-11 * b.abs().max(1.0), "{a} {b}");
        close(ln_gamma(0.5), PI.sqrt().ln());
        close(ln_gamma(1.0), 0.0);
        close(ln_gamma(11.0), 3_628_800_f64.ln());
        close(chi_square_quantile(0.95, 20.0), 31.410_432_844_230_918);
        close(chi_square_quantile(0.99, 20.0), 37.566_234_786_625_07);
        close(chi_square_quantile(0.5, 2.0), 2.0 * 2_f64.ln());
        close(normal_quantile(0.975), 1.959_963_984_540_054);
        close(normal_quantile(0.5), 0.0);
        close(normal_quantile(0.1), -1.281_551_565_544_600_5);
        close(beta_quantile(0.5, 3.0, 3.0), 0.5);
        close(f_quantile(0.5, 7.0, 7.0), 1.0);
        // Two degrees each way: I_x(1, 1) = x.
        close(f_quantile(0.9, 2.0, 2.0), 9.0);
    }

    #[test]
    fn an_inverse_comes_back_for_every_shape_and_share() {
        for degrees in [0.5, 1.0, 2.0, 3.0, 11.0, 60.0, 200.0, 2000.0] {
            for p in [1e-9, 1e-4, 0.025, 0.3, 0.5, 0.7, 0.975, 0.9999, 1.0 - 1e-9] {
                let x = chi_square_quantile(p, degrees);
                let (lower, upper) = gamma_shares(degrees / 2.0, x / 2.0);
                assert!((lower - p).abs() < 1e-12 && (upper - (1.0 - p)).abs() < 1e-12, "{degrees} {p}: {lower}");
                let f = f_quantile(p, degrees, 7.0);
                let back = beta_shares(degrees / 2.0, 3.5, degrees * f / (degrees * f + 7.0)).0;
                assert!((back - p).abs() < 1e-11, "{degrees} {p}: {back}");
            }
        }
    }
}
