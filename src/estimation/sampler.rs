//! Draws of the loads, by chance and in agreement with list and readings.

use crate::contradictions::contradictions;
use crate::list_quality::{SeenLoad, judge, weight_of};
use crate::model::{Draw, Load, LoadEstimate, PhaseReading, ReadPlace, Spread};
use crate::not_listed::not_listed;
use crate::round_likelihood::{OnShare, RoundLikelihood};
use crate::touch::{Touch, touches_of};
use statistics::Random;

/// Where the judgement of the list begins.
const START_WORSE: f64 = 4.0;
/// Sweeps before the first draw is kept.
const SETTLING: usize = 150;
/// Sweeps from one draw to the next that is kept.
const APART: usize = 2;
/// Probability of being on outside the schedule: people work late.
const OUT_OF_HOURS: f64 = 0.02;
/// No more certain than this before anything is read.
const MOST_CERTAIN: f64 = 0.98;
/// Least share of its rating that a load draws while on.
const LEAST_SHARE: f64 = 0.05;

/// Draws what the loads may be like.
///
/// Without readings the draws are of the list alone.
#[must_use]
pub fn estimate(
    loads: &[Load],
    places: &[ReadPlace],
    rounds: usize,
    readings: &[PhaseReading],
    spread: Spread,
    (draws, seed): (usize, u64),
) -> LoadEstimate {
    let listed = loads.len();
    let mut all = loads.to_vec();
    all.extend(not_listed(loads, places, readings, rounds));
    let mut chain = Chain::new(&all, places, rounds, readings, spread, seed);
    if rounds > 0 {
        for _ in 0..SETTLING {
            chain.sweep();
        }
    }
    let mut kept = Vec::with_capacity(draws);
    for _ in 0..draws {
        if rounds > 0 {
            for _ in 0..APART {
                chain.sweep();
            }
        }
        kept.push(chain.draw());
    }
    let contradictions = contradictions(&all, places, readings, &kept);
    LoadEstimate {
        loads: all,
        listed,
        draws: kept,
        contradictions,
    }
}

/// Readings of a place and of all that it is fed from, for each round, load and turn.
type Touches = Vec<Vec<[Vec<Touch>; 3]>>;

struct Chain<'a> {
    loads: &'a [Load],
    spread: Spread,
    rounds: Vec<RoundLikelihood>,
    touches: Touches,
    turns: Vec<usize>,
    /// Share in each round; 0 where off. By round, then load.
    shares: Vec<Vec<f64>>,
    /// How much worse than it says this list is, as a factor.
    worse: f64,
    random: Random,
}

impl<'a> Chain<'a> {
    fn new(
        loads: &'a [Load],
        places: &[ReadPlace],
        rounds: usize,
        readings: &[PhaseReading],
        spread: Spread,
        seed: u64,
    ) -> Self {
        let of_round = |round: usize| -> Vec<PhaseReading> {
            let own = readings.iter().filter(|reading| reading.round == round);
            own.copied().collect()
        };
        let states: Vec<Vec<PhaseReading>> = (0..rounds).map(of_round).collect();
        let touches = states
            .iter()
            .map(|rows| {
                loads
                    .iter()
                    .map(|load| [0, 1, 2].map(|turn| touches_of(load, turn, places, rows)))
                    .collect()
            })
            .collect();
        Chain {
            loads,
            spread,
            rounds: states.into_iter().map(RoundLikelihood::new).collect(),
            touches,
            turns: loads.iter().map(|load| load.turns.first()).collect(),
            shares: (0..rounds)
                .map(|round| {
                    let on = |load: &Load| load.runs[round] && load.on_share > 0.5;
                    loads
                        .iter()
                        .map(|load| f64::from(u8::from(on(load))))
                        .collect()
                })
                .collect(),
            // From wide to narrow: a narrow start would not let the readings speak.
            worse: if rounds == 0 { 1.0 } else { START_WORSE },
            random: Random::new(seed),
        }
    }

    fn spread_of(&self, load: usize) -> f64 {
        let list = self.spread.rating * self.worse;
        self.loads[load].own_spread.unwrap_or(list)
    }

    /// Mean of a load's share and its variance, by what it draws in all rounds but one.
    fn mean_without(&self, load: usize, without: Option<usize>) -> OnShare {
        let (mut count, mut sum) = (0.0, 0.0);
        for (round, shares) in self.shares.iter().enumerate() {
            if Some(round) != without && shares[load] > 0.0 {
                count += 1.0;
                sum += shares[load];
            }
        }
        let own = self.spread_of(load).powi(2);
        let each = self.spread.from_time_to_time.powi(2);
        let precision = own.recip() + count / each;
        OnShare {
            mean: (own.recip() + sum / each) / precision,
            variance: precision.recip(),
        }
    }

    /// What a load may draw in a round while on.
    fn predicted(&self, load: usize, round: usize) -> OnShare {
        let mean = self.mean_without(load, Some(round));
        OnShare {
            variance: mean.variance + self.spread.from_time_to_time.powi(2),
            ..mean
        }
    }

    /// Seen on and off while its schedule ran, with what is known beforehand.
    fn yes_no(&self, load: usize, without: Option<usize>) -> (f64, f64) {
        let listed = self.loads[load].on_share;
        let (mut yes, mut no) = if self.loads[load].own_spread.is_some() {
            // A list that is wrong about ratings leaves out more as well.
            let missing = (listed * self.worse).min(0.5);
            (missing, 1.0 - missing)
        } else {
            weight_of(listed, self.spread.on_share_of(self.worse))
        };
        for (round, shares) in self.shares.iter().enumerate() {
            if Some(round) != without && self.loads[load].runs[round] {
                if shares[load] > 0.0 {
                    yes += 1.0;
                } else {
                    no += 1.0;
                }
            }
        }
        (yes, no)
    }

    fn on_odds(&self, load: usize, round: usize) -> f64 {
        let share = if self.loads[load].runs[round] {
            let (yes, no) = self.yes_no(load, Some(round));
            yes / (yes + no)
        } else {
            OUT_OF_HOURS
        };
        let share = share.clamp(1.0 - MOST_CERTAIN, MOST_CERTAIN);
        (share / (1.0 - share)).ln()
    }

    fn sweep(&mut self) {
        for round in 0..self.rounds.len() {
            self.sweep_round(round);
        }
        self.sweep_turns();
        self.judge_list();
    }

    fn sweep_round(&mut self, round: usize) {
        let count = self.loads.len();
        let predicted: Vec<OnShare> = (0..count).map(|load| self.predicted(load, round)).collect();
        let odds: Vec<f64> = (0..count).map(|load| self.on_odds(load, round)).collect();
        let mut on: Vec<bool> = self.shares[round]
            .iter()
            .map(|share| *share > 0.0)
            .collect();
        let mut state =
            std::mem::replace(&mut self.rounds[round], RoundLikelihood::new(Vec::new()));
        let touches: Vec<&[Touch]> = (0..count)
            .map(|load| self.touches[round][load][self.turns[load]].as_slice())
            .collect();
        let running = |on: &[bool]| -> Vec<(&[Touch], OnShare)> {
            let those = (0..count).filter(|&load| on[load]);
            those.map(|load| (touches[load], predicted[load])).collect()
        };
        state.begin(running(&on).into_iter());
        let sign = |on: bool| if on { -1.0 } else { 1.0 };
        let mut order: Vec<usize> = (0..count).collect();
        self.random.shuffle(&mut order);
        for &load in &order {
            let way = sign(on[load]);
            let gain = state.gain(touches[load], predicted[load], way) + way * odds[load];
            // Heat-bath: on with its probability given all the others.
            if self.random.share() < 1.0 / (1.0 + (-gain).exp()) {
                state.switch(touches[load], predicted[load], way);
                on[load] = !on[load];
            }
        }
        for _ in 0..count {
            let (one, other) = (self.random.below(count), self.random.below(count));
            if on[one] == on[other] {
                continue;
            }
            let way = sign(on[one]);
            let first = state.gain(touches[one], predicted[one], way) + way * odds[one];
            state.switch(touches[one], predicted[one], way);
            let then = state.gain(touches[other], predicted[other], -way) - way * odds[other];
            if self.random.share().ln() < first + then {
                state.switch(touches[other], predicted[other], -way);
                on[one] = !on[one];
                on[other] = !on[other];
            } else {
                state.switch(touches[one], predicted[one], -way);
            }
        }
        let those = running(&on);
        let mut drawn: Vec<f64> = those
            .iter()
            .map(|(_, share)| share.mean + share.variance.sqrt() * self.random.normal())
            .collect();
        let random = &mut self.random;
        state.agree(&those, &mut drawn, || random.normal());
        let mut drawn = drawn.into_iter();
        for (share, &is_on) in self.shares[round].iter_mut().zip(&on) {
            *share = if is_on {
                drawn.next().map_or(0.0, |share| share.max(LEAST_SHARE))
            } else {
                0.0
            };
        }
        self.rounds[round] = state;
    }

    /// Tries other phases for loads whose phase the list may have wrong.
    fn sweep_turns(&mut self) {
        for load in 0..self.loads.len() {
            let open = self.loads[load].turns;
            let on: Vec<usize> = (0..self.rounds.len())
                .filter(|&round| self.shares[round][load] > 0.0)
                .collect();
            if !open.is_open() {
                continue;
            }
            let shares: Vec<OnShare> = on
                .iter()
                .map(|&round| self.predicted(load, round))
                .collect();
            let now = self.turns[load];
            for (&round, &share) in on.iter().zip(&shares) {
                self.rounds[round].switch(&self.touches[round][load][now], share, -1.0);
            }
            let logs = [0, 1, 2].map(|turn| {
                let gains = on.iter().zip(&shares).map(|(&round, &share)| {
                    self.rounds[round].gain(&self.touches[round][load][turn], share, 1.0)
                });
                open.0[turn].ln() + gains.sum::<f64>()
            });
            let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let turn = self.random.choose(&logs.map(|log| (log - most).exp()));
            self.turns[load] = turn;
            for (&round, &share) in on.iter().zip(&shares) {
                self.rounds[round].switch(&self.touches[round][load][turn], share, 1.0);
            }
        }
    }

    /// How far this list is off, by what has been seen of its loads.
    fn judge_list(&mut self) {
        let listed = (0..self.loads.len()).filter(|&load| self.loads[load].own_spread.is_none());
        let seen: Vec<SeenLoad> = listed
            .map(|load| {
                let rounds = self.shares.iter().enumerate();
                let on = rounds.clone().filter(|(_, shares)| shares[load] > 0.0);
                let runs = rounds.filter(|(round, _)| self.loads[load].runs[*round]);
                SeenLoad {
                    on_share: self.loads[load].on_share,
                    shares: on.map(|(_, shares)| shares[load]).collect(),
                    in_schedule: runs.map(|(_, shares)| shares[load] > 0.0).collect(),
                }
            })
            .collect();
        self.worse = judge(&seen, self.spread, &mut self.random);
    }

    fn draw(&mut self) -> Draw {
        let count = self.loads.len();
        let mut draw = Draw {
            turns: self.turns.clone(),
            in_round: self.shares.clone(),
            ..Draw::default()
        };
        for load in 0..count {
            let mean = self.mean_without(load, None);
            let share = mean.mean + mean.variance.sqrt() * self.random.normal();
            draw.share.push(share.max(LEAST_SHARE));
            let (yes, no) = self.yes_no(load, None);
            draw.on.push(self.random.probability(yes, no));
        }
        if self.rounds.is_empty() {
            for (load, turn) in draw.turns.iter_mut().enumerate() {
                *turn = self.random.choose(&self.loads[load].turns.0);
            }
        }
        draw
    }
}
