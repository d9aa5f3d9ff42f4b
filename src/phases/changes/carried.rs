//! How much of the unmetered part is carried from one interval to the next.

use super::chain::ConnectionChain;
use super::innovations::Lens;

/// Share of what the loads leave that is carried from one interval to the next, the mean of the channels.
pub(super) fn carried(lens: &Lens<'_>, chain: &ConnectionChain<'_>) -> f64 {
    let channels = lens.channels();
    let levels = Lens {
        carried: 0.0,
        ..lens.clone()
    };
    let mut sums = vec![(0.0, 0.0, 0.0, 0.0); channels];
    let mut rows = 0.0;
    let mut columns = Vec::new();
    let mut series: Vec<Vec<f64>> = vec![Vec::new(); channels];
    for tile in levels.tiles() {
        levels.columns(&tile, &mut columns);
        let count = tile.len();
        for (channel, series) in series.iter_mut().enumerate() {
            for at in 0..count {
                let mut left = f64::from(columns[(lens.features() + channel) * count + at]);
                for feature in 0..lens.features() {
                    let share = chain.shares[feature * channels + channel];
                    if share != 0.0 {
                        left -= share * f64::from(columns[feature * count + at]);
                    }
                }
                series.push(left);
            }
        }
        rows += count as f64;
    }
    let mut shares = 0.0;
    for (series, sums) in series.iter().zip(&mut sums) {
        let mean = series.iter().sum::<f64>() / series.len() as f64;
        for pair in series.windows(2) {
            sums.0 += (pair[0] - mean) * (pair[1] - mean);
            sums.1 += (pair[0] - mean).powi(2);
        }
        shares += if sums.1 > 0.0 { sums.0 / sums.1 } else { 1.0 };
    }
    let found = shares / channels as f64;
    // Small samples make it too small (F. H. C. Marriott and J. A. Pope, 1954).
    (found + (1.0 + 3.0 * found) / rows).clamp(0.0, 1.0)
}
