//! Quantiles, medians, scales, fences.

use teleassay::num::moments::{lag1_autocorrelation, mean_std};
use teleassay::num::quantile::{Definition, quantile_in_place, quantile_sorted};
use teleassay::num::robust::{fences, mad_sigma, median, median_mad, modified_z};
use teleassay::num::scale::{qn, qn_raw, sn, sn_raw};

use super::oracle::{Oracle, all_close, close};

fn ascending(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(f64::total_cmp);
    values
}

/// NIST/SEMATECH 7.2.6.2; Hyndman & Fan 1996; numpy 2.4.6 for the nine types.
#[test]
fn the_nine_quantiles_of_hyndman_and_fan() {
    let case = Oracle::case("nist_quantile");
    let x = ascending(case.input("x"));
    let definitions = [
        Definition::Type1,
        Definition::Type2,
        Definition::Type3,
        Definition::Type4,
        Definition::Type5,
        Definition::Type6,
        Definition::Type7,
        Definition::Type8,
        Definition::Type9,
    ];
    for (index, definition) in definitions.into_iter().enumerate() {
        let expected = case.expected(&format!("R{}", index + 1));
        // Type 8 is printed to six decimals, the others in full.
        let tolerance = if definition == Definition::Type8 { 5e-9 } else { 1e-12 };
        close(quantile_sorted(&x, 0.9, definition), expected, tolerance);
    }
    close(quantile_in_place(&mut case.input("x"), 0.9), case.expected("R7"), 1e-12);
}

/// NIST 1.3.5.17 (Iglewicz & Hoaglin 1993); R 4.2.2 `mad`.
#[test]
fn median_mad_and_modified_z() {
    let case = Oracle::case("modified_z");
    let x = case.input("x");
    let (centre, mad) = median_mad(&x);
    close(centre, case.expected("median"), 1e-12);
    close(mad, case.expected("mad_raw"), 1e-10);
    // R multiplies by 1.4826; ours carries the constant in full.
    close(mad_sigma(&x), case.expected("mad_1.4826"), 2e-6);
    let z = modified_z(&x);
    all_close(&z, &case.expected_list("M"), 1e-8);
    let flagged: Vec<usize> = (0..z.len()).filter(|&i| z[i].abs() > 3.5).collect();
    assert_eq!(flagged, [7]);
}

/// NIST 7.1.6, whose quartiles are type 6; numpy for type 7.
#[test]
fn fences_of_both_quartile_definitions() {
    let case = Oracle::case("nist_fences");
    let x = ascending(case.input("x"));
    close(median(&x), case.expected("median"), 1e-12);
    let nist = fences(&x, Definition::Type6);
    let pair = |(low, high)| [low, high];
    all_close(&pair(nist.quartiles), &[case.expected("q1"), case.expected("q3")], 1e-12);
    all_close(&pair(nist.inner), &case.expected_list("inner"), 1e-12);
    all_close(&pair(nist.outer), &case.expected_list("outer"), 1e-12);
    let numpy = fences(&x, Definition::Type7);
    all_close(&pair(numpy.inner), &case.expected_list("type7/inner"), 1e-12);
    all_close(&pair(numpy.outer), &case.expected_list("type7/outer"), 1e-12);
    let mild: Vec<f64> = x.into_iter().filter(|&v| v < nist.inner.0 || v > nist.inner.1).collect();
    assert_eq!(mild, case.expected_list("mild"));
}

/// Rousseeuw & Croux 1993; R robustbase 0.95-0 (Qn constant 2.21914, Sn constant 1.1926).
#[test]
fn qn_and_sn_of_small_samples() {
    let ten = Oracle::case("qn_sn");
    let x = ten.input("x");
    close(qn_raw(&x), ten.expected("Qn_raw_const1_nocorr"), 1e-12);
    close(sn_raw(&x), ten.expected("Sn_raw"), 1e-12);
    close(qn(&x), ten.expected("Qn"), 1e-9);
    close(sn(&x), ten.expected("Sn"), 1e-9);

    let eight = Oracle::case("qn_sn_uranium");
    let x = eight.input("x");
    close(qn(&x), eight.expected("Qn"), 1e-9);
    close(sn(&x), eight.expected("Sn"), 1e-9);
    close(2.219_14 * qn_raw(&x), eight.expected("Qn_nocorr"), 1e-9);
    close(1.1926 * sn_raw(&x), eight.expected("Sn_nocorr"), 1e-9);

    let eleven = Oracle::case("qn_sn_squares_11");
    let x = eleven.input("x");
    close(qn_raw(&x), eleven.expected("Qn_raw"), 1e-12);
    close(sn_raw(&x), eleven.expected("Sn_raw"), 1e-12);
    close(qn(&x), eleven.expected("Qn"), 1e-9);
    close(sn(&x), eleven.expected("Sn"), 1e-9);
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
