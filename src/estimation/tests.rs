//! Invented workshops whose truth is known.

use num_complex::Complex64;

use super::*;

const SPREAD: Spread = Spread {
    rating: 0.102,
    on_share: 0.153,
    from_time_to_time: 0.2,
};

struct Shop {
    listed: Vec<Load>,
    places: Vec<Place>,
    truth: Draw,
    true_loads: Vec<Load>,
    readings: Vec<Reading>,
}

#[derive(Clone, Copy, PartialEq)]
enum Depth {
    All,
    Boards,
    Supply,
}

fn invented(seed: u64, poor: bool, depth: Depth, rounds: usize) -> Shop {
    let mut r = Random::new(seed);
    let count = 8 + r.below(25);
    let boards = 2;
    let circuits = count / 2 + 1;
    let mut places = vec![Place {
        fed_from: None,
        is_complete: false,
    }];
    for _ in 0..boards {
        places.push(Place {
            fed_from: Some(0),
            is_complete: false,
        });
    }
    for _ in 0..circuits {
        places.push(Place {
            fed_from: Some(1 + r.below(boards)),
            is_complete: false,
        });
    }
    let (mut listed, mut true_loads, mut truth) = (vec![], vec![], Draw::default());
    for _ in 0..count {
        let place = 1 + boards + r.below(circuits);
        let rated = 2.0 * (16.0_f64).powf(r.share());
        let pf = 0.75 + 0.25 * r.share();
        let unit = Complex64::new(pf, -(1.0 - pf * pf).sqrt());
        let turn = r.below(3);
        let on = 0.1 + 0.8 * r.share();
        let off = if poor {
            1.6_f64.ln() * r.normal()
        } else {
            0.2 / 1.96 * r.normal()
        };
        let true_a = rated * off.exp();
        let listed_on =
            (on + (if poor { 0.25 } else { 0.15 }) / 1.96 * r.normal()).clamp(0.03, 1.0);
        let missing = poor && r.share() < 0.08;
        let turn_listed = if poor && r.share() < 0.1 {
            (turn + 1) % 3
        } else {
            turn
        };
        let load = |a: f64, turn: usize, on: f64| Load {
            place,
            on_a: [Some(unit * a), None, None],
            third_harmonic: 0.0,
            turns: Turns::listed(turn, 0.05),
            on_share: on,
            runs: vec![true; rounds],
            own_spread: None,
        };
        true_loads.push(load(true_a, turn, on));
        truth.turns.push(turn);
        truth.share.push(1.0);
        truth.on.push(on);
        if !missing {
            listed.push(load(rated, turn_listed, listed_on));
        }
    }
    let mut readings = Vec::new();
    for round in 0..rounds {
        let on: Vec<bool> = truth.on.iter().map(|on| r.share() < *on).collect();
        for place in 0..places.len() {
            let read = match depth {
                Depth::All => true,
                Depth::Boards => place <= boards,
                Depth::Supply => place == 0,
            };
            if !read {
                continue;
            }
            for phase in 0..3 {
                let mut sum = Complex64::ZERO;
                for (j, load) in true_loads.iter().enumerate() {
                    let mut at = Some(load.place);
                    let mut below = false;
                    while let Some(p) = at {
                        below |= p == place;
                        at = places[p].fed_from;
                    }
                    if on[j] && below && truth.turns[j] == phase {
                        sum += load.on_a[0].unwrap();
                    }
                }
                let error = (0.02 * sum.norm() + 0.3) / 1.96;
                let amps = (sum.norm() + error * r.normal()).abs();
                readings.push(Reading {
                    round,
                    place,
                    phase,
                    amps,
                    error_a: error,
                });
            }
        }
    }
    Shop {
        listed,
        places,
        truth,
        true_loads,
        readings,
    }
}

#[test]
#[ignore = "a trial"]
fn coverage() {
    for poor in [false, true] {
        for (depth, name) in [(Depth::Boards, "boards"), (Depth::Supply, "supply")] {
            let start = std::time::Instant::now();
            let (mut now_in, mut width, mut err, mut n) = (0, 0.0, 0.0, 0);
            for seed in 0..120 {
                let shop = invented(seed, poor, depth, 3);
                let e = estimate(
                    &shop.listed,
                    &shop.places,
                    3,
                    &shop.readings,
                    SPREAD,
                    (300, 7),
                );
                let always = [Hours {
                    share: 1.0,
                    runs: Vec::new(),
                }];
                let truth =
                    mean_square(&shop.true_loads, &shop.truth, &[], &always, 0.0, |_| true).sqrt();
                let mut values: Vec<f64> = e
                    .draws
                    .iter()
                    .map(|d| mean_square(&e.loads, d, &[], &always, 0.0, |_| true).sqrt())
                    .collect();
                values.sort_by(f64::total_cmp);
                let (low, high) = (values[7], values[292]);
                now_in += usize::from(low <= truth && truth <= high);
                width += (high - low) / truth;
                err += values[150] / truth;
                n += 1;
            }
            println!(
                "poor {poor} {name}: covered {now_in} of {n}, width {:.2}, ratio {:.2}, {:.2} s",
                width / n as f64,
                err / n as f64,
                start.elapsed().as_secs_f64()
            );
        }
    }
}
