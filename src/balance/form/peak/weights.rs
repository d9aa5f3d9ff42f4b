//! The weighted mixture of demand periods that bounds the highest of them best.

use super::Peak;
use crate::form::quadratic::{Quadratic, turn_factors};

/// Blocks that may have a weight.
const MOST_BLOCKS: usize = 48;
/// Rounds between the weights and the allocation that answers them.
const ROUNDS: usize = 60;
/// How fast weights follow what the rounds have shown.
const EAGERNESS: f64 = 12.0;
/// A weight below this share is left out.
const LEAST_WEIGHT: f64 = 1e-3;

/// Weights for blocks, adding up to 1, for which even the allocation that is best for the mixture
/// has a high value: the weights of a player who picks demand periods against one who picks allocations.
pub(crate) fn deciding_weights(
    peak: &Peak,
    choices: &[Vec<usize>],
    best: &[usize],
) -> Vec<(usize, f64)> {
    let mut places: Vec<usize> = peak
        .ranked(best, MOST_BLOCKS / 2)
        .into_iter()
        .map(|(place, _)| place)
        .collect();
    let mut forms: Vec<Quadratic> = places.iter().map(|&at| peak.form(&[(at, 1.0)])).collect();
    let largest = peak.square(best).max(f64::MIN_POSITIVE);
    let mut scores = vec![0.0; places.len()];
    let mut sums = vec![0.0; places.len()];
    let mut turns = best.to_vec();
    for round in 0..ROUNDS {
        let weights = weights_of(&scores, round);
        for (sum, weight) in sums.iter_mut().zip(&weights) {
            *sum += weight;
        }
        let mixture = mix(&forms, &weights);
        descend(&mixture, choices, &mut turns);
        for (score, form) in scores.iter_mut().zip(&forms) {
            *score += form.value(&turns) / largest;
        }
        let worst = peak.largest(&turns).place;
        if places.len() < MOST_BLOCKS && !places.contains(&worst) {
            let form = peak.form(&[(worst, 1.0)]);
            scores.push(form.value(&turns) / largest);
            forms.push(form);
            places.push(worst);
            sums.push(0.0);
        }
    }
    let total: f64 = sums.iter().sum();
    let kept: Vec<(usize, f64)> = places
        .into_iter()
        .zip(sums)
        .filter(|(_, sum)| *sum >= LEAST_WEIGHT * total)
        .collect();
    let total: f64 = kept.iter().map(|(_, sum)| sum).sum();
    kept.into_iter()
        .map(|(place, sum)| (place, sum / total))
        .collect()
}

fn weights_of(scores: &[f64], round: usize) -> Vec<f64> {
    let most = scores.iter().copied().fold(0.0, f64::max);
    let eagerness = EAGERNESS / ((round + 1) as f64).sqrt();
    let raw: Vec<f64> = scores
        .iter()
        .map(|score| ((score - most) * eagerness).exp())
        .collect();
    let total: f64 = raw.iter().sum();
    raw.into_iter().map(|weight| weight / total).collect()
}

fn mix(forms: &[Quadratic], weights: &[f64]) -> Quadratic {
    let mut mixture = forms[0].clone();
    mixture.scale(weights[0]);
    for (form, &weight) in forms.iter().zip(weights).skip(1) {
        let mut part = form.clone();
        part.scale(weight);
        mixture.add(&part);
    }
    mixture
}

/// Changes single units as long as that lowers the form.
fn descend(form: &Quadratic, choices: &[Vec<usize>], turns: &mut [usize]) {
    let factors = turn_factors();
    let mut improved = true;
    while improved {
        improved = false;
        for (i, choices) in choices
            .iter()
            .enumerate()
            .filter(|(_, list)| list.len() > 1)
        {
            let field: num_complex::Complex64 = form
                .row(i)
                .iter()
                .zip(&*turns)
                .map(|(entry, &turn)| entry * factors[turn])
                .sum::<num_complex::Complex64>()
                + form.linear[i];
            let gain = |turn: usize| {
                let step = factors[turn] - factors[turns[i]];
                2.0 * (step.conj() * field).re + step.norm_sqr() * form.own(i)
            };
            let least = choices
                .iter()
                .map(|&turn| (gain(turn), turn))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((gain, turn)) = least
                && gain < -1e-12 * form.own(i)
            {
                turns[i] = turn;
                improved = true;
            }
        }
    }
}
