//! From the record to probabilities.

use super::carried::carried;
use super::chain::ConnectionChain;
use super::clocks::clocks;
use super::innovations::Lens;
use super::leftover::{Leftover, gather, gather_drawn};
use super::matrix::{log_determinant, wishart};
use super::moments::Moments;
use super::record::PowerRecord;
use super::scale::drawn_scale;
use statistics::Random;

/// Intervals from which clocks, scales and a first answer are found: fewer where there are many loads.
const SAMPLE: usize = 20_000;
const FEWEST_SAMPLED: usize = 5_000;
/// Products that one pass over them may take.
const SAMPLE_WORK: usize = 400_000_000;
/// Products that the pass over all intervals may take; the latest intervals enter. 240 loads: ten weeks of minutes.
const MOST_WORK: usize = 6_000_000_000;

/// Part of a channel's own innovations that no meter resolves. (1)
const FLOOR: f64 = 0.002;
/// Nor does it resolve less than that. (kW, kvar)
const FINEST: f64 = 0.001;
/// Sweeps of a cooling, and the share of the evidence that counts at its beginning.
const COOLING: usize = 60;
const HOTTEST: f64 = 0.01;
/// Share of the evidence that counts: what the model leaves out (how long an unmetered load stays on, clocks that are
/// not quite right) makes rows less independent than it takes them. Between what two kinds of data ask for, by
/// `tests/phases`: with it the feeder's loads said to be 90 % sure are right in 95 % of the cases, those of workshops whose
/// machines switch by hand in 86 %.
const COUNTS: f64 = 0.6;
/// Starts.
const STARTS: u64 = 4;
/// Sweeps before draws count, and sweeps that count, of each start.
const SETTLING: usize = 30;
const DRAWS: usize = 150;
/// A start whose mean log probability is so far below the best one's has not found its way.
const BEHIND: f64 = 6.0;
/// Products up to which the scales of the intervals are drawn anew in every sweep.
const REDRAWN: usize = 12_000_000;
/// With more intervals than this their scales are known well enough to stay as expected.
const REDRAWN_ROWS: usize = 4_000;
/// Rounds of scales and autoregression before the draws.
const ROUNDS: usize = 3;

/// What the record says of one load.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadVerdict {
    /// Probability of each of its connections.
    pub probabilities: Vec<f64>,
    /// Gain of its meter, mean of the draws. (1)
    pub gain: f64,
    /// How far its clock is behind that of the supply's meter. (s)
    pub late_s: f64,
}

/// What the record says of all loads.
#[derive(Clone, Debug, PartialEq)]
pub struct ChangeEstimate {
    /// Load by load.
    pub loads: Vec<LoadVerdict>,
    /// Intervals that entered.
    pub rows: usize,
    /// Share of the unmetered part that is carried from one interval to the next. (1)
    pub carried: f64,
    /// Standard deviation of what is new in the unmetered part of each channel in an interval. (kW, kvar)
    pub unmetered: Vec<f64>,
}

/// Probabilities of the connections of all loads; `None` without two intervals that follow each other.
#[must_use]
pub fn estimate(record: &PowerRecord, seed: u64) -> Option<ChangeEstimate> {
    let mut lens = Lens {
        record,
        late: vec![0.0; record.loads.len()],
        carried: 1.0,
        runs: Vec::new(),
    };
    let width = lens.features() + lens.channels();
    let sample = (SAMPLE_WORK / (width * width)).clamp(FEWEST_SAMPLED, SAMPLE);
    lens.runs = record.last_runs(sample);
    if lens.rows() == 0 || lens.channels() == 0 {
        return None;
    }
    if record.loads.iter().any(|load| load.own_clock) {
        lens.late = clocks(record, &lens.runs);
    }
    let mut random = Random::new(seed);
    let mut moments = gather(&lens, None);
    let floors = floors(&moments);
    let mut chain = ConnectionChain::new(&record.loads, lens.channels(), seed);
    for _ in 0..ROUNDS {
        cool(&mut chain, &moments, &floors);
        lens.carried = carried(&lens, &chain);
        moments = gather(&lens, None);
        let scatter = floored(&chain.scatter(&moments), moments.rows, &floors);
        chain.settle_precision(&scatter, moments.rows);
        for _ in 0..4 {
            moments = gather(&lens, Some(&Leftover::of(&chain, &moments)));
            let scatter = floored(&chain.scatter(&moments), moments.rows, &floors);
            chain.settle_precision(&scatter, moments.rows);
        }
    }
    if record.len() > sample {
        let leftover = Leftover::of(&chain, &moments);
        lens.runs = record.last_runs(MOST_WORK / (width * width));
        moments = gather(&lens, Some(&leftover));
    }
    let redraw = lens.rows() <= REDRAWN_ROWS && lens.rows() * width * width / 2 <= REDRAWN;
    let mut best: Vec<(f64, Draws)> = Vec::new();
    for start in 0..STARTS {
        let mut chain = chain.clone();
        chain.random = Random::new(seed ^ (start + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15));
        cool(&mut chain, &moments, &floors);
        best.push(draw(
            chain,
            &lens,
            (moments.clone(), &floors),
            redraw,
            &mut random,
        ));
    }
    let top = best
        .iter()
        .map(|one| one.0)
        .fold(f64::NEG_INFINITY, f64::max);
    best.retain(|one| one.0 >= top - BEHIND);
    let count = best.len() as f64;
    let loads = (0..record.loads.len())
        .map(|load| {
            let options = record.loads[load].connections.len();
            let mean = |of: &dyn Fn(&Draws) -> f64| {
                best.iter().map(|(_, draws)| of(draws)).sum::<f64>() / count
            };
            LoadVerdict {
                probabilities: (0..options)
                    .map(|option| mean(&|draws| draws.probabilities[load][option]))
                    .collect(),
                gain: mean(&|draws| draws.gain[load]),
                late_s: lens.late[load] * record.step_s,
            }
        })
        .collect();
    let channels = lens.channels();
    let unmetered = (0..channels)
        .map(|channel| {
            let of = |draws: &Draws| draws.covariance[channel];
            (best.iter().map(|(_, draws)| of(draws)).sum::<f64>() / count).sqrt()
        })
        .collect();
    Some(ChangeEstimate {
        loads,
        rows: lens.rows(),
        carried: lens.carried,
        unmetered,
    })
}

/// Means over the draws of one start.
#[derive(Clone, Debug)]
struct Draws {
    probabilities: Vec<Vec<f64>>,
    gain: Vec<f64>,
    /// Variance of each channel.
    covariance: Vec<f64>,
}

fn draw(
    mut chain: ConnectionChain<'_>,
    lens: &Lens<'_>,
    (mut moments, floors): (Moments, &[f64]),
    redraw: bool,
    random: &mut Random,
) -> (f64, Draws) {
    let channels = lens.channels();
    let mut sums: Option<Draws> = None;
    let mut log_probability = 0.0;
    for sweep in 0..SETTLING + DRAWS {
        let probabilities = chain.sweep(&moments, COUNTS);
        chain.exchange(&moments, COUNTS);
        let scatter = floored(&chain.scatter(&moments), moments.rows, floors);
        let degrees = moments.rows + channels as f64;
        if let Some(precision) = wishart(&scatter, channels, degrees, random) {
            chain.precision = precision;
        }
        if redraw {
            let leftover = Leftover::of(&chain, &moments);
            let mut scale = |distance: f64| drawn_scale(distance, channels, random);
            moments = gather_drawn(lens, &leftover, &mut scale);
        }
        if sweep < SETTLING {
            continue;
        }
        let log = log_determinant(&scatter, channels).unwrap_or(f64::INFINITY);
        log_probability -= 0.5 * moments.rows * log / DRAWS as f64;
        let share = 1.0 / DRAWS as f64;
        let sums = sums.get_or_insert_with(|| Draws {
            probabilities: probabilities
                .iter()
                .map(|one| vec![0.0; one.len()])
                .collect(),
            gain: vec![0.0; chain.gain.len()],
            covariance: vec![0.0; channels],
        });
        for (sum, one) in sums
            .probabilities
            .iter_mut()
            .flatten()
            .zip(probabilities.iter().flatten())
        {
            *sum += share * one;
        }
        for (sum, gain) in sums.gain.iter_mut().zip(&chain.gain) {
            *sum += share * gain;
        }
        for (channel, sum) in sums.covariance.iter_mut().enumerate() {
            *sum += share * scatter[channel * channels + channel] / moments.rows;
        }
    }
    let draws = sums.unwrap_or_else(|| Draws {
        probabilities: Vec::new(),
        gain: Vec::new(),
        covariance: Vec::new(),
    });
    (log_probability, draws)
}

/// From a flat distribution to that of the evidence; the precision follows.
fn cool(chain: &mut ConnectionChain<'_>, moments: &Moments, floors: &[f64]) {
    for step in 0..COOLING {
        let share = HOTTEST.powf(1.0 - (step as f64 / (COOLING - 10) as f64).min(1.0));
        let scatter = floored(&chain.scatter(moments), moments.rows, floors);
        chain.settle_precision(&scatter, moments.rows);
        chain.sweep(moments, share);
        chain.exchange(moments, share);
    }
}

/// Mean square of each channel that no meter resolves. It is of all rows alike: where a channel hardly ever changes,
/// weights that fall with the scatter would leave nothing of either.
fn floors(moments: &Moments) -> Vec<f64> {
    let channel = |channel| moments.of_channels(channel, channel) / moments.rows;
    let floor = |at| FLOOR.powi(2) * channel(at) + FINEST.powi(2);
    (0..moments.channels).map(floor).collect()
}

/// Scatter with what no meter resolves.
fn floored(scatter: &[f64], rows: f64, floors: &[f64]) -> Vec<f64> {
    let mut floored = scatter.to_vec();
    for (channel, floor) in floors.iter().enumerate() {
        floored[channel * floors.len() + channel] += rows * floor;
    }
    floored
}
