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

    /// `(XᵀX)⁻¹·a` over all columns, zero where a column is left out; `None` where `a` asks for a
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

    /// `aᵀ(XᵀX)⁻¹a`: variance of the estimate `aᵀβ` in units of the residual variance; `None` as for
    /// [`influence`](Self::influence).
    pub fn leverage(&self, a: &[f64]) -> Option<f64> {
        let influence = self.influence(a)?;
        let product: f64 = a.iter().zip(&influence).map(|(a, w)| a * w).sum();
        Some(product.max(0.0))
    }

    /// Standard error of a coefficient where all residuals have one deviation and are independent.
    pub fn standard_error(&self, column: usize) -> Option<f64> {
        let mut a = vec![0.0; self.coefficients.len()];
        *a.get_mut(column)? = 1.0;
        Some(self.residual_deviation() * self.leverage(&a)?.sqrt())
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
        let line: Vec<f64> = x
            .iter()
            .map(|x| b[0].unwrap_or(f64::NAN) + b[1].unwrap_or(f64::NAN) * x)
            .collect();
        assert_relative_eq!(
            crate::r_squared(&y, &line).expect("values that differ"),
            0.999993745883712,
            max_relative = 1e-14
        );
        let mean = y.iter().sum::<f64>() / 36.0;
        let explained: f64 = line.iter().map(|fitted| (fitted - mean).powi(2)).sum();
        let residual = fit.residual_deviation().powi(2);
        assert_relative_eq!(explained, 4255954.13232369, max_relative = 1e-13);
        assert_relative_eq!(residual, 0.782864662630069, max_relative = 1e-12);
        assert_relative_eq!(explained / residual, 5436385.54079785, max_relative = 1e-12);
    }

    /// Certified by NIST StRD, Longley (16 years of employment, six variables that rise together): a computation by
    /// normal equations keeps a digit or none of it. Data and certified values from memory, which each other confirm.
    #[test]
    fn longley_agrees_with_the_certified_values() {
        let y = [
            60323.0, 61122.0, 60171.0, 61187.0, 63221.0, 63639.0, 64989.0, 63761.0, 66019.0,
            67857.0, 68169.0, 66513.0, 68655.0, 69564.0, 69331.0, 70551.0,
        ];
        let variables: [[f64; 16]; 5] = [
            [
                83.0, 88.5, 88.2, 89.5, 96.2, 98.1, 99.0, 100.0, 101.2, 104.6, 108.4, 110.8, 112.6,
                114.2, 115.7, 116.9,
            ],
            [
                234289.0, 259426.0, 258054.0, 284599.0, 328975.0, 346999.0, 365385.0, 363112.0,
                397469.0, 419180.0, 442769.0, 444546.0, 482704.0, 502601.0, 518173.0, 554894.0,
            ],
            [
                2356.0, 2325.0, 3682.0, 3351.0, 2099.0, 1932.0, 1870.0, 3578.0, 2904.0, 2822.0,
                2936.0, 4681.0, 3813.0, 3931.0, 4806.0, 4007.0,
            ],
            [
                1590.0, 1456.0, 1616.0, 1650.0, 3099.0, 3594.0, 3547.0, 3350.0, 3048.0, 2857.0,
                2798.0, 2637.0, 2552.0, 2514.0, 2572.0, 2827.0,
            ],
            [
                107608.0, 108632.0, 109773.0, 110929.0, 112075.0, 113270.0, 115094.0, 116219.0,
                117388.0, 118734.0, 120445.0, 121950.0, 123366.0, 125368.0, 127852.0, 130081.0,
            ],
        ];
        let mut columns = vec![vec![1.0; 16]];
        columns.extend(variables.iter().map(|variable| variable.to_vec()));
        columns.push((1947..=1962).map(f64::from).collect());
        let fit = LeastSquares::fit(&columns, &y).expect("16 rows");
        let certified = [
            (-3482258.63459582, 890420.383607373),
            (15.0618722713733, 84.9149257747669),
            (-0.358191792925910e-1, 0.334910077722432e-1),
            (-2.02022980381683, 0.488399681651699),
            (-1.03322686717359, 0.214274163161675),
            (-0.511041056535807e-1, 0.226073200069370),
            (1829.15146461355, 455.478499142212),
        ];
        for (column, (coefficient, error)) in certified.into_iter().enumerate() {
            let found = fit.coefficients()[column].expect("kept");
            assert_relative_eq!(found, coefficient, max_relative = 1e-8);
            let found = fit.standard_error(column).expect("kept");
            assert_relative_eq!(found, error, max_relative = 1e-8);
        }
        assert_relative_eq!(
            fit.residual_deviation(),
            304.854073561965,
            max_relative = 1e-10
        );
        assert_relative_eq!(
            fit.residual_sum_of_squares(),
            836424.055505915,
            max_relative = 1e-10
        );
        assert_eq!(fit.degrees_of_freedom(), 9);
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
        // Without a constant the explained part is counted from zero.
        let squares: f64 = y.iter().map(|y| y * y).sum();
        let left = fit.residual_sum_of_squares();
        assert_relative_eq!(
            1.0 - left / squares,
            0.999365492298663,
            max_relative = 1e-14
        );
        assert_relative_eq!(
            (squares - left) / (left / 10.0),
            15750.25,
            max_relative = 1e-12
        );
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

    /// NIST StRD, univariate, NumAcc1 to NumAcc4 (the last from memory): a constant alone is the mean, and its residual
    /// deviation the sample's, where the mean of the squares less the square of the mean keeps no digit.
    #[test]
    fn mean_and_deviation_of_large_numbers_that_hardly_differ() {
        let around = |middle: f64| -> Vec<f64> {
            let pairs = (0..500).flat_map(|_| [middle - 0.1, middle + 0.1]);
            std::iter::once(middle).chain(pairs).collect()
        };
        let whole = vec![10_000_001.0, 10_000_003.0, 10_000_002.0];
        // A value near 10⁷ is held to 2·10⁻⁹, its distance from the mean no better.
        for (values, mean, deviation, digits) in [
            (whole, 10_000_002.0, 1.0, 1e-8),
            (around(1.2), 1.2, 0.1, 1e-12),
            (around(1_000_000.2), 1_000_000.2, 0.1, 1e-8),
            (around(10_000_000.2), 10_000_000.2, 0.1, 1e-7),
        ] {
            let ones = vec![1.0; values.len()];
            let fit = LeastSquares::fit(&[ones], &values).expect("more than one");
            let found = fit.coefficients()[0].expect("kept");
            assert_relative_eq!(found, mean, max_relative = 1e-14);
            assert_relative_eq!(fit.residual_deviation(), deviation, max_relative = digits);
        }
    }

    /// Volts of a supply at 5 to 60 A: 240.596 V behind 0.273 17 Ω; derived, in exact fractions.
    #[test]
    fn a_supply_behind_its_resistance() {
        let amps = vec![5.0, 10.0, 20.0, 40.0, 60.0];
        let volts = [239.1, 237.9, 235.2, 229.8, 224.1];
        let fit = LeastSquares::fit(&[vec![1.0; 5], amps], &volts).expect("5 rows");
        let [Some(open), Some(slope)] = fit.coefficients() else {
            panic!("{fit:?}");
        };
        assert_relative_eq!(*open, 240.59567307692308, max_relative = 1e-12);
        assert_relative_eq!(*slope, -0.2731730769230769, max_relative = 1e-12);
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
