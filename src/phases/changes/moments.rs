//! Weighted second moments of all columns, gathered in one pass.

/// Sums of products of every pair of columns, each column less its mean.
#[derive(Clone, Debug)]
pub(super) struct Moments {
    /// Series of the loads.
    pub(super) features: usize,
    /// Channels of the supply.
    pub(super) channels: usize,
    /// Rows that entered.
    pub(super) rows: f64,
    /// Of columns less their means, row by row over features and channels.
    products: Vec<f64>,
    /// Weighted mean of each column.
    pub(super) means: Vec<f64>,
}

impl Moments {
    /// Sum of products of two series of loads.
    pub(super) fn of_features(&self, one: usize, other: usize) -> f64 {
        self.products[one * (self.features + self.channels) + other]
    }

    /// The row of a series of a load: its products with all features, then with all channels.
    pub(super) fn row(&self, feature: usize) -> &[f64] {
        let width = self.features + self.channels;
        &self.products[feature * width..(feature + 1) * width]
    }

    /// Sum of products of two channels.
    pub(super) fn of_channels(&self, one: usize, other: usize) -> f64 {
        self.products
            [(self.features + one) * (self.features + self.channels) + self.features + other]
    }
}

/// Gathers moments tile by tile.
#[derive(Debug)]
pub(super) struct MomentSums {
    features: usize,
    channels: usize,
    rows: usize,
    weight: f64,
    sums: Vec<f64>,
    products: Vec<f64>,
}

/// Scatter of a column, as a share of its sum of squares, that single precision resolves; with less it does not change.
const RESOLVED: f64 = 1e-6;
/// Columns that are multiplied with each other at a time.
const BLOCK: usize = 4;
/// Values that one step of a loop takes.
const LANES: usize = 4;

impl MomentSums {
    pub(super) fn new(features: usize, channels: usize) -> MomentSums {
        let width = features + channels;
        MomentSums {
            features,
            channels,
            rows: 0,
            weight: 0.0,
            sums: vec![0.0; width],
            products: vec![0.0; width * width],
        }
    }

    /// Adds so many rows, given column by column, each row with its weight.
    pub(super) fn add(&mut self, columns: &[f32], weights: &[f32]) {
        let rows = weights.len();
        let width = self.features + self.channels;
        // Padded with zeros, so that the loops below have no remainder.
        let padded_rows = rows.div_ceil(LANES) * LANES;
        let padded_width = width.div_ceil(BLOCK) * BLOCK;
        let mut scaled = vec![0.0_f32; padded_rows * padded_width];
        for column in 0..width {
            let from = &columns[column * rows..(column + 1) * rows];
            let to = &mut scaled[column * padded_rows..column * padded_rows + rows];
            let mut sum = 0.0;
            for ((to, value), weight) in to.iter_mut().zip(from).zip(weights) {
                sum += f64::from(*value) * f64::from(*weight);
                *to = value * weight.sqrt();
            }
            self.sums[column] += sum;
        }
        for first in (0..padded_width).step_by(BLOCK) {
            for second in (first..padded_width).step_by(BLOCK) {
                let found = block(&scaled, padded_rows, first, second);
                for (i, row) in found.iter().enumerate() {
                    for (j, sum) in row.iter().enumerate() {
                        if first + i < width && second + j < width {
                            self.products[(first + i) * width + second + j] += f64::from(*sum);
                        }
                    }
                }
            }
        }
        self.rows += rows;
        self.weight += weights.iter().map(|weight| f64::from(*weight)).sum::<f64>();
    }

    /// Adds what another has gathered.
    pub(super) fn merge(&mut self, other: &MomentSums) {
        self.rows += other.rows;
        self.weight += other.weight;
        for (own, more) in self.sums.iter_mut().zip(&other.sums) {
            *own += more;
        }
        for (own, more) in self.products.iter_mut().zip(&other.products) {
            *own += more;
        }
    }

    /// The moments about the means.
    pub(super) fn finish(mut self) -> Moments {
        let width = self.features + self.channels;
        let weight = self.weight.max(f64::MIN_POSITIVE);
        let raw: Vec<f64> = (0..width)
            .map(|column| self.products[column * width + column])
            .collect();
        for one in 0..width {
            for other in one..width {
                let about =
                    self.products[one * width + other] - self.sums[one] * self.sums[other] / weight;
                self.products[one * width + other] = about;
                self.products[other * width + one] = about;
            }
        }
        for (column, raw) in raw.into_iter().enumerate() {
            if self.products[column * width + column] <= RESOLVED * raw {
                for other in 0..width {
                    self.products[column * width + other] = 0.0;
                    self.products[other * width + column] = 0.0;
                }
            }
        }
        Moments {
            features: self.features,
            channels: self.channels,
            rows: self.rows as f64,
            means: self.sums.iter().map(|sum| sum / weight).collect(),
            products: self.products,
        }
    }
}

/// Products of four columns with four others.
fn block(scaled: &[f32], rows: usize, first: usize, second: usize) -> [[f32; BLOCK]; BLOCK] {
    let column = |at: usize| &scaled[at * rows..(at + 1) * rows];
    let a: [&[f32]; BLOCK] = std::array::from_fn(|i| column(first + i));
    let b: [&[f32]; BLOCK] = std::array::from_fn(|j| column(second + j));
    let mut sums = [[[0.0_f32; LANES]; BLOCK]; BLOCK];
    for at in (0..rows).step_by(LANES) {
        let right: [[f32; LANES]; BLOCK] =
            std::array::from_fn(|j| std::array::from_fn(|lane| b[j][at + lane]));
        for (row, column) in sums.iter_mut().zip(&a) {
            let left: [f32; LANES] = std::array::from_fn(|lane| column[at + lane]);
            for (sum, right) in row.iter_mut().zip(&right) {
                for lane in 0..LANES {
                    sum[lane] += left[lane] * right[lane];
                }
            }
        }
    }
    sums.map(|row| row.map(|lanes| lanes.iter().sum()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two series and a channel over five rows, by hand: weights 1, 1, 1, 1, 2.
    #[test]
    fn moments_are_about_the_weighted_means() {
        let a = [1.0_f32, 2.0, 3.0, 4.0, 4.0];
        let b = [2.0_f32, 0.0, 2.0, 0.0, 1.0];
        let y = [1.0_f32, 1.0, 1.0, 1.0, 4.0];
        let columns = [&a[..], &b[..], &y[..]].concat();
        let mut halves = MomentSums::new(2, 1);
        halves.add(&columns, &[1.0, 1.0, 1.0, 1.0, 2.0]);
        let moments = halves.finish();
        // Means (1+2+3+4+8)/6 = 3, (2+2+2)/6 = 1, (4+8)/6 = 2.
        for (mean, by_hand) in moments.means.iter().zip([3.0, 1.0, 2.0]) {
            assert!((mean - by_hand).abs() < 1e-6);
        }
        // Σ w a² − 6·9 = 1+4+9+16+32 − 54; Σ w a b − 6·3 = 2+6+8 − 18; Σ w a y − 6·6 = 10+32 − 36.
        assert!((moments.of_features(0, 0) - 8.0).abs() < 1e-5);
        assert!((moments.of_features(1, 0) + 2.0).abs() < 1e-5);
        assert!((moments.row(0)[2] - 6.0).abs() < 1e-5);
        // Σ w y² − 6·4 = 4 + 32 − 24.
        assert!((moments.of_channels(0, 0) - 12.0).abs() < 1e-5);
        assert!((moments.rows - 5.0).abs() < 1e-12);
    }

    /// A load that draws the same all the time says nothing, not what rounding makes of it.
    #[test]
    fn what_never_changes_has_no_moments() {
        let constant = vec![-3.559_34_f32; 575];
        let changing: Vec<f32> = (0..575).map(|row| (row % 7) as f32).collect();
        let weights: Vec<f32> = (0..575).map(|row| 0.1 + (row % 5) as f32).collect();
        let mut sums = MomentSums::new(1, 1);
        sums.add(&[constant, changing].concat(), &weights);
        let moments = sums.finish();
        assert_eq!(moments.row(0), [0.0, 0.0]);
        assert!(moments.of_channels(0, 0) > 1.0);
    }
}
