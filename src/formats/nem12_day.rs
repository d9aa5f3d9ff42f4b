//! A day of a NEM12 file: the values and quality of its record 300, and the records 400 below it.

use super::channel::{EstimatedRange, Stretch};
use super::line_place::short;
use super::market_time;

/// The channel that a record 200 opened.
#[derive(Clone, Debug)]
pub(super) struct OpenChannel {
    pub(super) channel: usize,
    /// From the unit of the file to kWh or kvarh.
    pub(super) factor: f64,
    pub(super) interval_min: usize,
}

/// What is wrong in a record, and what would be right.
#[derive(Debug)]
pub(super) struct DayFault {
    pub(super) what: String,
    pub(super) expected: String,
}

impl DayFault {
    fn new(what: String, expected: impl Into<String>) -> DayFault {
        DayFault {
            what,
            expected: expected.into(),
        }
    }
}

/// The day of a record 300, until its records 400 are known.
#[derive(Debug)]
pub(super) struct OpenDay<'t> {
    pub(super) channel: usize,
    pub(super) stretch: Stretch,
    pub(super) text: &'t str,
    pub(super) updated: &'t str,
    /// By records 400: up to which interval the quality is known.
    varies: Option<usize>,
}

impl<'t> OpenDay<'t> {
    /// Reads a record 300.
    pub(super) fn read(
        file: &str,
        open: &OpenChannel,
        line: usize,
        text: &'t str,
    ) -> Result<OpenDay<'t>, DayFault> {
        let count = 1440 / open.interval_min;
        let mut fields = text.split(',');
        fields.next();
        let date = fields.next().unwrap_or_default().trim();
        let start_s = market_time::day(date).ok_or_else(|| {
            DayFault::new(
                format!("a day of `{file}` has the date `{}`", short(date)),
                "expected a date such as 20260309",
            )
        })?;
        let mut values = Vec::with_capacity(count);
        let mut quality = "";
        for field in fields.by_ref() {
            let field = field.trim();
            match fast_float2::parse::<f64, _>(field) {
                Ok(value) if value.is_finite() => values.push(value * open.factor),
                _ if field.is_empty() && values.len() < count => values.push(f64::NAN),
                _ => {
                    quality = field;
                    break;
                }
            }
        }
        let missing = values.iter().filter(|value| value.is_nan()).count();
        if values.len() != count || missing > 0 && !quality.starts_with('N') {
            let found = values.len() - missing;
            return Err(DayFault::new(
                format!(
                    "{date} of `{file}` has {found} values; intervals of {} min have {count}",
                    open.interval_min
                ),
                format!("expected {count} values and a quality, found {found} values"),
            ));
        }
        let mut stretch = Stretch {
            start_s,
            interval_s: open.interval_min as u32 * 60,
            values,
            estimated: Vec::new(),
            line,
        };
        let mut varies = None;
        match quality.bytes().next() {
            Some(b'A') => {}
            Some(b'E' | b'F' | b'S') => stretch
                .estimated
                .push(EstimatedRange { from: 0, to: count }),
            Some(b'N') => stretch.values.fill(f64::NAN),
            Some(b'V') => varies = Some(0),
            _ => {
                return Err(DayFault::new(
                    format!("{date} of `{file}` has the quality `{}`", short(quality)),
                    "expected A, E, F, N, S or V, with a method after E, F and S",
                ));
            }
        }
        // A reason and its words are between the quality and the time of the last change.
        let updated = fields.nth(2).unwrap_or_default().trim();
        Ok(OpenDay {
            channel: open.channel,
            stretch,
            text,
            updated,
            varies,
        })
    }

    /// Takes the quality of some intervals from a record 400.
    pub(super) fn qualify(&mut self, file: &str, text: &str) -> Result<(), DayFault> {
        let fields: Vec<&str> = text.split(',').map(str::trim).collect();
        let number = |at: usize| fields.get(at).and_then(|field| field.parse::<usize>().ok());
        let count = self.stretch.values.len();
        let known = self.varies.unwrap_or(0);
        let range = number(1)
            .zip(number(2))
            .filter(|&(from, to)| from == known + 1 && from <= to && to <= count);
        let quality = fields.get(3).and_then(|field| field.bytes().next());
        let (Some((from, to)), Some(_), Some(quality @ (b'A' | b'E' | b'F' | b'S' | b'N'))) =
            (range, self.varies, quality)
        else {
            return Err(DayFault::new(
                format!("a record 400 of `{file}` does not fit the day above it"),
                format!(
                    "expected intervals from {} to {count} at most, and A, E, F, N or S",
                    known + 1
                ),
            ));
        };
        self.varies = Some(to);
        match quality {
            b'A' => {}
            b'N' => self.stretch.values[from - 1..to].fill(f64::NAN),
            _ => self
                .stretch
                .estimated
                .push(EstimatedRange { from: from - 1, to }),
        }
        Ok(())
    }

    /// The fault of a day that ends before the quality of all its intervals is known.
    pub(super) fn unqualified(&self, file: &str) -> Option<DayFault> {
        let count = self.stretch.values.len();
        let known = self.varies.filter(|&known| known != count)?;
        Some(DayFault::new(
            format!(
                "the quality of {} of {count} intervals of a day of `{file}` is not given",
                count - known
            ),
            format!("expected records 400 below it for the intervals 1 to {count}"),
        ))
    }
}
