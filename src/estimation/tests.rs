//! Small cases whose answer is known: by trying all states, by hand, by simulation.

use num_complex::Complex64;

use super::*;
use statistics::Random;

const SPREAD: Spread = Spread {
    rating: 0.1,
    on_share: 0.15,
    from_time_to_time: 0.2,
};
/// The direction of all currents here, so that magnitudes add up.
const FACTOR: f64 = 0.95;

fn direction() -> Complex64 {
    Complex64::new(FACTOR, -(1.0 - FACTOR * FACTOR).sqrt())
}

fn load(place: usize, amps: f64, phase: usize, on_share: f64) -> Load {
    Load {
        place,
        on_a: [Some(direction() * amps), None, None],
        third_harmonic: 0.0,
        turns: Turns::certain(phase),
        on_share,
        runs: vec![true],
        own_spread: None,
    }
}

fn reading(place: usize, phase: usize, amps: f64) -> PhaseReading {
    PhaseReading {
        round: 0,
        place,
        phase,
        amps,
        error_a: (0.02 * amps + 0.3) / 1.96,
    }
}

fn place(fed_from: Option<usize>) -> ReadPlace {
    ReadPlace {
        fed_from,
        is_complete: false,
    }
}

/// Three loads of 5, 7 and 12 A and a reading of 12.2 A: 5 + 7, 12 alone, or something that is not listed. The
/// probability of each by trying all sixteen states of each of the four judgements of the list.
#[test]
fn draws_agree_with_all_states_tried() {
    let loads = [
        load(0, 5.0, 0, 0.5),
        load(0, 7.0, 0, 0.4),
        load(0, 12.0, 0, 0.3),
    ];
    let read = reading(0, 0, 12.2);
    let found = estimate(&loads, &[place(None)], 1, &[read], SPREAD, (6000, 3));
    let mut weights = [0.0; 4];
    let mut all = 0.0;
    for (worse, prior) in list_quality::WORSE_LISTS {
        for state in 0..16_u32 {
            let on = |load: usize| state & (1 << load) != 0;
            let mut chance = prior;
            let (mut sum, mut variance) = (0.0, read.error_a.powi(2));
            for (at, (amps, share, spread)) in [
                (5.0, 0.5, 0.1 * worse),
                (7.0, 0.4, 0.1 * worse),
                (12.0, 0.3, 0.1 * worse),
                (6.0, (NOT_LISTED_SHARE * worse).min(0.5), 0.9),
            ]
            .into_iter()
            .enumerate()
            {
                chance *= if on(at) { share } else { 1.0 - share };
                if on(at) {
                    sum += amps;
                    variance += amps * amps * (spread * spread + 0.04);
                }
            }
            let off: f64 = read.amps - sum;
            chance *= (-0.5 * off * off / variance).exp() / variance.sqrt();
            all += chance;
            for (at, weight) in weights.iter_mut().enumerate() {
                *weight += if on(at) { chance } else { 0.0 };
            }
        }
    }
    for (at, weight) in weights.into_iter().enumerate() {
        let drawn = found
            .draws
            .iter()
            .filter(|draw| draw.in_round[0][at] > 0.0)
            .count();
        let share = drawn as f64 / found.draws.len() as f64;
        assert!(
            (share - weight / all).abs() < 0.04,
            "load {at}: {share} for {}",
            weight / all
        );
    }
}

/// A charger of 32 A alone on its circuit that is listed with 0.3: while it reads 32.4 A that is what it draws.
#[test]
fn a_circuit_with_one_load_takes_its_reading_whole() {
    let loads = [load(1, 32.2, 2, 0.3), load(0, 8.0, 2, 0.5)];
    let places = [place(None), place(Some(0))];
    let readings = [reading(0, 2, 40.3), reading(1, 2, 32.4)];
    let found = estimate(&loads, &places, 1, &readings, SPREAD, (400, 1));
    assert_eq!(
        found.loads.len(),
        3,
        "something not listed may be at the supply alone"
    );
    let mean = |load: usize| {
        let draws = found.draws.iter().map(|draw| draw.in_round[0][load]);
        draws.sum::<f64>() / 400.0 * loads[load].on_a[0].map_or(0.0, Complex64::norm)
    };
    assert!((mean(0) - 32.4).abs() < 0.3, "{}", mean(0));
    assert!((mean(1) - 7.9).abs() < 0.6, "{}", mean(1));
    assert!(found.contradictions.is_empty());
}

/// More on a circuit than on the board that feeds it cannot be.
#[test]
fn a_reading_that_cannot_be_is_named() {
    let loads = [load(1, 30.0, 0, 0.9)];
    let places = [place(None), place(Some(0))];
    let found = estimate(
        &loads,
        &places,
        1,
        &[reading(0, 0, 10.0), reading(1, 0, 30.0)],
        SPREAD,
        (200, 1),
    );
    assert!(!found.contradictions.is_empty());
    let sound = [reading(0, 0, 30.2), reading(1, 0, 30.0)];
    let found = estimate(&loads, &places, 1, &sound, SPREAD, (200, 1));
    assert!(found.contradictions.is_empty());
}

/// A load that is listed on L1 and read on L2 of its own circuit, in three rounds, is on L2.
#[test]
fn readings_find_the_phase() {
    let runs = vec![true; 3];
    let wrong = Load {
        turns: Turns::listed(0, 0.05),
        runs: runs.clone(),
        ..load(1, 16.0, 0, 0.6)
    };
    let other = Load {
        turns: Turns::listed(2, 0.05),
        runs,
        ..load(1, 6.0, 2, 0.6)
    };
    let readings: Vec<PhaseReading> = (0..3)
        .flat_map(|round| {
            [(0, 0.1), (1, 16.1), (2, 6.0)].map(|(phase, amps)| PhaseReading {
                round,
                ..reading(1, phase, amps)
            })
        })
        .collect();
    let places = [place(None), place(Some(0))];
    let found = estimate(&[wrong, other], &places, 3, &readings, SPREAD, (8000, 5));
    let there = found.draws.iter().filter(|draw| draw.turns[0] == 1).count();
    assert!(there > 4000, "{there} of 8000");
    assert!(found.draws.iter().filter(|draw| draw.turns[1] == 2).count() > 7600);
}

/// Ten thousand states of a workshop by chance against the sum of means and variances, for two allocations: what
/// switching adds is the same for both.
#[test]
fn the_mean_square_is_that_of_many_states() {
    let mut random = Random::new(11);
    let loads: Vec<Load> = (0..9)
        .map(|at| Load {
            third_harmonic: if at % 3 == 0 { 0.2 } else { 0.0 },
            ..load(
                0,
                3.0 + f64::from(at) * 2.0,
                (at % 3) as usize,
                0.15 + 0.08 * f64::from(at),
            )
        })
        .collect();
    let draw = Draw {
        turns: loads.iter().map(|load| load.turns.first()).collect(),
        share: vec![1.0; 9],
        on: loads.iter().map(|load| load.on_share).collect(),
        in_round: Vec::new(),
    };
    let always = [Hours {
        share: 1.0,
        runs: vec![true; 9],
    }];
    for turns in [vec![None; 9], vec![Some(1); 9]] {
        let exact = mean_square(&loads, &draw, &turns, &always, 0.0, |_| true);
        let mut sum = 0.0;
        for _ in 0..20_000 {
            let (mut neutral, mut third) = (Complex64::ZERO, 0.0);
            for (at, load) in loads.iter().enumerate() {
                if random.share() < load.on_share {
                    neutral += neutral_of(load, turns[at].unwrap_or(draw.turns[at]));
                    third += third_of(load);
                }
            }
            sum += neutral.norm_sqr() + third * third;
        }
        assert!(
            (sum / 20_000.0 / exact - 1.0).abs() < 0.03,
            "{} for {exact}",
            sum / 20_000.0
        );
    }
}
