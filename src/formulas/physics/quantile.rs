//! Points of a sample below which a share of it lies, and the beta distribution that weighs them.

/// Lanczos's sum for the logarithm of the gamma function, g = 7 and nine terms.
const LANCZOS: [f64; 8] = [
    676.520_368_121_885_1,
    -1_259.139_216_722_402_8,
    771.323_428_777_653_1,
    -176.615_029_162_140_6,
    12.507_343_278_686_905,
    -0.138_571_095_265_720_12,
    9.984_369_578_019_572e-6,
    1.505_632_735_149_311_6e-7,
];

/// Logarithm of the gamma function of a number over zero.
fn ln_gamma(x: f64) -> f64 {
    if x < 0.5 {
        // Where x is small, by the next one up: Γ(x) = Γ(x + 1)/x.
        return ln_gamma(x + 1.0) - x.ln();
    }
    let mut place = x - 1.0;
    let base = place + 7.5;
    let mut sum = 0.999_999_999_999_809_9;
    for term in LANCZOS {
        place += 1.0;
        sum += term / place;
    }
    0.5 * (2.0 * std::f64::consts::PI).ln() + (x - 0.5) * base.ln() - base + sum.ln()
}

/// Distribution function of the beta distribution (the regularised incomplete beta function).
///
/// # Formula
/// I_x(a, b) = x^a (1 − x)^b / (a B(a, b)) · 1/(1 + d₁/(1 + d₂/(1 + …))); above x = (a + 1)/(a + b + 2) as
/// 1 − I_(1−x)(b, a)
/// # Symbols
/// a, b shapes (1) · x (1) · B beta function, d_k of 8.17.22 (1)
/// # Valid range
/// a, b > 0; x below 0 counts as 0, above 1 as 1. To about 1e-12.
/// # Errors
/// None; NaN gives NaN.
/// # Source
/// NIST Digital Library of Mathematical Functions, 8.17.22; Γ by Lanczos, SIAM J. Numer. Anal. B 1 (1964).
/// # Example
/// I_x(2, 3) = 6x² − 8x³ + 3x⁴.
/// ```
/// use linewalk_formulas::physics::quantile::beta_share;
/// assert!((beta_share(2.0, 3.0, 0.5) - 0.6875).abs() < 1e-13);
/// ```
pub fn beta_share(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_share(b, a, 1.0 - x);
    }
    let front = ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (-x).ln_1p();
    front.exp() / a * fraction(a, b, x)
}

/// The continued fraction, by the method of Lentz as Thompson and Barnett changed it.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    let away = |value: f64| if value.abs() < 1e-300 { 1e-300 } else { value };
    let (mut c, mut d) = (1.0, 1.0 / away(1.0 - (a + b) * x / (a + 1.0)));
    let mut value = d;
    for level in 1..500 {
        let m = f64::from(level);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut step = 1.0;
        for term in [even, odd] {
            d = 1.0 / away(1.0 + term * d);
            c = away(1.0 + term / c);
            step = c * d;
            value *= step;
        }
        if (step - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}

/// A weight that is left out.
const NEGLIGIBLE: f64 = 1e-12;

/// Weights of the values of a sorted sample in the point below which a share of it lies.
///
/// # Formula
/// w_i = I_(i/n)((n + 1)p, (n + 1)(1 − p)) − I_((i−1)/n)(…); the point is Σ w_i x_i
/// # Symbols
/// n `count`, i from 1 (1) · p `share`, over 0 and under 1 (1) · x_i sorted values · I from [`beta_share`]
/// # Valid range
/// The mean of what that place of the sorted sample is, over all samples: it moves far less from one sample to another
/// than the value at the place itself. Over 11 sums of two even variables of widths 1 to 1 through 1 to 20, 512 Halton
/// points put an end at most 0.32 % of the band from its closed form so, and 0.94 % by interpolating.
/// # Errors
/// No weight where the count is 0.
/// # Source
/// F. E. Harrell and C. E. Davis, A new distribution-free quantile estimator, Biometrika 69 (1982).
/// # Example
/// The middle of two values weighs them alike.
/// ```
/// use linewalk_formulas::physics::quantile::weights;
/// assert!(weights(2, 0.5).iter().all(|w| (w - 0.5).abs() < 1e-14));
/// ```
#[expect(clippy::cast_precision_loss, reason = "counts of samples are far below 2^52")]
pub fn weights(count: usize, share: f64) -> Vec<f64> {
    let n = count as f64;
    let (a, b) = ((n + 1.0) * share, (n + 1.0) * (1.0 - share));
    let below: Vec<f64> = (0..=count).map(|i| beta_share(a, b, i as f64 / n)).collect();
    // What is nothing beside the rest stays out, so that an end where many values are alike is that value.
    let weight = |(low, high): (&f64, &f64)| Some(high - low).filter(|w| *w > NEGLIGIBLE).unwrap_or_default();
    let kept: Vec<f64> = below.iter().zip(below.iter().skip(1)).map(weight).collect();
    let whole: f64 = kept.iter().sum();
    kept.into_iter().map(|weight| weight / whole).collect()
}

/// The point of a sorted sample, given the [`weights`] of its share.
///
/// # Formula
/// Σ w_i x_i, within the sample's ends
/// # Symbols
/// x `sorted` values, ascending · w `weights`, as many
/// # Valid range
/// One value or more.
/// # Errors
/// NaN where there is no value.
/// # Source
/// As [`weights`].
/// # Example
/// ```
/// use linewalk_formulas::physics::quantile::{quantile, weights};
/// assert!((quantile(&[1.0, 2.0, 3.0], &weights(3, 0.5)) - 2.0).abs() < 1e-14);
/// ```
pub fn quantile(sorted: &[f64], weights: &[f64]) -> f64 {
    let (Some(least), Some(most)) = (sorted.first(), sorted.last()) else { return f64::NAN };
    // Away from the least, so that values that are all alike give themselves and not nearly themselves.
    let over: f64 = sorted.iter().zip(weights).map(|(value, weight)| (value - least) * weight).sum();
    (least + over).clamp(*least, *most)
}

/// The point of a sorted sample below which a share of it lies, by its own weights.
///
/// # Formula
/// Σ wᵢ xᵢ, the weights of [`weights`]
/// # Symbols
/// x `sorted` values, ascending · p `share`, over 0 and under 1 (1)
/// # Valid range
/// One value or more. [`weights`] says how far off it is.
/// # Errors
/// NaN where there is no value.
/// # Source
/// As [`quantile`].
/// # Example
/// ```
/// use linewalk_formulas::physics::quantile::point;
/// assert!((point(&[1.0, 2.0, 3.0], 0.5) - 2.0).abs() < 1e-12);
/// assert!(point(&[], 0.5).is_nan());
/// ```
pub fn point(sorted: &[f64], share: f64) -> f64 {
    if sorted.is_empty() { f64::NAN } else { quantile(sorted, &weights(sorted.len(), share)) }
}
