//! How far a list can be trusted, by what has been seen of its loads.

use crate::model::Spread;
use statistics::Random;

/// How much worse than it says a list may be: factors on its spread, with the probability of each. A guess about
/// lists; readings of several circuits overrule it.
pub(crate) const WORSE_LISTS: [(f64, f64); 4] = [(1.0, 0.4), (2.0, 0.2), (4.0, 0.25), (7.0, 0.15)];

/// What has been seen of a listed load.
pub(crate) struct SeenLoad {
    /// Listed probability of being on.
    pub(crate) on_share: f64,
    /// Its share of the rating, each time that it was on.
    pub(crate) shares: Vec<f64>,
    /// Whether it was on, in each round in which its schedule ran.
    pub(crate) in_schedule: Vec<bool>,
}

/// Draws how much worse than it says the list is.
pub(crate) fn judge(seen: &[SeenLoad], spread: Spread, random: &mut Random) -> f64 {
    let each = spread.from_time_to_time.powi(2);
    let logs = WORSE_LISTS.map(|(worse, probability)| {
        let own = (spread.rating * worse).powi(2);
        let fits = seen.iter().map(|load| {
            let count = load.shares.len() as f64;
            let of_ratings = if load.shares.is_empty() {
                0.0
            } else {
                let off = load.shares.iter().sum::<f64>() / count - 1.0;
                let variance = own + each / count;
                -0.5 * (variance.ln() + off * off / variance)
            };
            let yes = load.in_schedule.iter().filter(|on| **on).count() as u32;
            let no = load.in_schedule.len() as u32 - yes;
            let weight = weight_of(load.on_share, spread.on_share_of(worse));
            of_ratings + log_chance(weight, yes, no)
        });
        probability.ln() + fits.sum::<f64>()
    });
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    WORSE_LISTS[random.choose(&logs.map(|log| (log - most).exp()))].0
}

/// Of a probability known with a relative standard deviation: the number of yes and no that would make it known as well.
pub(crate) fn weight_of(share: f64, spread: f64) -> (f64, f64) {
    if share >= 1.0 {
        return (20.0, 0.0);
    }
    let weight = ((1.0 - share) / (share * spread * spread) - 1.0).clamp(1.0, 200.0);
    (share * weight, (1.0 - share) * weight)
}

/// Logarithm of the chance of so many yes and no, in one order, by the beta-binomial distribution.
fn log_chance((yes, no): (f64, f64), seen_yes: u32, seen_no: u32) -> f64 {
    let product = |weight: f64, count: u32| -> f64 {
        (0..count)
            .map(|at| (weight + f64::from(at)).max(1e-3).ln())
            .sum()
    };
    product(yes, seen_yes) + product(no, seen_no) - product(yes + no, seen_yes + seen_no)
}
