//! What goes in and what comes out.

use num_complex::Complex64;

/// The probability that a phase of a place feeds a load that is not in the list. A guess: lists are mostly complete,
/// and a reading that they cannot explain raises it.
pub const NOT_LISTED_SHARE: f64 = 0.05;

/// How the spread of the probability of being on follows that of the ratings: an exponent, found with invented lists.
const ON_SHARE_FOLLOWS: f64 = 1.0;

/// On which phases a load can be: its turns, with the probability of each before anything is read.
///
/// A turn of 1 puts what was on L1 on L2, L2 on L3, L3 on L1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turns(pub [f64; 3]);

impl Turns {
    /// On this one for certain.
    #[must_use]
    pub fn certain(turn: usize) -> Turns {
        let mut of = [0.0; 3];
        of[turn] = 1.0;
        Turns(of)
    }

    /// As listed, or with a small probability on one of the others.
    #[must_use]
    pub fn listed(turn: usize, doubt: f64) -> Turns {
        let mut of = [doubt / 2.0; 3];
        of[turn] = 1.0 - doubt;
        Turns(of)
    }

    /// The likeliest.
    #[must_use]
    pub fn first(&self) -> usize {
        (0..3).fold(0, |best, turn| {
            if self.0[turn] > self.0[best] {
                turn
            } else {
                best
            }
        })
    }

    pub(crate) fn is_open(&self) -> bool {
        self.0.iter().filter(|share| **share > 0.0).count() > 1
    }
}

/// Something that draws current, as the list has it.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// Position of the place it is fed from.
    pub place: usize,
    /// Fundamental current while it is on, at turn 0, each relative to its own phase voltage; negative where it
    /// generates. (A)
    pub on_a: [Option<Complex64>; 3],
    /// Third harmonic that meets in the neutral, as a share of the fundamental. (1)
    pub third_harmonic: f64,
    /// Where it may be connected.
    pub turns: Turns,
    /// Probability of being on while its schedule runs, 0 to 1.
    pub on_share: f64,
    /// Whether its schedule runs, round by round.
    pub runs: Vec<bool>,
    /// Standard deviation of its rating as a share of itself, where it is not that of the list. (1)
    pub own_spread: Option<f64>,
}

/// A place that currents are read at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadPlace {
    /// What it is fed from; `None` for the supply.
    pub fed_from: Option<usize>,
    /// True where nothing can be fed from here but what is listed: a machine's own terminals.
    pub is_complete: bool,
}

/// Current of one phase at one place. (A)
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhaseReading {
    /// Position of the round.
    pub round: usize,
    /// Position of the place.
    pub place: usize,
    /// 0, 1, 2 for L1, L2, L3.
    pub phase: usize,
    /// What was read; negative where it flows back. (A)
    pub amps: f64,
    /// Standard error of the reading. (A)
    pub error_a: f64,
}

/// How far list and habits can be off, each as a standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Of a rating, as a share of itself, where nothing is read.
    pub rating: f64,
    /// Of the probability of being on, as a share of itself.
    pub on_share: f64,
    /// Of the current while on from one time to another, as a share of the rating.
    pub from_time_to_time: f64,
}

impl Spread {
    /// Of the probability of being on, in a list that is worse than it says by a factor: habits are never as far off as
    /// ratings can be.
    pub(crate) fn on_share_of(&self, worse: f64) -> f64 {
        self.on_share * worse.powf(ON_SHARE_FOLLOWS)
    }
}

/// One state of knowledge: everything that the list and the readings leave open is settled by chance.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Draw {
    /// Turn of each load.
    pub turns: Vec<usize>,
    /// Mean current while on as a share of the listed one, load by load.
    pub share: Vec<f64>,
    /// Probability of being on while the schedule runs, load by load.
    pub on: Vec<f64>,
    /// What each load draws in each round, as a share of its listed current; 0 where it is off.
    pub in_round: Vec<Vec<f64>>,
}

/// What is read and cannot be explained by what is listed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contradiction {
    /// The reading.
    pub reading: PhaseReading,
    /// What the draws make of it, in the mean. (A)
    pub explained_a: f64,
}

/// The loads as list and readings have them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LoadEstimate {
    /// The listed loads, then those that are not listed.
    pub loads: Vec<Load>,
    /// How many of them are listed.
    pub listed: usize,
    /// Equally likely.
    pub draws: Vec<Draw>,
    /// Readings that no draw comes near.
    pub contradictions: Vec<Contradiction>,
}
