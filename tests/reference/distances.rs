//! Scatter in several dimensions.

use teleassay::num::covariance::{Points, Scatter, ScatterError};
use teleassay::num::mcd::{FastMcd, Mcd, chi_squared_quantile, half_size};

use super::oracle::{Oracle, all_close, close, table};

/// FAST-MCD on a case's table, the number of dimensions being the first columns of it.
fn fit(case: &str, file: &str, dimensions: usize, search: FastMcd) -> (Oracle, Vec<f64>, Mcd) {
    let case = Oracle::case(case);
    let values = table(file, dimensions);
    let points = Points::new(&values, dimensions).unwrap_or_else(|e| panic!("{file}: {e}"));
    let mcd = search.fit(points).unwrap_or_else(|e| panic!("{file}: {e}"));
    let h = case.raw_input()["h"].as_u64().unwrap_or(0) as usize;
    assert_eq!(half_size(0.5, points.count(), dimensions), h);
    (case, values, mcd)
}

/// Rows beyond the 97.5 % ellipse of the robust and of the ordinary scatter.
fn flagged(values: &[f64], p: usize, mcd: &Mcd) -> (Vec<usize>, Vec<usize>) {
    let Ok(points) = Points::new(values, p) else { panic!("the table is finite") };
    let limit = chi_squared_quantile(0.975, p);
    let beyond = |distances: Vec<f64>| -> Vec<usize> {
        (0..points.count()).filter(|&i| distances[i] > limit).collect()
    };
    let Some(ordinary) = Scatter::of_all(points).ruler() else { panic!("not in a plane") };
    (beyond(mcd.ruler.squared_all(points)), beyond(ordinary.squared_all(points)))
}

/// Hawkins, Bradu & Kass 1984; R robustbase 0.95-0, covMcd(alpha = 0.5, nsamp = "exact").
/// Fourteen rows were made outlying; the ordinary covariance sees two of them.
#[test]
fn mcd_of_hawkins_bradu_kass() {
    let (case, values, mcd) = fit("mcd_hbk", "hbk.csv", 3, FastMcd::default());
    close(mcd.raw_log_determinant, case.expected("logdet_raw_n_minus_1"), 1e-10);
    all_close(&mcd.raw.centre, &case.expected_list("raw_center"), 1e-11);
    all_close(&mcd.scatter.centre, &case.expected_list("center"), 1e-11);
    let pair = |(a, b): (f64, f64)| [a, b];
    all_close(&pair(mcd.raw_factors), &case.expected_list("raw_cnp2"), 1e-10);
    all_close(&pair(mcd.factors), &case.expected_list("cnp2"), 1e-10);
    let (robust, ordinary) = flagged(&values, 3, &mcd);
    assert_eq!(robust, case.expected_rows("flagged_0.975"));
    assert_eq!(ordinary, case.expected_rows("classical_flagged"));
}

/// Rousseeuw 1984, modified wood gravity; R robustbase exact, scikit-learn finds the same subset.
/// Four rows were made outlying, and the ordinary covariance sees none of them.
#[test]
fn mcd_of_the_modified_wood_data() {
    let every_start = FastMcd { exhaustive: 40_000, ..FastMcd::default() };
    let (case, values, mcd) = fit("mcd_wood", "wood.csv", 5, every_start);
    close(mcd.raw_log_determinant, case.expected("logdet_raw_n_minus_1"), 1e-10);
    assert_eq!(mcd.best, case.expected_rows("best"));
    let (robust, ordinary) = flagged(&values, 5, &mcd);
    assert_eq!(robust, case.expected_rows("flagged_0.975"));
    assert_eq!(ordinary, case.expected_rows("classical_flagged"));
}

/// The same with random starts: whichever half they find, the planted rows must stand out.
#[test]
fn random_starts_flag_the_planted_wood_rows() {
    let (case, values, mcd) = fit("mcd_wood", "wood.csv", 5, FastMcd::default());
    let (robust, _) = flagged(&values, 5, &mcd);
    assert!(case.expected_rows("must_flag").iter().all(|row| robust.contains(row)), "{robust:?}");
}

/// Brownlee 1965; R robustbase exact, scikit-learn finds the same subset.
#[test]
fn mcd_of_the_stack_loss_data() {
    let every_start = FastMcd { exhaustive: 6_000, ..FastMcd::default() };
    let (case, values, mcd) = fit("mcd_stackloss", "stackloss.csv", 3, every_start);
    close(mcd.raw_log_determinant, case.expected("logdet_raw_n_minus_1"), 1e-10);
    assert_eq!(mcd.best, case.expected_rows("best"));
    all_close(&mcd.raw.centre, &case.expected_list("raw_center"), 1e-10);
    let (robust, ordinary) = flagged(&values, 3, &mcd);
    assert_eq!(robust, case.expected_rows("flagged_0.975"));
    assert_eq!(ordinary, case.expected_rows("classical_flagged"));
}

/// Johnson & Wichern, example 5.2: Hotelling's T squared is the squared distance of the supposed mean
/// from the measured one, times the number of points.
#[test]
fn a_distance_from_the_mean_is_hotellings() -> Result<(), ScatterError> {
    let case = Oracle::case("hotelling_sweat");
    let values = table("sweat.csv", 3);
    let points = Points::new(&values, 3)?;
    let scatter = Scatter::of_all(points);
    all_close(&scatter.centre, &case.expected_list("mean"), 1e-12);
    let Some(ruler) = scatter.ruler() else { panic!("not in a plane") };
    let squared = ruler.squared(&case.input("mu0"), &mut [0.0; 3]);
    close(points.count() as f64 * squared, case.expected("T2"), 1e-11);
    Ok(())
}

/// NIST `StRD`, Norris, certified: what a covariance says of a line through two coordinates.
#[test]
fn a_covariance_holds_the_certified_line() -> Result<(), ScatterError> {
    let case = Oracle::case("strd_norris");
    let values = table("norris.csv", 2);
    let scatter = Scatter::of_all(Points::new(&values, 2)?);
    let (x, y) = (scatter.covariance[(0, 0)], scatter.covariance[(1, 1)]);
    let both = scatter.covariance[(0, 1)];
    close(both / x, case.expected("b1"), 1e-13);
    close(scatter.centre[1] - both / x * scatter.centre[0], case.expected("b0"), 1e-11);
    close(both * both / (x * y), case.expected("r2"), 1e-13);
    Ok(())
}
