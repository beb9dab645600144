//! How far prices went along with something else, so that the two cannot be told apart.

use super::survival::solve;

/// The share of the variance of `of` that these columns explain by least squares, all offers alike; 1 where nothing varies.
pub(super) fn explained(of: &[f64], columns: &[Vec<f64>]) -> f64 {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let n = of.len() as f64;
    let mean = of.iter().sum::<f64>() / n;
    let off: Vec<f64> = of.iter().map(|v| v - mean).collect();
    let total = dot(&off, &off);
    if total <= 1e-18 * n {
        return 1.0;
    }
    // Columns about their means, each of length one; those that only repeat others are left out by a hair of ridge.
    let centred: Vec<Vec<f64>> = columns
        .iter()
        .filter_map(|column| {
            let mean = column.iter().sum::<f64>() / n;
            let off: Vec<f64> = column.iter().map(|v| v - mean).collect();
            let length = libm::sqrt(dot(&off, &off));
            (length > 1e-9).then(|| off.iter().map(|v| v / length).collect())
        })
        .collect();
    let matrix: Vec<Vec<f64>> = (0..centred.len())
        .map(|i| {
            (0..centred.len())
                .map(|j| dot(&centred[i], &centred[j]) + if i == j { 1e-9 } else { 0.0 })
                .collect()
        })
        .collect();
    let right: Vec<f64> = centred.iter().map(|column| dot(column, &off)).collect();
    solve(&matrix, &right).map_or(0.0, |b| (dot(&b, &right) / total).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_goes_along_is_explained() {
        let of = [1.0, 2.0, 3.0, 4.0];
        assert!((explained(&of, &[vec![2.0, 4.0, 6.0, 8.0]]) - 1.0).abs() < 1e-6);
        assert!(explained(&of, &[vec![1.0, -1.0, -1.0, 1.0]]) < 1e-12);
        // Two groups with means 1.5 and 3.5: 4 of 5.
        assert!((explained(&of, &[vec![0.0, 0.0, 1.0, 1.0], vec![1.0, 1.0, 0.0, 0.0]]) - 0.8).abs() < 1e-6);
        assert_eq!(explained(&[2.0, 2.0], &[vec![0.0, 1.0]]), 1.0);
    }
}
