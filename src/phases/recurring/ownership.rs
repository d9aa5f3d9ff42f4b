//! One state of knowledge about which machine is which step, and how it is drawn anew.

use site::Connection;
use statistics::Random;

/// Share of the evidence that counts. Found with `tests/phases`.
const COUNTS: f64 = 1.0;
/// Recurring steps of machines that are not listed: so many for each listed one, before the log is seen, and how well that
/// is known (shape of a gamma distribution). A guess.
const UNLISTED_EACH: f64 = 0.5;
const UNLISTED_SHAPE: f64 = 1.5;
/// A machine, and what it would be as each of the steps; all as logarithms.
#[derive(Clone, Debug)]
pub(super) struct MatchedMachine {
    pub(super) connections: Vec<Connection>,
    pub(super) priors: Vec<f64>,
    /// Circuit whose phase it shares.
    pub(super) circuit: Option<usize>,
    /// Of each step: the option that has its connection.
    pub(super) option: Vec<Option<usize>>,
    /// Density of the step as this machine's alone, and as one that it shares with another.
    pub(super) alone: Vec<f64>,
    pub(super) merged: Vec<f64>,
    /// It shows no step of its own.
    pub(super) hidden: f64,
}

/// One state of knowledge.
pub(super) struct Ownership<'c> {
    candidates: &'c [MatchedMachine],
    unlisted: &'c [f64],
    /// Logarithm of the number of recurring steps of machines that are not listed.
    log_expected: f64,
    pub(super) step: Vec<Option<usize>>,
    pub(super) option: Vec<usize>,
    /// Machines that are each step.
    owners: Vec<usize>,
}

impl<'c> Ownership<'c> {
    pub(super) fn new(
        candidates: &'c [MatchedMachine],
        unlisted: &'c [f64],
        random: &mut Random,
    ) -> Ownership<'c> {
        Ownership {
            candidates,
            unlisted,
            log_expected: (UNLISTED_EACH * candidates.len() as f64).ln(),
            step: vec![None; candidates.len()],
            option: candidates
                .iter()
                .map(|own| random.choose(&own.priors))
                .collect(),
            owners: vec![0; unlisted.len()],
        }
    }

    /// Weight of a machine as a step, less that of a machine that is not listed where no other is it.
    fn weight(&self, machine: usize, step: usize) -> f64 {
        let own = &self.candidates[machine];
        COUNTS
            * if self.owners[step] == 0 {
                own.alone[step] - self.unlisted[step] - self.log_expected
            } else {
                own.merged[step]
            }
    }

    /// Places members one after the other given their option; the logarithm of the probability of what was placed, and of
    /// the sum that it was drawn from. With `as_now`, where they are.
    fn place(
        &mut self,
        members: &[usize],
        option: usize,
        as_now: Option<&[Option<usize>]>,
        random: &mut Random,
    ) -> (f64, f64) {
        let (mut log_drawn, mut log_weight) = (0.0, 0.0);
        for (at, &machine) in members.iter().enumerate() {
            let own = &self.candidates[machine];
            let mut places = vec![None];
            let mut weights = vec![(COUNTS * own.hidden).exp()];
            for step in 0..self.owners.len() {
                if own.option[step] == Some(option) && own.alone[step] > f64::NEG_INFINITY {
                    places.push(Some(step));
                    weights.push(self.weight(machine, step).exp());
                }
            }
            let chosen = match as_now {
                Some(now) => places
                    .iter()
                    .position(|place| *place == now[at])
                    .unwrap_or(0),
                None => random.choose(&weights),
            };
            let sum: f64 = weights.iter().sum();
            log_drawn += (weights[chosen] / sum).ln();
            log_weight += weights[chosen].ln();
            self.step[machine] = places[chosen];
            self.option[machine] = option;
            if let Some(step) = places[chosen] {
                self.owners[step] += 1;
            }
        }
        (log_drawn, log_weight)
    }

    /// Logarithm of the weight of two machines at two steps, one after the other.
    fn weight_of_two(&mut self, places: [(usize, usize); 2]) -> Option<f64> {
        let prior = |(machine, step): (usize, usize)| {
            let own = &self.candidates[machine];
            Some(own.priors[own.option[step]?].ln())
        };
        let priors = prior(places[0])? + prior(places[1])?;
        let first = self.weight(places[0].0, places[0].1);
        self.owners[places[0].1] += 1;
        let second = self.weight(places[1].0, places[1].1);
        self.owners[places[0].1] -= 1;
        let sum = priors + first + second;
        sum.is_finite().then_some(sum)
    }

    /// Tries to exchange the steps of two machines, as often as there are machines (Metropolis).
    pub(super) fn exchange(&mut self, singles: &[usize], random: &mut Random) {
        for _ in 0..singles.len() {
            let one = singles[random.below(singles.len())];
            let other = singles[random.below(singles.len())];
            let (Some(a), Some(b)) = (self.step[one], self.step[other]) else {
                continue;
            };
            if one == other || a == b {
                continue;
            }
            self.owners[a] -= 1;
            self.owners[b] -= 1;
            let before = self.weight_of_two([(one, a), (other, b)]);
            let after = self.weight_of_two([(one, b), (other, a)]);
            self.owners[a] += 1;
            self.owners[b] += 1;
            let (Some(before), Some(after)) = (before, after) else {
                continue;
            };
            if random.share().ln() < after - before {
                for (machine, step) in [(one, b), (other, a)] {
                    self.step[machine] = Some(step);
                    if let Some(option) = self.candidates[machine].option[step] {
                        self.option[machine] = option;
                    }
                }
            }
        }
    }

    /// Draws how many recurring steps are expected of machines that are not listed, given how many there are.
    pub(super) fn redraw_expected(&mut self, random: &mut Random) {
        let unlisted = self.owners.iter().filter(|owners| **owners == 0).count();
        let rate = UNLISTED_SHAPE / (UNLISTED_EACH * self.candidates.len() as f64);
        let drawn = random.gamma(UNLISTED_SHAPE + unlisted as f64) / (1.0 + rate);
        self.log_expected = drawn.max(1e-6).ln();
    }

    fn remove(&mut self, members: &[usize]) {
        for &machine in members {
            if let Some(step) = self.step[machine].take() {
                self.owners[step] -= 1;
            }
        }
    }

    /// Draws connection and steps of machines that share a connection (Metropolis–Hastings; a single machine's proposals
    /// are its conditional distribution and are always taken).
    pub(super) fn redraw(&mut self, members: &[usize], random: &mut Random) {
        // What is known of one of them is known of all.
        let most = |own: &MatchedMachine| own.priors.iter().copied().fold(0.0, f64::max);
        let first = members
            .iter()
            .map(|&member| &self.candidates[member])
            .max_by(|a, b| most(a).total_cmp(&most(b)))
            .unwrap_or(&self.candidates[members[0]]);
        let prior = |option: usize| first.priors[option].max(1e-12).ln();
        let count = first.priors.len();
        let before: Vec<Option<usize>> = members.iter().map(|&one| self.step[one]).collect();
        let option_before = self.option[members[0]];
        self.remove(members);
        if let [machine] = members {
            let own = &self.candidates[*machine];
            let sums: Vec<f64> = (0..count)
                .map(|option| {
                    let seen: f64 = (0..self.owners.len())
                        .filter(|&step| own.option[step] == Some(option))
                        .map(|step| self.weight(*machine, step).exp())
                        .sum();
                    first.priors[option] * (seen + (COUNTS * own.hidden).exp())
                })
                .collect();
            let option = random.choose(&sums);
            self.place(members, option, None, random);
            return;
        }
        let option = random.below(count);
        let (back_drawn, back_weight) = self.place(members, option_before, Some(&before), random);
        self.remove(members);
        let (drawn, weight) = self.place(members, option, None, random);
        let odds =
            weight + prior(option) - drawn - (back_weight + prior(option_before) - back_drawn);
        if random.share().ln() >= odds {
            self.remove(members);
            self.place(members, option_before, Some(&before), random);
        }
    }
}
