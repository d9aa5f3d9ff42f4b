//! How far one meter's clock is from that of the meter above it, from changes that both see.

use std::ops::RangeInclusive;

/// Fewer changes than this say too little.
const FEWEST: usize = 200;
/// Longest difference of clocks that is looked for: a little more than an hour of summer time. (s)
const LONGEST_SHIFT_S: i64 = 4200;
/// A correlation below this is none.
const LEAST: f64 = 0.3;
/// So much better must it be when shifted.
const BETTER: f64 = 0.2;

/// Powers by the start of their block, ascending, and the length of a block. (s)
#[derive(Clone, Copy, Debug)]
pub struct Blocks<'a> {
    /// Starts and means; blocks without readings are left out.
    pub kw: &'a [(i64, f64)],
    /// Length of a block. (s)
    pub length_s: i64,
}

/// A difference of two clocks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClockOffset {
    /// How much later the meter below stamps what both see: positive where its clock is ahead. (s)
    pub ahead_s: i64,
    /// Correlation of the changes as they are stamped.
    pub as_stamped: f64,
    /// The same when shifted.
    pub when_shifted: f64,
}

/// Whole blocks by which the clock of a meter below differs from that of the meter above, by the correlation of
/// their changes; `None` where they agree, or where the changes do not show it.
///
/// Changes have no mean to speak of; a shift is only reported if they correlate far better with it than without
/// (0.2, and at least 0.3 in size: common practice). Half a block's shift shares a change between two blocks and is not
/// reported.
///
/// # Example
///
/// A load that switches at odd times, stamped half an hour later by the meter below.
///
/// ```
/// use demand::{Blocks, clock_offset};
///
/// let load = |at: i64| if (at / 900 * 7919) % 13 < 4 { 5.0 } else { 1.0 };
/// let above: Vec<(i64, f64)> = (0..500).map(|n| (n * 900, 20.0 + load(n * 900))).collect();
/// let below: Vec<(i64, f64)> = (0..500).map(|n| (n * 900, load(n * 900 - 1800))).collect();
/// let blocks = |kw| Blocks { kw, length_s: 900 };
/// let offset = clock_offset(blocks(&above), blocks(&below)).expect("clocks that differ");
/// assert_eq!(offset.ahead_s, 1800);
/// assert_eq!(clock_offset(blocks(&above), blocks(&above)), None);
/// ```
#[must_use]
pub fn clock_offset(above: Blocks<'_>, below: Blocks<'_>) -> Option<ClockOffset> {
    let block_s = above.length_s;
    let grid = CommonBlocks::over(&[above, below])?;
    let (upper, lower) = (grid.changes(above), grid.changes(below));
    let most = LONGEST_SHIFT_S / block_s;
    let at = |shift: i64| correlation(&upper, &lower, shift);
    let now = at(0)?;
    let (shift, size) = shifts(most)
        .filter_map(|shift| Some((shift, at(shift)?.abs())))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let differs = shift != 0 && size >= LEAST && size >= now.abs() + BETTER;
    differs.then_some(ClockOffset {
        ahead_s: shift * block_s,
        as_stamped: now,
        when_shifted: size,
    })
}

fn shifts(most: i64) -> RangeInclusive<i64> {
    -most..=most
}

/// Blocks of two meters on one count.
struct CommonBlocks {
    first_s: i64,
    length_s: i64,
    len: usize,
}

impl CommonBlocks {
    fn over(meters: &[Blocks<'_>]) -> Option<CommonBlocks> {
        let length_s = meters.first()?.length_s;
        let first_s = meters.iter().filter_map(|m| Some(m.kw.first()?.0)).min()?;
        let last_s = meters.iter().filter_map(|m| Some(m.kw.last()?.0)).max()?;
        Some(CommonBlocks {
            first_s,
            length_s,
            len: usize::try_from((last_s - first_s) / length_s).ok()? + 1,
        })
    }

    /// From block to block; NaN where one of them has no reading.
    fn changes(&self, meter: Blocks<'_>) -> Vec<f64> {
        let mut power = vec![f64::NAN; self.len];
        for &(start_s, kw) in meter.kw {
            power[((start_s - self.first_s) / self.length_s) as usize] = kw;
        }
        let mut changes = vec![f64::NAN; self.len];
        for at in 1..self.len {
            changes[at] = power[at] - power[at - 1];
        }
        changes
    }
}

/// Correlation of changes, the second so many blocks later.
fn correlation(upper: &[f64], lower: &[f64], shift: i64) -> Option<f64> {
    let len = upper.len() as i64;
    let (from, to) = (0.max(-shift), len.min(len - shift));
    if from >= to {
        return None;
    }
    let upper = &upper[from as usize..to as usize];
    let lower = &lower[(from + shift) as usize..(to + shift) as usize];
    let (mut count, mut both, mut a2, mut b2) = (0_usize, 0.0, 0.0, 0.0);
    for (a, b) in upper.iter().zip(lower) {
        if !a.is_nan() && !b.is_nan() {
            count += 1;
            both += a * b;
            a2 += a * a;
            b2 += b * b;
        }
    }
    let size: f64 = a2 * b2;
    (count >= FEWEST && size > 0.0).then(|| both / size.sqrt())
}
