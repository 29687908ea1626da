//! Quantiles, medians, scales.

use teleassay::num::moments::{lag1_autocorrelation, mean_std};
use teleassay::num::quantile::{quantile_in_place, quantile_sorted};
use teleassay::num::robust::{mad_sigma, median_mad};
use teleassay::num::scale::{qn, qn_raw};

use super::oracle::{Oracle, close};

fn ascending(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(f64::total_cmp);
    values
}

/// NIST/SEMATECH 7.2.6.2; Hyndman & Fan 1996; numpy 2.4.6.
#[test]
fn the_seventh_quantile_of_hyndman_and_fan() {
    let case = Oracle::case("nist_quantile");
    let x = ascending(case.input("x"));
    close(quantile_sorted(&x, 0.9), case.expected("R7"), 1e-12);
    close(quantile_in_place(&mut case.input("x"), 0.9), case.expected("R7"), 1e-12);
}

/// NIST/SEMATECH 7.1.6, the quartiles by the seventh rule; numpy.
#[test]
fn quartiles_of_ninety_values() {
    let case = Oracle::case("nist_fences");
    let x = ascending(case.input("x"));
    let quartiles = [("median", 0.5), ("type7/q1", 0.25), ("type7/q3", 0.75)];
    for (name, share) in quartiles {
        close(quantile_sorted(&x, share), case.expected(name), 1e-12);
        close(quantile_in_place(&mut case.input("x"), share), case.expected(name), 1e-12);
    }
}

/// NIST/SEMATECH 1.3.5.17.1: the statistic of Grubbs is the largest value's distance from the mean,
/// in standard deviations.
#[test]
fn mean_and_deviation_give_grubbs_statistic() {
    let case = Oracle::case("nist_grubbs");
    let (mean, deviation) = mean_std(&case.input("x"));
    close((case.expected("outlier") - mean) / deviation, case.expected("G"), 1e-12);
}

/// NIST 1.3.5.17 (Iglewicz & Hoaglin 1993); R 4.2.2 `mad`.
#[test]
fn median_and_mad() {
    let case = Oracle::case("modified_z");
    let x = case.input("x");
    let (centre, mad) = median_mad(&x);
    close(centre, case.expected("median"), 1e-12);
    close(mad, case.expected("mad_raw"), 1e-10);
    // R multiplies by 1.4826; ours carries the constant in full.
    close(mad_sigma(&x), case.expected("mad_1.4826"), 2e-6);
}

/// Rousseeuw & Croux 1993; R robustbase 0.95-0 (Qn constant 2.21914).
#[test]
fn qn_of_small_samples() {
    let ten = Oracle::case("qn_sn");
    let x = ten.input("x");
    close(qn_raw(&x), ten.expected("Qn_raw_const1_nocorr"), 1e-12);
    close(qn(&x), ten.expected("Qn"), 1e-9);

    let eight = Oracle::case("qn_sn_uranium");
    let x = eight.input("x");
    close(qn(&x), eight.expected("Qn"), 1e-9);
    close(2.219_14 * qn_raw(&x), eight.expected("Qn_nocorr"), 1e-9);

    let eleven = Oracle::case("qn_sn_squares_11");
    let x = eleven.input("x");
    close(qn_raw(&x), eleven.expected("Qn_raw"), 1e-12);
    close(qn(&x), eleven.expected("Qn"), 1e-9);
}

/// NIST's `NumAcc4`. The values have no exact binary form: numpy gives 0.10000000055879354.
#[test]
fn a_small_deviation_on_a_large_offset() {
    let case = Oracle::case("numacc4");
    let mut values = vec![10_000_000.2];
    values.extend([10_000_000.1, 10_000_000.3].iter().cycle().take(1000));
    let (mean, deviation) = mean_std(&values);
    close(mean, case.expected("mean"), 1e-15);
    close(deviation, 0.100_000_000_558_793_54, 1e-15);
    close(deviation, case.expected("sd"), 6e-10);
    close(lag1_autocorrelation(&values), case.expected("lag1"), 1e-8);
}
