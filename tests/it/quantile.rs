//! Points of samples: printed weights, a library's, and bands in closed form.

use linewalk::physics::halton::{primes, radical_inverse};
use linewalk::physics::quantile::{beta_share, quantile, weights};

use crate::near::{near, near_share};

#[test]
fn the_beta_distribution_against_a_library() {
    // scipy 1.17.1, special.betainc.
    for (a, b, x, expected) in [
        (12.825, 500.175, 0.01, 0.002_782_431_458_697_921),
        (12.825, 500.175, 0.025, 0.535_747_667_852_432_3),
        (12.825, 500.175, 0.06, 0.999_937_813_253_212_8),
        (500.175, 12.825, 0.975, 0.464_252_332_147_567_7),
        (25.625, 999.375, 0.03, 0.847_981_725_163_922_3),
        (0.625, 24.375, 1.0 / 24.0, 0.799_890_777_882_012_5),
        (0.15, 5.85, 0.2, 0.972_742_455_219_496_4),
        (2.5, 1.5, 0.7, 0.584_312_147_701_974_6),
        (51.0, 53.0, 0.5, 0.578_051_172_373_569_1),
    ] {
        near_share(beta_share(a, b, x), expected, 1e-11, "betainc");
    }
    // Two whole shapes make a binomial tail: I_x(2, 3) = 6x^2 - 8x^3 + 3x^4.
    for x in [0.1_f64, 0.3, 0.5, 0.9] {
        let exact = 6.0 * x.powi(2) - 8.0 * x.powi(3) + 3.0 * x.powi(4);
        near(beta_share(2.0, 3.0, x), exact, 1e-13, "binomial tail");
    }
    assert_eq!((beta_share(2.0, 3.0, -1.0), beta_share(2.0, 3.0, 2.0)), (0.0, 1.0));
}

#[test]
fn points_of_a_sorted_sample() {
    // scipy 1.17.1, stats.mstats.hdquantiles of 1, 2, 4, 8, 16.
    let sorted = [1.0, 2.0, 4.0, 8.0, 16.0];
    for (share, expected) in
        [(0.025, 1.034_919_865_021_667_6), (0.5, 5.040_32), (0.975, 15.768_096_757_550_616)]
    {
        near_share(quantile(&sorted, &weights(5, share)), expected, 1e-12, "hdquantiles");
    }
    assert!(quantile(&[], &[]).is_nan());
    assert_eq!(quantile(&[0.1; 7], &weights(7, 0.025)), 0.1);
    let sum: f64 = weights(512, 0.025).iter().sum();
    near(sum, 1.0, 1e-12, "weights make one");
}

/// The point of a sum of even variables, each over -w to w, below which a share of it lies: the volume of a corner of a
/// box, by taking corners away in turn, and halving.
fn point_of_a_sum(halves: &[f64], share: f64) -> f64 {
    let whole: f64 = halves.iter().sum();
    let dimensions = halves.len() as i32;
    let below = |x: f64| {
        let corners = (0..1_u32 << halves.len()).map(|corner| {
            let taken: f64 =
                halves.iter().enumerate().filter(|(i, _)| corner >> i & 1 == 1).map(|(_, w)| 2.0 * w).sum();
            let sign = if corner.count_ones() % 2 == 1 { -1.0 } else { 1.0 };
            sign * (x + whole - taken).max(0.0).powi(dimensions)
        });
        let box_volume: f64 = halves.iter().map(|w| 2.0 * w).product();
        corners.sum::<f64>() / (1..=halves.len()).map(|i| i as f64).product::<f64>() / box_volume
    };
    let (mut low, mut high) = (-whole, whole);
    for _ in 0..100 {
        let middle = f64::midpoint(low, high);
        if below(middle) < share { low = middle } else { high = middle }
    }
    low
}

/// How far 512 Halton points put either end of the band of a sum from its closed form, as a share of the band.
fn miss(halves: &[f64]) -> f64 {
    let bases = primes(halves.len());
    let mut sums: Vec<f64> = (1..=512)
        .map(|i| halves.iter().zip(&bases).map(|(w, base)| w * (2.0 * radical_inverse(i, *base) - 1.0)).sum())
        .collect();
    sums.sort_by(f64::total_cmp);
    let ends =
        [0.025, 0.975].map(|share| (quantile(&sums, &weights(512, share)), point_of_a_sum(halves, share)));
    let band = ends[1].1 - ends[0].1;
    ends.iter().map(|(got, exact)| (got - exact).abs() / band).fold(0.0, f64::max)
}

/// Sums of two inputs of every ratio, held to a hundredth of the band; of three and of five, to what was found.
#[test]
fn bands_of_sums_in_closed_form() {
    let most = |sets: Vec<Vec<f64>>| sets.iter().map(|halves| miss(halves)).fold(0.0, f64::max);
    let ratios = [1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.05];
    let two = most(ratios.iter().map(|r| vec![1.0, *r]).collect());
    let three = most(ratios.iter().flat_map(|r| ratios.map(|q| vec![1.0, *r, q * r])).collect());
    let five = most(ratios.iter().map(|r| (0..5).map(|i| r.powi(i)).collect()).collect());
    println!(
        "of the band: two inputs {:.2} %, three {:.2} %, five {:.2} %",
        100.0 * two,
        100.0 * three,
        100.0 * five
    );
    assert!(two <= 0.01, "{two}");
    assert!(three <= 0.02 && five <= 0.02, "{three} {five}");
}
