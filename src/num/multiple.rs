//! Many tests at once: adjusted p-values, in the order given.

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

fn ascending(p: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    order
}
