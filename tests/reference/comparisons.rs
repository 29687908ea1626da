//! Two samples, and many tests at once.

use teleassay::num::multiple::holm;
use teleassay::num::permutation::{energy_statistic, permutation_p};
use teleassay::num::shift::{self, Shift, Stratum};
use teleassay::num::twosample::{mann_whitney, mann_whitney_normal};

use super::oracle::{Oracle, all_close, close};

/// The example of scipy's `mannwhitneyu`; scipy 1.17.1 and R's wilcox.test.
#[test]
fn rank_test_of_the_scipy_example() {
    let case = Oracle::case("mwu_scipy");
    let (x, y) = (case.input("x"), case.input("y"));
    let test = mann_whitney(&x, &y);
    assert!(test.exact);
    close(test.u, case.expected("U1"), 0.0);
    close(mann_whitney(&y, &x).u, case.expected("U2"), 0.0);
    close(test.p_value, case.expected("p_exact"), 1e-14);
    let normal = mann_whitney_normal(&x, &y);
    assert!(!normal.exact);
    // statrs computes the normal's tail to about eleven digits.
    close(normal.p_value, case.expected("p_asym_cc"), 1e-10);
}

/// Cliff's delta, from the README of cliffs-delta 1.0.0: the rank statistic with ties counts half of
/// them on either side.
#[test]
fn the_rank_statistic_gives_cliffs_delta() {
    let case = Oracle::case("cliff_effsize");
    let (x, y) = (case.input("x"), case.input("y"));
    let share = mann_whitney(&x, &y).u / (x.len() * y.len()) as f64;
    close(share, case.expected("A12"), 1e-14);
    close(2.0 * share - 1.0, case.expected("delta"), 1e-14);
}

/// Hollander & Wolfe 1973, p. 69, as in R's ?wilcox.test; R 4.2.2, scipy 1.17.1.
#[test]
fn rank_test_of_hollander_and_wolfe() {
    let case = Oracle::case("mwu_hollander");
    let (x, y) = (case.input("x"), case.input("y"));
    let test = mann_whitney(&x, &y);
    close(test.u, case.expected("W"), 0.0);
    close(test.p_greater, case.expected("p_greater_exact"), 1e-14);
    close(test.p_value, case.expected("p_two_sided_exact"), 1e-14);
}

/// The shift of x over y, as R has it.
fn shift_of(case: &Oracle, of: fn(&[Stratum], f64) -> Option<Shift>) -> Shift {
    let stratum = Stratum { x: case.input("y"), y: case.input("x") };
    of(&[stratum], 0.95).unwrap_or_else(|| panic!("no interval"))
}

/// `wilcox.test(conf.int = TRUE)` of R 4.2.2 on both examples.
#[test]
fn intervals_of_hodges_and_lehmann() {
    for name in ["mwu_scipy", "mwu_hollander"] {
        let case = Oracle::case(name);
        let shift = shift_of(&case, shift::hodges_lehmann);
        close(shift.estimate, case.expected("HL"), 1e-14);
        let interval = [shift.interval.0, shift.interval.1];
        all_close(&interval, &case.expected_list("HL_ci95"), 1e-14);
    }
}

/// The p-value that goes with the interval is that of the rank test.
#[test]
fn the_shift_has_the_rank_tests_chance() {
    for (name, key) in [("mwu_scipy", "p_exact"), ("mwu_hollander", "p_two_sided_exact")] {
        let case = Oracle::case(name);
        let shift = shift_of(&case, shift::hodges_lehmann);
        let x = case.input("x").into_iter().map(|v| v + 0.0001).collect::<Vec<_>>();
        let rank = mann_whitney(&x, &case.input("y")).p_value;
        // Differences tie in both examples, so the shift takes the normal approximation.
        close(rank, case.expected(key), 1e-14);
        assert!((shift.p_value / rank - 1.0).abs() < 0.15, "{name}: {} {rank}", shift.p_value);
    }
}

/// Student's sleep data; R 4.2.2 `t.test`, scipy 1.17.1.
#[test]
fn welchs_interval_of_the_sleep_data() {
    let case = Oracle::case("welch_sleep");
    let shift = shift_of(&case, |strata, confidence| shift::welch(strata, confidence, 0.0));
    close(shift.estimate / shift.error, case.expected("t"), 1e-12);
    close(shift.p_value, case.expected("p"), 1e-9);
    let interval = [shift.interval.0, shift.interval.1];
    all_close(&interval, &case.expected_list("ci95"), 1e-9);
}

/// All 126 ways to deal the values of scipy's example give the probability of so great a difference of
/// means; scipy 1.17.1 `permutation_test`. Ours deals at random: three standard errors.
#[test]
fn a_permutation_test_of_means() {
    let case = Oracle::case("mwu_scipy");
    let (x, y) = (case.input("x"), case.input("y"));
    let values: Vec<f64> = x.iter().chain(&y).copied().collect();
    let labels: Vec<bool> = (0..values.len()).map(|at| at >= x.len()).collect();
    let mean = |labels: &[bool], side: bool| -> f64 {
        let own = || values.iter().zip(labels).filter(|(_, label)| **label == side);
        own().map(|(value, _)| value).sum::<f64>() / own().count() as f64
    };
    let mut gap = |labels: &[bool]| (mean(labels, true) - mean(labels, false)).abs();
    let found = permutation_p(&labels, &[0; 9], 5, &mut gap);
    // 25 hits settle it, with a standard error of a fifth.
    let expected = case.expected("perm_mean_diff_p_two_sided");
    assert!((found / expected - 1.0).abs() < 0.6, "{found}, expected {expected}");
}

/// Székely & Rizzo; R's `edist`, the squared energy distance weighted by m n / (m + n).
#[test]
fn energy_distance() {
    let case = Oracle::case("energy");
    let values: Vec<f64> = case.input("u").into_iter().chain(case.input("v")).collect();
    let table: Vec<f64> =
        values.iter().flat_map(|x| values.iter().map(move |y| (x - y).abs())).collect();
    let labels = [false, false, false, true, true, true];
    close(energy_statistic(&table, &[0; 6], &labels), case.expected("R_edist"), 1e-14);
}

/// The p-values of Benjamini & Hochberg 1995, section 3.2; statsmodels and R's p.adjust.
#[test]
fn adjusted_p_values_of_holm() {
    let case = Oracle::case("bh_1995");
    let p = case.input("p");
    let below = |p: &[f64], level: f64| p.iter().filter(|&&p| p <= level).count() as f64;
    close(below(&holm(&p), 0.05), case.expected("holm"), 0.0);
}
