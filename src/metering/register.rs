//! Cumulative registers as one count that never falls: rollover, reset, exchange, readings that
//! dip or jump and come back.

use super::quality::{Action, QualityEntry, Tally};
use super::readings::is_multiple;

/// A learned range is trusted for a rollover only if the register had passed most of it: a step
/// larger than this share of the range is not consumption over its end.
const LARGEST_ROLLOVER_SHARE: f64 = 0.2;
/// How many times the power that the supply's limits allow may have flowed. Devices carry up to
/// 1.45 times their rating for an hour (IEC 60269-1, IEC 60898-1: conventional operating current);
/// the rest is for limits that are declared too low.
const OVERLOAD: f64 = 2.0;
/// A register that dips or jumps and comes back does so within so many readings.
const LONGEST_DIP: usize = 20;
/// Share of the steps that may be too large before the scale is doubted instead of the readings.
const DOUBT_SHARE: f64 = 0.01;

/// What is known of a register besides its readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RegisterRules {
    /// Factor between the register's own figures and those of the table.
    pub(super) factor: f64,
    /// Digits before the decimal sign; `None`: learned.
    pub(super) digits: Option<u32>,
    /// Largest power that the supply's limits allow; the same for reactive power. \[kW, kvar\]
    pub(super) limit_kw: f64,
}

/// A register's readings put right.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Unwound {
    /// One count that never falls, beginning with the first reading; `None` where nothing was read
    /// or the reading is left out. \[kWh, kvarh\]
    pub(super) counts: Vec<Option<f64>>,
    pub(super) quality: Vec<QualityEntry>,
}

/// Energy between two readings of a register that follow one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct RegisterStep {
    /// Start of the interval with the earlier reading, Unix seconds.
    pub(crate) from_s: i64,
    /// Start of the interval with the later reading, Unix seconds.
    pub(crate) to_s: i64,
    /// What the register counted in between. \[kWh\]
    pub(crate) energy_kwh: f64,
}

/// The steps of a register that has been put right.
pub(crate) fn register_steps(starts: &[i64], counts: &[Option<f64>]) -> Vec<RegisterStep> {
    let known: Vec<(i64, f64)> = starts
        .iter()
        .zip(counts)
        .filter_map(|(&start, count)| Some((start, (*count)?)))
        .collect();
    known
        .windows(2)
        .map(|pair| RegisterStep {
            from_s: pair[0].0,
            to_s: pair[1].0,
            energy_kwh: pair[1].1 - pair[0].1,
        })
        .collect()
}

/// What a register that has been put right counted; `None` with fewer than two readings. \[kWh\]
pub(crate) fn counted(counts: &[Option<f64>]) -> Option<f64> {
    let first = counts.iter().position(Option::is_some)?;
    let last = counts.iter().rposition(Option::is_some)?;
    (last > first).then_some(counts[last]? - counts[first]?)
}

/// The last digit that a register shows: the largest power of ten of which all readings are
/// multiples, in the units of the table; 0 where none is. \[kWh\]
pub(crate) fn last_digit(readings: &[Option<f64>], factor: f64) -> f64 {
    let digits = [100.0, 10.0, 1.0, 0.1, 0.01, 0.001];
    let digit = digits.into_iter().find(|&digit| {
        readings
            .iter()
            .flatten()
            .all(|&reading| is_multiple(reading / factor, digit))
    });
    digit.unwrap_or(0.0) * factor
}

/// Puts the readings of one register right.
pub(super) fn unwind(starts: &[i64], readings: &[Option<f64>], rules: RegisterRules) -> Unwound {
    let known: Vec<Reading> = starts
        .iter()
        .zip(readings)
        .enumerate()
        .filter_map(|(row, (&start, value))| value.map(|value| Reading { row, start, value }))
        .collect();
    let mut walk = Walk::new(&known, readings, rules);
    let mut counts = vec![None; readings.len()];
    let mut index = 0;
    while index < known.len() {
        let next = walk.take(index);
        if let Some(count) = walk.count_at(index) {
            counts[known[index].row] = Some(count);
        }
        index = next;
    }
    Unwound {
        counts,
        quality: walk.quality(),
    }
}

#[derive(Clone, Copy, Debug)]
struct Reading {
    row: usize,
    start: i64,
    value: f64,
}

/// A walk along the readings.
#[derive(Debug)]
struct Walk<'r> {
    known: &'r [Reading],
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

impl<'r> Walk<'r> {
    fn new(known: &'r [Reading], readings: &[Option<f64>], rules: RegisterRules) -> Walk<'r> {
        let mut walk = Walk {
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
        for pair in known.windows(2) {
            if pair[1].value - pair[0].value > walk.plausible(pair[0].start, pair[1].start) {
                too_fast.add(Some(pair[1].start));
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

    fn count_at(&self, index: usize) -> Option<f64> {
        (self.at == Some(index)).then(|| self.known[index].value + self.offset)
    }

    /// Judges a reading; gives the index of the next one to look at.
    fn take(&mut self, index: usize) -> usize {
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
    fn jump(&mut self, before: Reading, now: Reading, most: f64) {
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

    /// Index of the reading with which a register that fell or jumped is back: it stands where it
    /// stood before, or as much above as can have flowed, and came there in one jump. A register
    /// that climbs back from zero step by step has been reset.
    fn returns(&self, index: usize, before: Reading) -> Option<usize> {
        let away = self.known[index].value - before.value;
        let last = self.known.len().min(index + 1 + LONGEST_DIP);
        (index + 1..last).find(|&later| {
            let reading = self.known[later];
            let rise = reading.value - before.value;
            let most = self
                .plausible(before.start, reading.start)
                .min(0.5 * away.abs());
            let jump = (reading.value - self.known[later - 1].value).abs();
            rise >= 0.0 && rise <= most && jump >= 0.5 * away.abs()
        })
    }

    fn quality(self) -> Vec<QualityEntry> {
        let [reset_kwh, exchanged_kwh] = self.jumped_kwh;
        let entry = |tally: Tally, kind: &str, note: &str, action: Action, effect: Option<f64>| {
            let entry = tally.entry(kind, note)?;
            Some(entry.with(action).changing(effect))
        };
        [
            entry(
                self.rollovers,
                "register-rollover",
                "the register passed its last digit; one full range added",
                Action::Corrected,
                Some(self.rolled_kwh),
            ),
            entry(
                self.resets,
                "register-reset",
                "the register fell to zero; counted on from there, what it counted in that interval is not \
                 known",
                Action::Corrected,
                Some(reset_kwh),
            ),
            entry(
                self.exchanges,
                "register-exchange",
                "the register went on from a reading that it cannot have reached: another meter or register; \
                 counted on from there, what was counted in that interval is not known",
                Action::Corrected,
                Some(exchanged_kwh),
            ),
            entry(
                self.dips,
                "register-dip",
                "the register fell and came back; the low readings are left out",
                Action::LeftOut,
                Some(0.0),
            ),
            entry(
                self.spikes,
                "register-spike",
                "the register jumped up and came back; the high readings are left out",
                Action::LeftOut,
                Some(0.0),
            ),
            entry(
                self.too_fast,
                "register-too-fast",
                "the register counts more than twice what the supply's limits allow; check `scale`, `ratio` and \
                 the limits; taken as it stands",
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

#[cfg(test)]
mod tests {
    use super::*;

    /// One reading an hour, limits far away unless given.
    fn unwound(readings: &[f64], rules: RegisterRules) -> (Option<f64>, Vec<(String, u64)>) {
        let starts: Vec<i64> = (0..readings.len() as i64).map(|hour| hour * 3600).collect();
        let readings: Vec<Option<f64>> = readings.iter().copied().map(Some).collect();
        let found = unwind(&starts, &readings, rules);
        let kinds = found.quality.iter();
        (
            counted(&found.counts),
            kinds
                .map(|entry| (entry.kind.clone(), entry.count))
                .collect(),
        )
    }

    fn within(limit_kw: f64) -> RegisterRules {
        RegisterRules {
            factor: 1.0,
            digits: None,
            limit_kw,
        }
    }

    fn close(found: Option<f64>, expected: f64) -> bool {
        found.is_some_and(|found| (found - expected).abs() < 1e-6)
    }

    fn kinds(list: &[(&str, u64)]) -> Vec<(String, u64)> {
        list.iter()
            .map(|&(kind, count)| (kind.to_owned(), count))
            .collect()
    }

    /// A five-digit register from 99 970 over its end to 45 has counted 75; one with two decimals
    /// from 9999.90 to 0.35 has counted 0.45 (arithmetic of the rollover rule: add the range once).
    #[test]
    fn rollover_adds_the_range_once() {
        let (energy, found) = unwound(&[99_970.0, 45.0], within(50.0));
        assert!(close(energy, 75.0));
        assert_eq!(found, kinds(&[("register-rollover", 1)]));
        assert!(close(unwound(&[9999.90, 0.35], within(50.0)).0, 0.45));
    }

    /// Read as 99 970 and 45, times 20 for the transformers: 75 · 20 = 1500.
    #[test]
    fn the_range_is_that_of_the_register_before_its_factor() {
        let rules = RegisterRules {
            factor: 20.0,
            ..within(1000.0)
        };
        let (energy, found) = unwound(&[1_999_400.0, 900.0], rules);
        assert!(close(energy, 1500.0), "{energy:?} {found:?}");
    }

    #[test]
    fn a_wider_register_does_not_roll_over_at_a_smaller_power_of_ten() {
        // Declared with six digits: 9 990 → 5 cannot be its end.
        let rules = RegisterRules {
            digits: Some(6),
            ..within(50.0)
        };
        let (energy, found) = unwound(&[9980.0, 9990.0, 5.0, 9.0], rules);
        assert!(close(energy, 14.0));
        assert_eq!(found, kinds(&[("register-reset", 1)]));
        // Learned: it has shown five digits in its first lap.
        let (energy, _) = unwound(&[99_990.0, 5.0, 9000.0, 9990.0, 4.0, 6.0], within(9000.0));
        assert!(close(energy, 15.0 + 8995.0 + 990.0 + 2.0), "{energy:?}");
    }

    #[test]
    fn a_step_over_the_end_that_is_too_large_is_an_exchange() {
        // 99 970 → 9 045 would be 9 075 kWh in an hour at a supply of 69 kW.
        let (energy, found) = unwound(&[99_960.0, 99_970.0, 9045.0, 9055.0], within(69.0));
        assert!(close(energy, 20.0));
        assert_eq!(found, kinds(&[("register-exchange", 1)]));
        // The new register may stand higher.
        let (energy, found) = unwound(&[100.0, 110.0, 70_000.0, 70_010.0], within(69.0));
        assert!(close(energy, 20.0));
        assert_eq!(found, kinds(&[("register-exchange", 1)]));
    }

    #[test]
    fn a_reset_counts_on_and_a_dip_is_left_out() {
        let (energy, found) = unwound(&[5000.0, 5010.0, 3.0, 5.0], within(50.0));
        assert!(close(energy, 12.0));
        assert_eq!(found, kinds(&[("register-reset", 1)]));
        let dip = [5000.0, 5010.0, 0.0, 0.0, 5011.0, 5012.0];
        let (energy, found) = unwound(&dip, within(50.0));
        assert!(close(energy, 12.0));
        assert_eq!(found, kinds(&[("register-dip", 2)]));
        let spike = [5000.0, 5010.0, 65_535.0, 5011.0, 5012.0];
        let (energy, found) = unwound(&spike, within(50.0));
        assert!(close(energy, 12.0));
        assert_eq!(found, kinds(&[("register-spike", 1)]));
        assert_eq!(unwound(&[7.0], within(50.0)).0, None);
    }

    #[test]
    fn a_small_register_that_climbs_back_was_reset() {
        // 0.5 an hour; at 2.0 it is set to zero and passes 2.0 again four hours later.
        let readings = [1.5, 2.0, 0.0, 0.5, 1.0, 1.5, 2.0, 2.5];
        let (energy, found) = unwound(&readings, within(50.0));
        assert!(close(energy, 0.5 + 2.5));
        assert_eq!(found, kinds(&[("register-reset", 1)]));
    }

    #[test]
    fn a_register_in_the_wrong_unit_is_doubted_as_a_whole() {
        let readings: Vec<f64> = (0..50).map(|hour| f64::from(hour) * 5000.0).collect();
        let (energy, found) = unwound(&readings, within(69.0));
        assert!(close(energy, 49.0 * 5000.0));
        assert_eq!(found, kinds(&[("register-too-fast", 49)]));
    }

    #[test]
    fn steps_and_digits() {
        let counts = [Some(10.0), None, Some(12.5), Some(13.0)];
        let steps = register_steps(&[0, 60, 120, 180], &counts);
        assert_eq!((steps[0].from_s, steps[0].to_s), (0, 120));
        assert!((steps[0].energy_kwh - 2.5).abs() < 1e-12);
        let digit = |readings: &[f64], factor| {
            let readings: Vec<Option<f64>> = readings.iter().copied().map(Some).collect();
            last_digit(&readings, factor)
        };
        assert!((digit(&[48210.4, 48210.6, 50000.0], 1.0) - 0.1).abs() < 1e-12);
        // A large register keeps its hundredths.
        assert!((digit(&[48210.44, 48210.6], 1.0) - 0.01).abs() < 1e-12);
        // Read as 12.3 and multiplied by 20.
        assert!((digit(&[246.0, 248.0], 20.0) - 2.0).abs() < 1e-12);
    }
}
