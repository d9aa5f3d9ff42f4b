//! What the loads leave of the supply, and the moments of all rows weighted by how unusual that is.

use rayon::prelude::*;

use super::chain::ConnectionChain;
use super::innovations::Lens;
use super::matrix::quadratic;
use super::moments::{MomentSums, Moments};
use super::scale::expected_scale;

/// Tiles that one core works on at a time. Fixed, so that sums do not depend on the number of cores.
const TOGETHER: usize = 64;

/// What the loads leave of the channels in a row, and how unusual that is.
pub(super) struct Leftover {
    shares: Vec<f64>,
    means: Vec<f64>,
    precision: Vec<f64>,
    features: usize,
    channels: usize,
}

impl Leftover {
    pub(super) fn of(chain: &ConnectionChain<'_>, moments: &Moments) -> Leftover {
        let (features, channels) = (moments.features, moments.channels);
        let mut means = moments.means[features..].to_vec();
        for feature in 0..features {
            for (channel, mean) in means.iter_mut().enumerate() {
                *mean -= chain.shares[feature * channels + channel] * moments.means[feature];
            }
        }
        Leftover {
            shares: chain.shares.clone(),
            means,
            precision: chain.precision.clone(),
            features,
            channels,
        }
    }

    /// Squared distance from zero of each row, in units of the covariance.
    fn distances(&self, columns: &[f32], rows: usize) -> Vec<f64> {
        let mut left: Vec<Vec<f32>> = (0..self.channels)
            .map(|channel| {
                let own = &columns[(self.features + channel) * rows..][..rows];
                let mean = self.means[channel] as f32;
                own.iter().map(|value| value - mean).collect()
            })
            .collect();
        for feature in 0..self.features {
            let own = &columns[feature * rows..][..rows];
            for (channel, left) in left.iter_mut().enumerate() {
                let share = self.shares[feature * self.channels + channel] as f32;
                if share != 0.0 {
                    for (left, value) in left.iter_mut().zip(own) {
                        *left -= share * value;
                    }
                }
            }
        }
        (0..rows)
            .map(|row| {
                let vector: Vec<f64> = left.iter().map(|left| f64::from(left[row])).collect();
                quadratic(&self.precision, &vector)
            })
            .collect()
    }
}

/// Moments of all rows, each with its expected weight; all alike where nothing is known yet.
pub(super) fn gather(lens: &Lens<'_>, leftover: Option<&Leftover>) -> Moments {
    let (features, channels) = (lens.features(), lens.channels());
    let tiles = lens.tiles();
    let parts: Vec<MomentSums> = tiles
        .par_chunks(TOGETHER)
        .map(|tiles| {
            let mut gathering = MomentSums::new(features, channels);
            let mut columns = Vec::new();
            for tile in tiles {
                lens.columns(tile, &mut columns);
                let weights: Vec<f32> = match leftover {
                    None => vec![1.0; tile.len()],
                    Some(leftover) => leftover
                        .distances(&columns, tile.len())
                        .into_iter()
                        .map(|distance| expected_scale(distance, channels) as f32)
                        .collect(),
                };
                gathering.add(&columns, &weights);
            }
            gathering
        })
        .collect();
    let mut all = MomentSums::new(features, channels);
    for part in &parts {
        all.merge(part);
    }
    all.finish()
}

/// Moments of all rows, each with a weight that is drawn for its distance, row after row.
pub(super) fn gather_drawn(
    lens: &Lens<'_>,
    leftover: &Leftover,
    scale: &mut dyn FnMut(f64) -> f64,
) -> Moments {
    let mut gathering = MomentSums::new(lens.features(), lens.channels());
    let mut columns = Vec::new();
    for tile in lens.tiles() {
        lens.columns(&tile, &mut columns);
        let distances = leftover.distances(&columns, tile.len());
        let weights: Vec<f32> = distances.into_iter().map(|one| scale(one) as f32).collect();
        gathering.add(&columns, &weights);
    }
    gathering.finish()
}
