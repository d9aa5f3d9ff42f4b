//! The interval that is being filled: its samples in full precision.

use crate::intervals::aggregation::{Keeping, Rule};

/// What became of the readings of an interval that came a second time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fate {
    /// They were there already.
    Repeated,
    /// Others were there already; the first are kept.
    Contradicted,
    /// Samples of moments that the log had passed before.
    Late,
}

/// Samples of one quantity within an interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Gathered {
    pub(crate) count: u32,
    /// Sum of the samples, or the last one of a register.
    pub(crate) sum: f64,
    pub(crate) squares: f64,
    pub(crate) min: f64,
    pub(crate) max: f64,
}

impl Gathered {
    pub(crate) const NOTHING: Gathered = Gathered {
        count: 0,
        sum: 0.0,
        squares: 0.0,
        min: f64::INFINITY,
        max: f64::NEG_INFINITY,
    };

    fn combine(&mut self, rule: Rule, later: &Gathered, is_last: bool) {
        if later.count == 0 {
            return;
        }
        if rule != Rule::Last {
            self.sum += later.sum;
        } else if is_last || self.count == 0 {
            self.sum = later.sum;
        }
        self.count += later.count;
        self.squares += later.squares;
        self.min = self.min.min(later.min);
        self.max = self.max.max(later.max);
    }
}

/// The moments of an interval from the first to the last sample, counted from its start. Where
/// moments are not distinguished it is empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Span {
    pub(crate) first: u16,
    pub(crate) last: u16,
}

impl Span {
    pub(crate) const NOTHING: Span = Span {
        first: u16::MAX,
        last: 0,
    };

    fn with(self, other: Span) -> Span {
        Span {
            first: self.first.min(other.first),
            last: self.last.max(other.last),
        }
    }

    pub(crate) fn meets(self, other: Span) -> bool {
        self.first <= other.last && other.first <= self.last
    }

    pub(crate) fn covers(self, other: Span) -> bool {
        self.first <= other.first && other.last <= self.last
    }
}

/// An interval with its samples so far.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Gathering {
    pub(crate) bin: i64,
    pub(crate) samples: u32,
    pub(crate) columns: Vec<Gathered>,
    pub(crate) span: Span,
    /// Moments with a sample, one bit each.
    seen: Vec<u64>,
    /// The last sample that was taken: its moment and its readings.
    latest: Option<u16>,
    readings: Vec<f64>,
}

impl Gathering {
    pub(crate) fn new(bin: i64, columns: usize) -> Gathering {
        Gathering {
            bin,
            samples: 0,
            columns: vec![Gathered::NOTHING; columns],
            span: Span::NOTHING,
            seen: Vec::new(),
            latest: None,
            readings: Vec::new(),
        }
    }

    /// What was kept of an interval.
    pub(crate) fn of(bin: i64, samples: u32, span: Span, columns: Vec<Gathered>) -> Gathering {
        Gathering {
            samples,
            columns,
            span,
            ..Gathering::new(bin, 0)
        }
    }

    /// Takes a sample's moment; where it was taken before, says what becomes of the sample.
    #[inline]
    pub(crate) fn take(&mut self, moment: u16, values: &[f64]) -> Option<Fate> {
        let (word, bit) = (usize::from(moment / 64), 1_u64 << (moment % 64));
        if word >= self.seen.len() {
            self.seen.resize(word + 1, 0);
        }
        if self.seen[word] & bit != 0 {
            if self.latest != Some(moment) {
                return Some(Fate::Late);
            }
            #[expect(clippy::float_cmp, reason = "the same text gives the same number")]
            let same = |(a, b): (&f64, &f64)| a == b || a.is_nan() && b.is_nan();
            return Some(if self.readings.iter().zip(values).all(same) {
                Fate::Repeated
            } else {
                Fate::Contradicted
            });
        }
        self.seen[word] |= bit;
        self.latest = Some(moment);
        if self.readings.len() == values.len() {
            self.readings.copy_from_slice(values);
        } else {
            self.readings = values.to_vec();
        }
        None
    }

    pub(crate) fn restart(&mut self, bin: i64) {
        self.bin = bin;
        self.samples = 0;
        self.columns.fill(Gathered::NOTHING);
        self.span = Span::NOTHING;
        self.seen.fill(0);
        self.latest = None;
    }

    /// Adds a sample; NaN represents no reading.
    pub(crate) fn add(
        &mut self,
        shape: &[Keeping],
        moment: Option<u16>,
        values: impl Iterator<Item = f64>,
    ) {
        self.samples += 1;
        // Rows may run backwards: the last reading is that of the last moment.
        let mut is_last = true;
        if let Some(moment) = moment {
            is_last = moment >= self.span.last;
            self.span.first = self.span.first.min(moment);
            self.span.last = self.span.last.max(moment);
        }
        for ((keeping, own), value) in shape.iter().zip(&mut self.columns).zip(values) {
            if value.is_nan() {
                continue;
            }
            own.count += 1;
            if keeping.rule != Rule::Last {
                own.sum += value;
            } else if is_last || own.count == 1 {
                own.sum = value;
            }
            if keeping.max {
                own.squares += value * value;
                own.min = if value < own.min { value } else { own.min };
                own.max = if value > own.max { value } else { own.max };
            }
        }
    }

    /// Takes over later samples of the same interval.
    pub(crate) fn combine(&mut self, shape: &[Keeping], later: &Gathering) {
        self.samples += later.samples;
        let is_last = later.span == Span::NOTHING || later.span.last >= self.span.last;
        self.span = self.span.with(later.span);
        for ((keeping, own), later) in shape.iter().zip(&mut self.columns).zip(&later.columns) {
            own.combine(keeping.rule, later, is_last);
        }
    }
}
