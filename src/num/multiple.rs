//! Many tests at once: adjusted p-values, in the order given.

/// Bonferroni: every p-value times their number. Bounds the probability of any false alarm.
pub fn bonferroni(p: &[f64]) -> Vec<f64> {
    let count = p.len() as f64;
    p.iter().map(|p| (p * count).min(1.0)).collect()
}

/// Holm 1979, Scandinavian Journal of Statistics 6, 65–70: as Bonferroni, never weaker.
pub fn holm(p: &[f64]) -> Vec<f64> {
    let order = ascending(p);
    let mut adjusted = vec![0.0; p.len()];
    let mut worst: f64 = 0.0;
    for (rank, &index) in order.iter().enumerate() {
        worst = worst.max((p[index] * (p.len() - rank) as f64).min(1.0));
        adjusted[index] = worst;
    }
    adjusted
}

/// Benjamini & Hochberg 1995, JRSS B 57, 289–300: holds the share of false alarms among alarms.
pub fn benjamini_hochberg(p: &[f64]) -> Vec<f64> {
    let order = ascending(p);
    let mut adjusted = vec![0.0; p.len()];
    let mut min: f64 = 1.0;
    for (rank, &index) in order.iter().enumerate().rev() {
        min = min.min(p[index] * p.len() as f64 / (rank + 1) as f64);
        adjusted[index] = min;
    }
    adjusted
}

fn ascending(p: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    order
}
