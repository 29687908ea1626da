//! Two samples, and many tests at once.

use teleassay::num::multiple::{benjamini_hochberg, bonferroni, holm};
use teleassay::num::twosample::{
    cliffs_delta, energy_distance_squared, hodges_lehmann, ks_distance, mann_whitney,
    mann_whitney_normal, probability_greater, wasserstein,
};

use super::oracle::{Oracle, all_close, close, numbers};

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
    close(hodges_lehmann(&x, &y), case.expected("HL"), 1e-14);
    close(probability_greater(&x, &y), case.expected("A12"), 1e-14);
    close(cliffs_delta(&x, &y), case.expected("cliff"), 1e-14);
    let normal = mann_whitney_normal(&x, &y);
    assert!(!normal.exact);
    // statrs computes the normal's tail to about eleven digits.
    close(normal.p_value, case.expected("p_asym_cc"), 1e-10);
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
    close(hodges_lehmann(&x, &y), case.expected("HL"), 1e-14);
    close(probability_greater(&x, &y), case.expected("A12"), 1e-14);
    close(ks_distance(&x, &y), case.expected("KS_D"), 1e-14);
}

/// README of the cliffs-delta package, 1.0.0.
#[test]
fn cliffs_delta_with_ties() {
    let case = Oracle::case("cliff_effsize");
    let (x, y) = (case.input("x"), case.input("y"));
    close(cliffs_delta(&x, &y), case.expected("delta"), 1e-14);
    close(probability_greater(&x, &y), case.expected("A12"), 1e-14);
}

/// Docstring of `scipy.stats.wasserstein_distance`, the case without weights.
#[test]
fn earth_movers_distance() {
    let case = Oracle::case("wasserstein");
    let first = &case.raw_input()["cases"][0];
    let (u, v) = (numbers(&first[0]), numbers(&first[1]));
    close(wasserstein(&u, &v), case.expected_list("w1")[0], 1e-14);
}

/// Székely & Rizzo; scipy gives the root, dcor the square.
#[test]
fn energy_distance() {
    let case = Oracle::case("energy");
    let squared = energy_distance_squared(&case.input("u"), &case.input("v"));
    close(squared, case.expected("squared"), 1e-14);
    close(squared.sqrt(), case.expected("scipy_sqrt_form"), 1e-14);
}

/// Benjamini & Hochberg 1995, section 3.2; statsmodels, scipy and R's p.adjust.
#[test]
fn adjusted_p_values_of_benjamini_and_hochberg() {
    let case = Oracle::case("bh_1995");
    let p = case.input("p");
    let below = |p: &[f64], level: f64| p.iter().filter(|&&p| p <= level).count() as f64;
    let adjusted = benjamini_hochberg(&p);
    all_close(&adjusted, &case.expected_list("adjusted"), 1e-9);
    close(below(&adjusted, 0.05), case.expected("rejected"), 0.0);
    close(below(&adjusted, 0.10), case.expected("rejected_q10"), 0.0);
    close(below(&bonferroni(&p), 0.05), case.expected("bonferroni"), 0.0);
    close(below(&holm(&p), 0.05), case.expected("holm"), 0.0);
}
