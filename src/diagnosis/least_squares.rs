//! Linear least squares by Householder reflections.
//!
//! Columns come first to last; one that the columns before it explain already is left out, and its
//! coefficient is unknown. Reflections keep the digits that normal equations lose.

/// Share of a column's length that must be left once the earlier columns are taken out of it.
const SMALLEST_REMAINDER: f64 = 1e-9;

/// A fitted linear model.
#[derive(Clone, Debug)]
pub struct LeastSquares {
    /// Which columns are in the model, ascending.
    kept: Vec<usize>,
    /// Upper triangle R of the kept columns, `r[j]` the j-th column's rows `0..=j`.
    r: Vec<Vec<f64>>,
    /// One per column given; `None` where it is left out.
    coefficients: Vec<Option<f64>>,
    residual_sum_of_squares: f64,
    rows: usize,
}

impl LeastSquares {
    /// Fits `y ≈ Σ coefficient · column`. There is no intercept unless a column of ones is given.
    ///
    /// `None` unless there are more rows than columns that count, and all columns are as long as `y`.
    ///
    /// # Source
    ///
    /// A. S. Householder, "Unitary triangularization of a nonsymmetric matrix", Journal of the ACM,
    /// vol. 5, 1958.
    pub fn fit(columns: &[Vec<f64>], y: &[f64]) -> Option<LeastSquares> {
        let rows = y.len();
        if columns.iter().any(|column| column.len() != rows) {
            return None;
        }
        let mut turned = y.to_vec();
        let mut reflections: Vec<Vec<f64>> = Vec::new();
        let mut kept = Vec::new();
        let mut r: Vec<Vec<f64>> = Vec::new();
        for (index, column) in columns.iter().enumerate() {
            let length = norm(column);
            let mut work = column.clone();
            for (step, reflection) in reflections.iter().enumerate() {
                reflect(reflection, &mut work[step..]);
            }
            let step = reflections.len();
            if step >= rows {
                break;
            }
            let left = norm(&work[step..]);
            if length <= 0.0 || left <= SMALLEST_REMAINDER * length {
                continue;
            }
            let diagonal = if work[step] > 0.0 { -left } else { left };
            let mut reflection = work[step..].to_vec();
            reflection[0] -= diagonal;
            normalise(&mut reflection);
            reflect(&reflection, &mut turned[step..]);
            work.truncate(step);
            work.push(diagonal);
            r.push(work);
            kept.push(index);
            reflections.push(reflection);
        }
        if kept.len() >= rows {
            return None;
        }
        let solution = back_substitute(&r, &turned[..kept.len()]);
        let mut coefficients = vec![None; columns.len()];
        for (&index, value) in kept.iter().zip(solution) {
            coefficients[index] = Some(value);
        }
        let residual_sum_of_squares = turned[kept.len()..].iter().map(|v| v * v).sum();
        Some(LeastSquares {
            kept,
            r,
            coefficients,
            residual_sum_of_squares,
            rows,
        })
    }

    /// One coefficient per column; `None` where earlier columns explain the column already.
    pub fn coefficients(&self) -> &[Option<f64>] {
        &self.coefficients
    }

    /// Sum of the squared residuals.
    pub fn residual_sum_of_squares(&self) -> f64 {
        self.residual_sum_of_squares
    }

    /// Rows less columns that count.
    pub fn degrees_of_freedom(&self) -> usize {
        self.rows - self.kept.len()
    }

    /// Residual standard deviation.
    pub fn residual_deviation(&self) -> f64 {
        (self.residual_sum_of_squares / self.degrees_of_freedom() as f64).sqrt()
    }

    /// `(XᵀX)⁻¹·a` over all columns, nought where a column is left out; `None` where `a` asks for a
    /// column that is left out. Its product with a row of X is that row's weight in the estimate `aᵀβ`.
    pub fn influence(&self, a: &[f64]) -> Option<Vec<f64>> {
        let asked_out = a
            .iter()
            .enumerate()
            .any(|(index, &weight)| weight != 0.0 && !self.kept.contains(&index));
        if asked_out {
            return None;
        }
        // RᵀR x = a, first Rᵀ v = a, then R x = v.
        let mut v: Vec<f64> = Vec::with_capacity(self.kept.len());
        for (column, &index) in self.r.iter().zip(&self.kept) {
            let known: f64 = v.iter().zip(column).map(|(v, r)| v * r).sum();
            v.push((a[index] - known) / column[v.len()]);
        }
        let mut influence = vec![0.0; a.len()];
        for (&index, value) in self.kept.iter().zip(back_substitute(&self.r, &v)) {
            influence[index] = value;
        }
        Some(influence)
    }

    /// Standard error of a coefficient where all residuals have one deviation and are independent.
    pub fn standard_error(&self, column: usize) -> Option<f64> {
        let mut a = vec![0.0; self.coefficients.len()];
        *a.get_mut(column)? = 1.0;
        let variance = self.influence(&a)?[column];
        Some(self.residual_deviation() * variance.max(0.0).sqrt())
    }
}

fn norm(values: &[f64]) -> f64 {
    values.iter().map(|v| v * v).sum::<f64>().sqrt()
}

fn normalise(values: &mut [f64]) {
    let length = norm(values);
    for value in values {
        *value /= length;
    }
}

/// Mirrors `values` on the plane whose unit normal is `normal`.
fn reflect(normal: &[f64], values: &mut [f64]) {
    let along: f64 = normal.iter().zip(values.iter()).map(|(n, v)| n * v).sum();
    for (value, n) in values.iter_mut().zip(normal) {
        *value -= 2.0 * along * n;
    }
}

fn back_substitute(r: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let mut x = right.to_vec();
    for j in (0..r.len()).rev() {
        x[j] /= r[j][j];
        let solved = x[j];
        for (i, entry) in r[j][..j].iter().enumerate() {
            x[i] -= entry * solved;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    /// Certified by NIST StRD, linear least squares, Norris (36 readings of ozone monitors).
    #[test]
    fn norris_agrees_with_the_certified_values() {
        let x = [
            0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6,
            775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8,
            339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
        ];
        let y = [
            0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1,
            778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6,
            339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
        ];
        let fit = LeastSquares::fit(&[vec![1.0; 36], x.to_vec()], &y).expect("36 rows");
        let b = fit.coefficients();
        assert_relative_eq!(
            b[0].expect("kept"),
            -0.262323073774029,
            max_relative = 1e-12
        );
        assert_relative_eq!(b[1].expect("kept"), 1.00211681802045, max_relative = 1e-13);
        let error = |column| fit.standard_error(column).expect("kept");
        assert_relative_eq!(error(0), 0.232818234301152, max_relative = 1e-12);
        assert_relative_eq!(error(1), 0.429796848199937e-3, max_relative = 1e-12);
        assert_relative_eq!(
            fit.residual_deviation(),
            0.884796396144373,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            fit.residual_sum_of_squares(),
            26.6173985294224,
            max_relative = 1e-12
        );
    }

    /// Certified by NIST StRD, NoInt1: a line through the origin.
    #[test]
    fn noint1_agrees_with_the_certified_values() {
        let x: Vec<f64> = (60..=70).map(f64::from).collect();
        let y: Vec<f64> = (130..=140).map(f64::from).collect();
        let fit = LeastSquares::fit(&[x], &y).expect("11 rows");
        assert_relative_eq!(
            fit.coefficients()[0].expect("kept"),
            2.07438016528926,
            max_relative = 1e-13
        );
        assert_relative_eq!(
            fit.standard_error(0).expect("kept"),
            0.0165289256198347,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            fit.residual_deviation(),
            3.56753034006338,
            max_relative = 1e-12
        );
        assert_eq!(fit.degrees_of_freedom(), 10);
    }

    /// NIST StRD, Wampler1: y = 1 + x + … + x⁵ for x = 0 … 20; every coefficient is 1.
    #[test]
    fn wampler1_is_fitted_exactly() {
        let x: Vec<f64> = (0..=20).map(f64::from).collect();
        let columns: Vec<Vec<f64>> = (0..=5)
            .map(|power| x.iter().map(|x| x.powi(power)).collect())
            .collect();
        let y: Vec<f64> = (0..21)
            .map(|row| columns.iter().map(|column| column[row]).sum())
            .collect();
        let fit = LeastSquares::fit(&columns, &y).expect("21 rows");
        for coefficient in fit.coefficients() {
            assert_relative_eq!(coefficient.expect("kept"), 1.0, max_relative = 1e-8);
        }
    }

    #[test]
    fn a_column_that_others_explain_is_left_out() {
        let first: Vec<f64> = (0..9).map(f64::from).collect();
        let twice: Vec<f64> = first.iter().map(|v| 2.0 * v).collect();
        let ones = vec![1.0; 9];
        let y: Vec<f64> = first.iter().map(|v| 3.0 + 0.5 * v).collect();
        let fit = LeastSquares::fit(&[first, twice, ones], &y).expect("9 rows");
        assert_eq!(fit.coefficients()[1], None);
        assert_eq!(fit.influence(&[0.0, 1.0, 0.0]), None);
        assert_relative_eq!(
            fit.coefficients()[0].expect("kept"),
            0.5,
            max_relative = 1e-12
        );
        assert!(LeastSquares::fit(&[vec![1.0]], &[2.0]).is_none());
        assert!(LeastSquares::fit(&[vec![1.0; 3]], &[2.0; 4]).is_none());
    }
}
