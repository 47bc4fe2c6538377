//! Points that fill a cube evenly and are the same on every machine.

/// Radical inverse: the digits of a whole number mirrored at the point.
///
/// # Formula
/// φ_b(i) = Σ d_k b^(−k−1) where i = Σ d_k b^k
/// # Symbols
/// i `index` (1) · b `base`, 2 or more (1) · d_k digits of i in base b
/// # Valid range
/// Any index; a base below 2 counts as 2. φ lies in 0 ≤ φ < 1.
/// # Errors
/// None.
/// # Source
/// J. H. Halton, On the efficiency of certain quasi-random sequences of points, Numerische Mathematik 2 (1960).
/// # Example
/// van der Corput's sequence begins 1/2, 1/4, 3/4, 1/8.
/// ```
/// use linewalk_formulas::physics::halton::radical_inverse;
/// assert_eq!([1, 2, 3, 4].map(|i| radical_inverse(i, 2)), [0.5, 0.25, 0.75, 0.125]);
/// ```
#[expect(clippy::cast_precision_loss, reason = "counts of points and primes are far below 2^52")]
pub fn radical_inverse(mut index: usize, base: usize) -> f64 {
    let base = base.max(2);
    // Numerator and denominator are whole, so that the quotient is rounded once.
    let (mut mirrored, mut scale) = (0_usize, 1_usize);
    while index > 0 {
        mirrored = mirrored * base + index % base;
        scale *= base;
        index /= base;
    }
    mirrored as f64 / scale as f64
}

/// The first `count` primes, the bases of a Halton sequence.
///
/// # Formula
/// Trial division.
/// # Symbols
/// count (1)
/// # Valid range
/// Any count.
/// # Errors
/// None.
/// # Source
/// Definition.
/// # Example
/// ```
/// assert_eq!(linewalk_formulas::physics::halton::primes(5), [2, 3, 5, 7, 11]);
/// ```
pub fn primes(count: usize) -> Vec<usize> {
    let mut found: Vec<usize> = Vec::with_capacity(count);
    let mut next = 2;
    while found.len() < count {
        if found.iter().take_while(|prime| *prime * *prime <= next).all(|prime| next % prime != 0) {
            found.push(next);
        }
        next += 1;
    }
    found
}
