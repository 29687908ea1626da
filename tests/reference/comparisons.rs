//! Many tests at once.

use teleassay::num::multiple::{benjamini_hochberg, bonferroni, holm};

use super::oracle::{Oracle, all_close, close};

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
