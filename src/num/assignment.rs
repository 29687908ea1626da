//! The assignment of rows to columns with the smallest cost.
//!
//! Source: Kuhn 1955, Naval Research Logistics Quarterly 2, 83-97, in the form with potentials and
//! shortest augmenting paths, O(n^3) (from memory). Proved here against all permutations.

/// For each of `n` rows the column it is given; each column is given once, and the sum of `cost`
/// over the pairs is smallest.
pub fn assign(n: usize, cost: impl Fn(usize, usize) -> f64) -> Vec<usize> {
    // Places are counted from 1; column 0 is where the row that is being placed waits.
    let (mut of_row, mut of_column) = (vec![0.0; n + 1], vec![0.0; n + 1]);
    let mut given = vec![0; n + 1];
    let mut path = vec![0; n + 1];
    for row in 1..=n {
        given[0] = row;
        let mut column = 0;
        let mut min = vec![f64::INFINITY; n + 1];
        let mut used = vec![false; n + 1];
        while given[column] != 0 {
            used[column] = true;
            let (from, mut step, mut next) = (given[column], f64::INFINITY, 0);
            for to in (1..=n).filter(|to| !used[*to]) {
                let reduced = cost(from - 1, to - 1) - of_row[from] - of_column[to];
                if reduced < min[to] {
                    (min[to], path[to]) = (reduced, column);
                }
                if min[to] < step {
                    (step, next) = (min[to], to);
                }
            }
            for to in 0..=n {
                if used[to] {
                    of_row[given[to]] += step;
                    of_column[to] -= step;
                } else {
                    min[to] -= step;
                }
            }
            column = next;
        }
        while column != 0 {
            given[column] = given[path[column]];
            column = path[column];
        }
    }
    let mut columns = vec![0; n];
    for column in 1..=n {
        columns[given[column] - 1] = column - 1;
    }
    columns
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sum of the best of all permutations.
    fn best(n: usize, row: usize, taken: u32, cost: &dyn Fn(usize, usize) -> f64) -> f64 {
        if row == n {
            return 0.0;
        }
        let free = (0..n).filter(|column| taken & (1 << column) == 0);
        free.map(|c| cost(row, c) + best(n, row + 1, taken | (1 << c), cost))
            .fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn no_permutation_costs_less() {
        for n in 1..=7usize {
            for seed in 0..20usize {
                let cost =
                    |i: usize, j: usize| ((i * 31 + j * 17 + seed * 7) * 7919 % 97) as f64 - 40.0;
                let found = assign(n, cost);
                let sum: f64 = found.iter().enumerate().map(|(i, j)| cost(i, *j)).sum();
                assert!((sum - best(n, 0, 0, &cost)).abs() < 1e-9, "{n} {seed}: {found:?}");
                let mut sorted = found;
                sorted.sort_unstable();
                assert_eq!(sorted, (0..n).collect::<Vec<_>>());
            }
        }
    }
}
