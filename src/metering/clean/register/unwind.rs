//! A walk along the readings of a register, and what is met on the way.

use super::{RegisterRules, last_digit};
use crate::table::quality::{Action, QualityEntry, Tally};

/// A learned range is trusted for a rollover only if the register had passed most of it: a step
/// larger than this share of the range is not consumption over its end.
const LARGEST_ROLLOVER_SHARE: f64 = 0.2;
/// How many times the power that the supply's limits allow may have flowed. Devices carry up to
/// 1.45 times their rating for an hour (IEC 60269-1, IEC 60898-1: conventional operating current);
/// the rest is for limits that are declared too low.
const OVERLOAD: f64 = 2.0;
/// A register that dips or jumps and comes back does so within so many readings.
const LONGEST_DIP: usize = 20;
/// A fall of at most this share of the count that comes back is a reading that returns, however much flowed meanwhile.
const SMALL_FALL: f64 = 0.01;
/// Share of the steps that may be too large before the scale is doubted instead of the readings.
const DOUBT_SHARE: f64 = 0.01;

/// A reading that is there.
#[derive(Clone, Copy, Debug)]
pub(super) struct RegisterReading {
    pub(super) row: usize,
    pub(super) start: i64,
    pub(super) value: f64,
}

/// A walk along the readings.
#[derive(Debug)]
pub(super) struct Unwinding<'r> {
    known: &'r [RegisterReading],
    rules: RegisterRules,
    /// The last digit; a step may be one digit more than flowed. \[kWh\]
    digit: f64,
    /// False where so many steps are too large that the scale must be wrong.
    bounded: bool,
    /// Index of the last reading that counts.
    at: Option<usize>,
    /// Added to readings to make counts.
    offset: f64,
    /// Largest reading of the present register.
    highest: f64,
    rollovers: Tally,
    rolled_kwh: f64,
    resets: Tally,
    exchanges: Tally,
    jumped_kwh: [f64; 2],
    dips: Tally,
    spikes: Tally,
    too_fast: Tally,
}

impl<'r> Unwinding<'r> {
    pub(super) fn new(
        known: &'r [RegisterReading],
        readings: &[Option<f64>],
        rules: RegisterRules,
    ) -> Unwinding<'r> {
        let mut walk = Unwinding {
            known,
            rules,
            digit: last_digit(readings, rules.factor),
            bounded: true,
            at: None,
            offset: 0.0,
            highest: 0.0,
            rollovers: Tally::default(),
            rolled_kwh: 0.0,
            resets: Tally::default(),
            exchanges: Tally::default(),
            jumped_kwh: [0.0; 2],
            dips: Tally::default(),
            spikes: Tally::default(),
            too_fast: Tally::default(),
        };
        let mut too_fast = Tally::default();
        for index in 1..known.len() {
            let (before, now) = (known[index - 1], known[index]);
            let is_fast = now.value - before.value > walk.plausible(before.start, now.start);
            if is_fast && !walk.comes_back(index) && walk.returns(index, before).is_none() {
                too_fast.add(Some(now.start));
            }
        }
        if too_fast.count > 2 && too_fast.count as f64 > DOUBT_SHARE * known.len() as f64 {
            walk.bounded = false;
            walk.too_fast = too_fast;
        }
        walk
    }

    /// The most that can have been counted between two times. \[kWh\]
    fn plausible(&self, from_s: i64, to_s: i64) -> f64 {
        if !self.bounded {
            return f64::INFINITY;
        }
        let hours = (to_s - from_s) as f64 / 3600.0;
        OVERLOAD * self.rules.limit_kw * hours + self.digit
    }

    pub(super) fn count_at(&self, index: usize) -> Option<f64> {
        (self.at == Some(index)).then(|| self.known[index].value + self.offset)
    }

    /// Judges a reading; gives the index of the next one to look at.
    pub(super) fn take(&mut self, index: usize) -> usize {
        let now = self.known[index];
        let Some(before) = self.at.map(|at| self.known[at]) else {
            self.at = Some(index);
            self.highest = now.value;
            return index + 1;
        };
        let step = now.value - before.value;
        let most = self.plausible(before.start, now.start);
        if step < 0.0 || step > most {
            if let Some(back) = self.returns(index, before) {
                let met = if step < 0.0 {
                    &mut self.dips
                } else {
                    &mut self.spikes
                };
                for left_out in &self.known[index..back] {
                    met.add(Some(left_out.start));
                }
                return back;
            }
            self.jump(before, now, most);
        }
        self.at = Some(index);
        self.highest = self.highest.max(now.value);
        index + 1
    }

    /// The register went on elsewhere: over its end, from zero, or it is another one.
    fn jump(&mut self, before: RegisterReading, now: RegisterReading, most: f64) {
        let range = self.range();
        let over = now.value + range - before.value;
        let learned_most = if self.rules.digits.is_some() {
            range
        } else {
            range * LARGEST_ROLLOVER_SHARE
        };
        if now.value < before.value && over >= 0.0 && over <= most.min(learned_most) {
            self.rollovers.add(Some(now.start));
            self.offset += range;
            self.rolled_kwh += range;
            return;
        }
        let from_zero = now.value < before.value
            && now.value <= most.min(0.01 * before.value.abs()).max(self.digit);
        let jumped = before.value - now.value;
        let (met, jumps) = if from_zero {
            (&mut self.resets, 0)
        } else {
            (&mut self.exchanges, 1)
        };
        met.add(Some(now.start));
        self.jumped_kwh[jumps] += jumped;
        self.offset += jumped;
        self.highest = now.value;
    }

    /// Range of the present register in the units of the table.
    fn range(&self) -> f64 {
        let factor = self.rules.factor;
        match self.rules.digits {
            Some(digits) => 10_f64.powi(digits as i32) * factor,
            None => next_power_of_ten(self.highest / factor) * factor,
        }
    }

    /// Does a register that fell stand again where it stood a few readings earlier, or as much above as can have flowed?
    fn comes_back(&self, index: usize) -> bool {
        let now = self.known[index];
        let earlier = &self.known[index.saturating_sub(1 + LONGEST_DIP)..index];
        earlier.iter().any(|reading| {
            let rise = now.value - reading.value;
            rise >= 0.0 && rise <= self.plausible(reading.start, now.start)
        })
    }

    /// Index of the reading with which a register that fell or jumped is back: it stands where it
    /// stood before, or as much above as can have flowed, and came there in one jump. A register
    /// that climbs back from zero step by step has been reset.
    fn returns(&self, index: usize, before: RegisterReading) -> Option<usize> {
        let away = self.known[index].value - before.value;
        let last = self.known.len().min(index + 1 + LONGEST_DIP);
        (index + 1..last).find(|&later| {
            let reading = self.known[later];
            let rise = reading.value - before.value;
            let most = self.plausible(before.start, reading.start);
            // A fall of a small part of the count is neither a reset nor another register.
            let is_small = self.bounded && away < 0.0 && -away <= SMALL_FALL * before.value;
            let most = if is_small {
                most
            } else {
                most.min(0.5 * away.abs())
            };
            let jump = (reading.value - self.known[later - 1].value).abs();
            rise >= 0.0 && rise <= most && jump >= 0.5 * away.abs()
        })
    }

    pub(super) fn quality(self) -> Vec<QualityEntry> {
        let [reset_kwh, exchanged_kwh] = self.jumped_kwh;
        let entry = |tally: Tally, kind: &str, note: &str, action: Action, effect: Option<f64>| {
            let entry = tally.entry(kind, note)?;
            Some(entry.with(action).changing(effect))
        };
        [
            entry(
                self.rollovers,
                "register-rollover",
                "the register passed its last digit and began again at zero; one full range is added to its readings",
                Action::Corrected,
                Some(self.rolled_kwh),
            ),
            entry(
                self.resets,
                "register-reset",
                "the register was reset to zero; counting continues from there, the energy of that interval is not known",
                Action::Corrected,
                Some(reset_kwh),
            ),
            entry(
                self.exchanges,
                "register-exchange",
                "the register continues from a reading that it cannot have reached: another meter or register; counting continues from there, the energy of that interval is not known",
                Action::Corrected,
                Some(exchanged_kwh),
            ),
            entry(
                self.dips,
                "register-dip",
                "the register fell and came back; the low readings are excluded",
                Action::LeftOut,
                Some(0.0),
            ),
            entry(
                self.spikes,
                "register-spike",
                "the register jumped up and came back; the high readings are excluded",
                Action::LeftOut,
                Some(0.0),
            ),
            entry(
                self.too_fast,
                "register-too-fast",
                "the register counts more than twice what the limits of the supply allow; check `scale`, `ratio` and the limits; kept as logged",
                Action::Kept,
                None,
            ),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

fn next_power_of_ten(value: f64) -> f64 {
    let mut range = 10.0;
    while range <= value {
        range *= 10.0;
    }
    range
}
