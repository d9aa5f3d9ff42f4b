//! Mean power over blocks short enough to distinguish clocks.

use analysis::NetPower;
use metering::IntervalTable;

/// Blocks are no shorter than this: clocks are distinguished to five minutes. (s)
const SHORTEST_S: i64 = 300;

/// Mean powers over whole blocks, aligned to UTC.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Fine {
    /// Length of a block. (s)
    pub(crate) length_s: i64,
    /// Start and mean, ascending; only blocks with all their readings. (kW)
    pub(crate) kw: Vec<(i64, f64)>,
}

impl Fine {
    /// Of a meter's intervals: as many together as make five minutes or more.
    pub(crate) fn of(table: &IntervalTable, draw: NetPower<'_>) -> Fine {
        let interval_s = i64::from(table.interval_s());
        let length_s = interval_s * (SHORTEST_S + interval_s - 1).div_euclid(interval_s).max(1);
        let Some(power) = draw.power_kw else {
            return Fine::default();
        };
        let rows = table.starts().iter().zip(power.iter());
        let known = rows.filter_map(|(&start, kw)| Some((start, kw?)));
        Fine::gathered(known, interval_s, length_s)
    }

    /// The same over longer blocks; `None` where these are no multiple of its own.
    pub(crate) fn over(&self, length_s: i64) -> Option<Fine> {
        let fits = self.length_s > 0 && length_s % self.length_s == 0;
        fits.then(|| Fine::gathered(self.kw.iter().copied(), self.length_s, length_s))
    }

    fn gathered(known: impl Iterator<Item = (i64, f64)>, step_s: i64, length_s: i64) -> Fine {
        let mut blocks: Vec<(i64, f64, i64)> = Vec::new();
        for (start, kw) in known {
            let block = start.div_euclid(length_s) * length_s;
            match blocks.last_mut() {
                Some((last, sum, count)) if *last == block => {
                    *sum += kw;
                    *count += 1;
                }
                _ => blocks.push((block, kw, 1)),
            }
        }
        let whole = blocks
            .into_iter()
            .filter(|(.., count)| count * step_s >= length_s);
        Fine {
            length_s,
            kw: whole
                .map(|(at, sum, count)| (at, sum / count as f64))
                .collect(),
        }
    }

    /// Mean power over a time that begins and ends with blocks; `None` where one is missing. (kW)
    pub(crate) fn mean(&self, from_s: i64, to_s: i64) -> Option<f64> {
        let wanted = (to_s - from_s).checked_div(self.length_s)?;
        let first = self.kw.binary_search_by_key(&from_s, |(at, _)| *at).ok()?;
        let own = self.kw.get(first..first + usize::try_from(wanted).ok()?)?;
        let last = own.last()?.0 + self.length_s;
        (last == to_s).then(|| own.iter().map(|(_, kw)| kw).sum::<f64>() / own.len() as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{draw_of, power_table};

    /// Minutes of 1 to 10 kW are blocks of 3 and 8 kW; the next has a hole.
    #[test]
    fn only_whole_blocks_count() {
        let mut minutes: Vec<Option<f64>> = (1..=15).map(|kw| Some(f64::from(kw))).collect();
        minutes[12] = None;
        let table = power_table(0, 60, &minutes);
        let fine = Fine::of(&table, draw_of(&table));
        assert_eq!(
            (fine.length_s, fine.kw.as_slice()),
            (300, &[(0, 3.0), (300, 8.0)][..])
        );
        assert_eq!(fine.mean(0, 600), Some(5.5));
        assert_eq!(fine.mean(300, 900), None);
        assert_eq!(fine.over(600).map(|fine| fine.kw), Some(vec![(0, 5.5)]));
        assert_eq!(fine.over(420), None);
    }
}
