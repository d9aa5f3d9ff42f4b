//! Intervals that a log holds more than once, in bounded memory.

use crate::intervals::open_interval::Fate;

/// So many are listed one by one; of more only their number, the earliest and the latest are kept. A log that repeats
/// itself for ever takes no more memory than this.
const LISTED: usize = 1 << 16;

const FATES: [Fate; 3] = [Fate::Repeated, Fate::Contradicted, Fate::Late];

/// Number, earliest and latest interval of those beyond.
type Beyond = (u32, i64, i64);

/// Intervals that occur again, what became of the readings, and of how many.
#[derive(Clone, Debug, Default)]
pub(crate) struct RepeatedIntervals {
    listed: Vec<(i64, Fate, u32)>,
    beyond: [Option<Beyond>; 3],
}

impl RepeatedIntervals {
    /// An interval occurs again.
    pub(crate) fn add(&mut self, bin: i64, fate: Fate, readings: u32) {
        if self.listed.len() < LISTED {
            self.listed.push((bin, fate, readings));
        } else {
            self.count(fate, (readings, bin, bin));
        }
    }

    fn count(&mut self, fate: Fate, (readings, first, last): Beyond) {
        for (known, own) in FATES.iter().zip(&mut self.beyond) {
            if *known == fate {
                let (sum, earliest, latest) = own.unwrap_or((0, first, last));
                let sum = sum.saturating_add(readings);
                *own = Some((sum, earliest.min(first), latest.max(last)));
            }
        }
    }

    /// Takes over those of a later part.
    pub(crate) fn append(&mut self, later: RepeatedIntervals) {
        for (bin, fate, readings) in later.listed {
            self.add(bin, fate, readings);
        }
        for (fate, beyond) in FATES.into_iter().zip(later.beyond) {
            if let Some(beyond) = beyond {
                self.count(fate, beyond);
            }
        }
    }

    /// All of them; those beyond count at their earliest and their latest.
    pub(crate) fn take(&mut self) -> Vec<(i64, Fate, u32)> {
        let mut all = std::mem::take(&mut self.listed);
        for (fate, beyond) in FATES.into_iter().zip(std::mem::take(&mut self.beyond)) {
            let Some((readings, first, last)) = beyond else {
                continue;
            };
            if readings > 1 {
                all.push((first, fate, readings - 1));
            }
            all.push((last, fate, 1));
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_and_the_ends_of_ever_so_many_are_known() {
        let mut met = RepeatedIntervals::default();
        let mut later = RepeatedIntervals::default();
        for bin in 0..200_000 {
            met.add(bin, Fate::Repeated, 1);
            later.add(-bin, Fate::Late, 2);
        }
        met.append(later);
        let all = met.take();
        assert!(all.len() <= LISTED + 6);
        let readings = |fate: Fate| -> u32 {
            let own = all.iter().filter(|one| one.1 == fate);
            own.map(|one| one.2).sum()
        };
        assert_eq!(readings(Fate::Repeated), 200_000);
        assert_eq!(readings(Fate::Late), 400_000);
        assert_eq!(readings(Fate::Contradicted), 0);
        let bins: Vec<i64> = all.iter().map(|one| one.0).collect();
        assert_eq!(bins.iter().max(), Some(&199_999));
        assert_eq!(bins.iter().min(), Some(&-199_999));
        assert!(met.take().is_empty());
    }
}
