//! Draws of connections and gains, given the moments and the precision of the unmetered part.

use super::matrix::inverse;
use super::moments::Moments;
use super::record::RecordedLoad;
use statistics::Random;

/// One state of knowledge, which chance changes load by load.
#[derive(Clone, Debug)]
pub(super) struct ConnectionChain<'r> {
    loads: &'r [RecordedLoad],
    /// First series of each load.
    first: Vec<usize>,
    channels: usize,
    /// Connection of each load.
    pub(super) connection: Vec<usize>,
    /// Gain of each load's meter.
    pub(super) gain: Vec<f64>,
    /// Share of each series in each channel, gain included.
    pub(super) shares: Vec<f64>,
    /// Inverse of the covariance of the unmetered part's innovations.
    pub(super) precision: Vec<f64>,
    pub(super) random: Random,
}

/// How a load would fit with one of its connections, given all others.
#[derive(Clone, Copy, Debug)]
struct ChangeFit {
    log_weight: f64,
    gain: f64,
    gain_variance: f64,
}

impl<'r> ConnectionChain<'r> {
    pub(super) fn new(
        loads: &'r [RecordedLoad],
        channels: usize,
        seed: u64,
    ) -> ConnectionChain<'r> {
        let mut first = Vec::with_capacity(loads.len());
        let mut next = 0;
        for load in loads {
            first.push(next);
            next += load.series.len();
        }
        let mut chain = ConnectionChain {
            loads,
            first,
            channels,
            connection: vec![0; loads.len()],
            gain: vec![1.0; loads.len()],
            shares: vec![0.0; next * channels],
            precision: Vec::new(),
            random: Random::new(seed),
        };
        for (load, own) in loads.iter().enumerate() {
            let priors: Vec<f64> = own.connections.iter().map(|one| one.prior).collect();
            let drawn = chain.random.choose(&priors);
            chain.put(load, drawn, 1.0);
        }
        chain
    }

    pub(super) fn put(&mut self, load: usize, connection: usize, gain: f64) {
        (self.connection[load], self.gain[load]) = (connection, gain);
        let shares = &self.loads[load].connections[connection].shares;
        for (series, shares) in shares.iter().enumerate() {
            let at = (self.first[load] + series) * self.channels;
            for (own, share) in self.shares[at..at + self.channels].iter_mut().zip(shares) {
                *own = gain * share;
            }
        }
    }

    /// Products of a load's series with what the other loads leave of each channel.
    fn against(&self, load: usize, moments: &Moments) -> Vec<f64> {
        let channels = self.channels;
        let count = self.loads[load].series.len();
        let own = self.first[load]..self.first[load] + count;
        let mut left = Vec::with_capacity(count * channels);
        for series in own.clone() {
            let row = moments.row(series);
            let mut sums: Vec<f64> = row[moments.features..].to_vec();
            for (other, product) in row[..moments.features].iter().enumerate() {
                if own.contains(&other) {
                    continue;
                }
                let shares = &self.shares[other * channels..(other + 1) * channels];
                for (sum, share) in sums.iter_mut().zip(shares) {
                    *sum -= product * share;
                }
            }
            left.extend(sums);
        }
        left
    }

    /// ChangeFit of a load with a connection: normal likelihood with its gain integrated out.
    fn fit(
        &self,
        load: usize,
        connection: usize,
        left: &[f64],
        moments: &Moments,
        share: f64,
    ) -> ChangeFit {
        let channels = self.channels;
        let own = &self.loads[load];
        let shares = &own.connections[connection].shares;
        let (mut pull, mut weight) = (0.0, 0.0);
        for (series, shares) in shares.iter().enumerate() {
            for (one, share_one) in shares
                .iter()
                .enumerate()
                .filter(|(_, share)| **share != 0.0)
            {
                let precision = &self.precision[one * channels..(one + 1) * channels];
                for (other, precision) in precision.iter().enumerate() {
                    pull += share_one * precision * left[series * channels + other];
                }
                for (second, others) in own.connections[connection].shares.iter().enumerate() {
                    let product =
                        moments.of_features(self.first[load] + series, self.first[load] + second);
                    for (precision, share_other) in precision.iter().zip(others) {
                        weight += share_one * precision * share_other * product;
                    }
                }
            }
        }
        let (pull, weight) = (share * pull, share * weight);
        let known = own.gain_error.max(1e-6).powi(-2);
        let precision = weight + known;
        let gain = (pull + known) / precision;
        ChangeFit {
            log_weight: 0.5 * (gain * gain * precision - known) - 0.5 * (precision / known).ln()
                + own.connections[connection].prior.ln(),
            gain,
            gain_variance: precision.recip(),
        }
    }

    /// Draws every load once; `share` of the evidence counts. Returns the probabilities that each was drawn from.
    pub(super) fn sweep(&mut self, moments: &Moments, share: f64) -> Vec<Vec<f64>> {
        let mut probabilities = vec![Vec::new(); self.loads.len()];
        let mut order: Vec<usize> = (0..self.loads.len()).collect();
        self.random.shuffle(&mut order);
        for load in order {
            let left = self.against(load, moments);
            let fits: Vec<ChangeFit> = (0..self.loads[load].connections.len())
                .map(|connection| self.fit(load, connection, &left, moments, share))
                .collect();
            let best = fits
                .iter()
                .fold(f64::NEG_INFINITY, |best, fit| best.max(fit.log_weight));
            let weights: Vec<f64> = fits
                .iter()
                .map(|fit| (fit.log_weight - best).exp())
                .collect();
            let connection = self.random.choose(&weights);
            let fit = fits[connection];
            let gain = fit.gain + fit.gain_variance.sqrt() * self.random.normal();
            self.put(load, connection, gain);
            let sum: f64 = weights.iter().sum();
            probabilities[load] = weights.iter().map(|weight| weight / sum).collect();
        }
        probabilities
    }

    /// Tries to exchange the connections of two loads, as often as there are loads (Metropolis).
    pub(super) fn exchange(&mut self, moments: &Moments, share: f64) {
        let count = self.loads.len();
        for _ in 0..count {
            let (one, other) = (self.random.below(count), self.random.below(count));
            let (a, b) = (self.connection[one], self.connection[other]);
            let same_kind =
                self.loads[one].connections.len() == self.loads[other].connections.len();
            if a == b || one == other || !same_kind {
                continue;
            }
            let (gain_one, gain_other) = (self.gain[one], self.gain[other]);
            let prior = |chain: &ConnectionChain<'_>| {
                chain.loads[one].connections[chain.connection[one]]
                    .prior
                    .ln()
                    + chain.loads[other].connections[chain.connection[other]]
                        .prior
                        .ln()
            };
            let before = self.of_load(one, moments) + prior(self) / share;
            let kept = self.of_load_given(one, other, moments);
            self.put(one, b, gain_one);
            self.put(other, a, gain_other);
            let after = self.of_load(one, moments)
                + self.of_load_given(one, other, moments)
                + prior(self) / share;
            let odds = share * (after - before - kept);
            if odds.is_nan() || self.random.share().ln() >= odds {
                self.put(one, a, gain_one);
                self.put(other, b, gain_other);
            }
        }
    }

    /// Log likelihood of a load's shares, given all other loads.
    fn of_load(&self, load: usize, moments: &Moments) -> f64 {
        self.gain_of_load(load, &self.against(load, moments), moments)
    }

    /// The same of a second load, as if the first drew nothing.
    fn of_load_given(&mut self, without: usize, load: usize, moments: &Moments) -> f64 {
        let (connection, gain) = (self.connection[without], self.gain[without]);
        self.put(without, connection, 0.0);
        let found = self.of_load(load, moments);
        self.put(without, connection, gain);
        found
    }

    fn gain_of_load(&self, load: usize, left: &[f64], moments: &Moments) -> f64 {
        let channels = self.channels;
        let count = self.loads[load].series.len();
        let shares =
            |series: usize| &self.shares[(self.first[load] + series) * channels..][..channels];
        let (mut pull, mut weight) = (0.0, 0.0);
        for series in 0..count {
            for (one, share_one) in shares(series).iter().enumerate() {
                for other in 0..channels {
                    let precision = self.precision[one * channels + other];
                    pull += share_one * precision * left[series * channels + other];
                    for second in 0..count {
                        let product = moments
                            .of_features(self.first[load] + series, self.first[load] + second);
                        weight += share_one * precision * shares(second)[other] * product;
                    }
                }
            }
        }
        pull - 0.5 * weight
    }

    /// Sums of products of what the loads leave of the channels.
    pub(super) fn scatter(&self, moments: &Moments) -> Vec<f64> {
        let channels = self.channels;
        let mut scatter: Vec<f64> = (0..channels * channels)
            .map(|at| moments.of_channels(at / channels, at % channels))
            .collect();
        for series in 0..moments.features {
            let row = moments.row(series);
            let own = &self.shares[series * channels..(series + 1) * channels];
            if own.iter().all(|share| *share == 0.0) {
                continue;
            }
            // YᵀY − YᵀXB − BᵀXᵀY + BᵀXᵀXB, the last two joined.
            let mut left: Vec<f64> = row[moments.features..].iter().map(|one| -one).collect();
            for (other, product) in row[..moments.features].iter().enumerate() {
                let shares = &self.shares[other * channels..(other + 1) * channels];
                for (left, share) in left.iter_mut().zip(shares) {
                    *left += product * share;
                }
            }
            for (one, share) in own.iter().enumerate() {
                for other in 0..channels {
                    scatter[one * channels + other] += share * left[other];
                    scatter[other * channels + one] -= share * row[moments.features + other];
                }
            }
        }
        // Rounding of single products must not leave it asymmetrical.
        for one in 0..channels {
            for other in 0..one {
                let mean =
                    0.5 * (scatter[one * channels + other] + scatter[other * channels + one]);
                scatter[one * channels + other] = mean;
                scatter[other * channels + one] = mean;
            }
        }
        scatter
    }

    /// Takes the precision that fits best to so much scatter.
    pub(super) fn settle_precision(&mut self, scatter: &[f64], rows: f64) {
        let mean: Vec<f64> = scatter.iter().map(|sum| sum / rows).collect();
        if let Some(precision) = inverse(&mean, self.channels) {
            self.precision = precision;
        }
    }
}
