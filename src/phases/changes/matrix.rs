//! Small symmetric matrices, row by row in one list.

use statistics::Random;

/// Lower triangle L with L·Lᵀ = `matrix`; `None` unless it is positive definite.
pub(super) fn cholesky(matrix: &[f64], size: usize) -> Option<Vec<f64>> {
    let mut lower = vec![0.0; size * size];
    for row in 0..size {
        for column in 0..=row {
            let known: f64 = (0..column)
                .map(|k| lower[row * size + k] * lower[column * size + k])
                .sum();
            let left = matrix[row * size + column] - known;
            if row == column {
                if left <= 0.0 || !left.is_finite() {
                    return None;
                }
                lower[row * size + row] = left.sqrt();
            } else {
                lower[row * size + column] = left / lower[column * size + column];
            }
        }
    }
    Some(lower)
}

/// Inverse of a lower triangle.
fn inverse_of_lower(lower: &[f64], size: usize) -> Vec<f64> {
    let mut inverse = vec![0.0; size * size];
    for column in 0..size {
        inverse[column * size + column] = lower[column * size + column].recip();
        for row in column + 1..size {
            let sum: f64 = (column..row)
                .map(|k| lower[row * size + k] * inverse[k * size + column])
                .sum();
            inverse[row * size + column] = -sum / lower[row * size + row];
        }
    }
    inverse
}

/// Inverse of a positive definite matrix.
pub(crate) fn inverse(matrix: &[f64], size: usize) -> Option<Vec<f64>> {
    let below = inverse_of_lower(&cholesky(matrix, size)?, size);
    let entry = |row: usize, column: usize| {
        (row.max(column)..size)
            .map(|k| below[k * size + row] * below[k * size + column])
            .sum()
    };
    Some(
        (0..size * size)
            .map(|at| entry(at / size, at % size))
            .collect(),
    )
}

/// A draw from the Wishart distribution with so many degrees of freedom and the inverse of `scatter` as its scale
/// (M. S. Bartlett, 1933).
pub(super) fn wishart(
    scatter: &[f64],
    size: usize,
    degrees: f64,
    random: &mut Random,
) -> Option<Vec<f64>> {
    let scale = cholesky(&inverse(scatter, size)?, size)?;
    let mut triangle = vec![0.0; size * size];
    for row in 0..size {
        triangle[row * size + row] = (2.0 * random.gamma((degrees - row as f64) / 2.0)).sqrt();
        for column in 0..row {
            triangle[row * size + column] = random.normal();
        }
    }
    let product = |row: usize, column: usize| -> f64 {
        (column..=row)
            .map(|k| scale[row * size + k] * triangle[k * size + column])
            .sum()
    };
    let half: Vec<f64> = (0..size * size)
        .map(|at| product(at / size, at % size))
        .collect();
    let entry = |row: usize, column: usize| {
        (0..size)
            .map(|k| half[row * size + k] * half[column * size + k])
            .sum()
    };
    Some(
        (0..size * size)
            .map(|at| entry(at / size, at % size))
            .collect(),
    )
}

/// Logarithm of the determinant of a positive definite matrix.
pub(crate) fn log_determinant(matrix: &[f64], size: usize) -> Option<f64> {
    let lower = cholesky(matrix, size)?;
    Some(
        (0..size)
            .map(|k| 2.0 * lower[k * size + k].ln())
            .sum::<f64>(),
    )
}

/// vᵀ·M·v.
pub(crate) fn quadratic(matrix: &[f64], vector: &[f64]) -> f64 {
    let size = vector.len();
    let mut sum = 0.0;
    for row in 0..size {
        for column in 0..size {
            sum += vector[row] * matrix[row * size + column] * vector[column];
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// [[4, 2], [2, 3]] has determinant 8 and inverse [[3, −2], [−2, 4]]/8.
    #[test]
    fn a_two_by_two_matrix_by_hand() {
        let matrix = [4.0, 2.0, 2.0, 3.0];
        let found = inverse(&matrix, 2).expect("positive definite");
        for (found, by_hand) in found.iter().zip([0.375, -0.25, -0.25, 0.5]) {
            assert!((found - by_hand).abs() < 1e-12);
        }
        let log = log_determinant(&matrix, 2).expect("positive definite");
        assert!((log - 8.0_f64.ln()).abs() < 1e-12);
        assert!((quadratic(&matrix, &[1.0, 2.0]) - 24.0).abs() < 1e-12);
        assert!(cholesky(&[1.0, 2.0, 2.0, 1.0], 2).is_none());
    }

    /// The mean of the distribution is degrees × scale.
    #[test]
    fn draws_scatter_about_their_mean() {
        let mut random = Random::new(5);
        let scatter = [4.0, 2.0, 2.0, 3.0];
        let mut mean = [0.0; 4];
        for _ in 0..4000 {
            let draw = wishart(&scatter, 2, 6.0, &mut random).expect("positive definite");
            for (mean, drawn) in mean.iter_mut().zip(draw) {
                *mean += drawn / 4000.0;
            }
        }
        for (mean, expected) in mean.iter().zip([2.25, -1.5, -1.5, 3.0]) {
            assert!((mean - expected).abs() < 0.1, "{mean} {expected}");
        }
    }
}
