//! Straight lines.

use teleassay::num::change_point::{change_p_value, running_sums, two_levels};
use teleassay::num::theil_sen::{theil_sen, trend_p_value};

use super::oracle::{Oracle, all_close, close, table};

/// Sen 1968, JASA 63:1379; scipy's theilslopes.
#[test]
fn the_slope_of_sen_1968() {
    let case = Oracle::case("theil_sen_1968");
    let (x, y) = (case.input("x"), case.input("y"));
    let Some(fit) = theil_sen(&x, &y, 0.93) else { panic!("x varies") };
    close(fit.slope, case.expected("slope"), 1e-14);
    close(fit.residual_intercept, case.expected("intercept_joint"), 1e-14);
    close(fit.intercept, case.expected("intercept_separate"), 1e-14);
    all_close(&[fit.interval.0, fit.interval.1], &case.expected_list("ci"), 1e-14);
}

/// NIST/SEMATECH e-Handbook 6.3.2.3: twenty means about a target of 325, to the printed digits.
#[test]
fn the_handbooks_sums_about_a_target() {
    let case = Oracle::case("cusum_nist");
    let x = case.input("x");
    let target = case.raw_input()["target"].as_f64().unwrap_or(f64::NAN);
    let sums: Vec<f64> = running_sums(&x, target).collect();
    all_close(&sums, &case.expected_list("cusum"), 1e-11);
    // The level rose where the chart signals, after the 12th mean.
    let Some(found) = two_levels(&x, 4) else { panic!("twenty means have levels") };
    assert_eq!(found.at, 12);
}

/// The Nile at Aswan, 1871 to 1970: Cobb 1978; the changepoint package of R, ruptures 1.1.10.
#[test]
fn the_nile_fell_after_twenty_eight_years() {
    let case = Oracle::case("nile_changepoint");
    let nile = table("nile.csv", 1);
    assert_eq!(nile.len(), 100);
    let Some(found) = two_levels(&nile, 1) else { panic!("a hundred years have levels") };
    close(found.at as f64, case.expected("changepoint_after_index"), 0.0);
    close(found.means.0, case.expected("mean_before"), 1e-14);
    close(found.means.1, case.expected("mean_after"), 1e-14);
    close(found.squares.0, case.expected("cost_none"), 1e-14);
    close(found.squares.1, case.expected("cost_one"), 1e-14);
    // The sums about the mean of all years turn there too.
    let mean = nile.iter().sum::<f64>() / 100.0;
    let sums: Vec<f64> = running_sums(&nile, mean).collect();
    let turn = (0..100).max_by(|&a, &b| sums[a].abs().total_cmp(&sums[b].abs()));
    assert_eq!(turn, Some(27));
    // scipy 1.17.1, mannwhitneyu(nile[:28], nile[28:], method="asymptotic"): 5.527513e-10; of 99
    // places. The rank test is clearest there too.
    close(change_p_value(&nile, 1) / 99.0 / 5.527_513_236_924_095e-10, 1.0, 1e-6);
    // scipy 1.17.1, kendalltau(years, nile, method="asymptotic"), without the continuity
    // correction, which makes it 1.3 % more here: 3.61e-5.
    close(trend_p_value(&nile) / 3.611_179_9e-5, 1.0, 0.02);
}
