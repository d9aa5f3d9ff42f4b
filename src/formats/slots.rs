//! Columns that are the periods of a day, by their headings: times, ranges of times, or numbers.

/// Fewest columns that are taken for the periods of a day: those of a day with an hour less.
const FEWEST: usize = 23;

/// A run of columns, one for each period.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct PeriodColumns {
    pub(crate) first: usize,
    pub(crate) count: usize,
    /// Length of a period. (s)
    pub(crate) interval_s: u32,
    /// From the start of the day to that of the first period. (s)
    pub(crate) first_s: i64,
    /// Headings are numbers, not times.
    pub(crate) by_number: bool,
}

/// What a heading says.
#[derive(Clone, Debug, PartialEq, Eq)]
enum PeriodLabel {
    /// Minutes from midnight, and the end where it is a range.
    Time(i64, Option<i64>),
    /// A number behind the same word.
    Number(String, i64),
}

impl PeriodColumns {
    /// The longest run of headings that are periods.
    pub(crate) fn of_names(names: &[String]) -> Option<PeriodColumns> {
        let labels: Vec<Option<PeriodLabel>> = names.iter().map(|name| label(name)).collect();
        let mut best: Option<(usize, usize)> = None;
        let mut first = 0;
        while first < labels.len() {
            let count = run(&labels[first..]);
            if count >= FEWEST && best.is_none_or(|(_, most)| count > most) {
                best = Some((first, count));
            }
            first += count.max(1);
        }
        let (first, count) = best?;
        match (labels[first].clone()?, labels[first + 1].clone()?) {
            (PeriodLabel::Time(start, end), PeriodLabel::Time(next, _)) => {
                let step = next - start;
                let first_s = match end {
                    Some(_) => start * 60,
                    // Midnight first: the starts; else the first label is the end of the first period.
                    None if start == 0 => 0,
                    None => (start - step) * 60,
                };
                Some(PeriodColumns {
                    first,
                    count,
                    interval_s: u32::try_from(step * 60).ok()?,
                    first_s,
                    by_number: false,
                })
            }
            (PeriodLabel::Number(..), PeriodLabel::Number(..)) => Some(PeriodColumns {
                first,
                count,
                interval_s: interval_s_of(count)?,
                first_s: 0,
                by_number: true,
            }),
            _ => None,
        }
    }

    /// The time of the first label. (s)
    pub(crate) fn label_s(&self) -> i64 {
        self.first_s
            + if self.first_s == 0 {
                0
            } else {
                i64::from(self.interval_s)
            }
    }
}

/// Headings from the first one that follow each other.
fn run(labels: &[Option<PeriodLabel>]) -> usize {
    let (Some(Some(first)), Some(Some(second))) = (labels.first(), labels.get(1)) else {
        return 1;
    };
    let mut count = 2;
    match (first, second) {
        (PeriodLabel::Time(a, _), PeriodLabel::Time(b, _)) => {
            let step = b - a;
            if ![5, 10, 15, 20, 30, 60].contains(&step) {
                return 1;
            }
            let mut last = *b;
            while let Some(Some(PeriodLabel::Time(next, _))) = labels.get(count) {
                // The last one may be written 00:00 for 24:00.
                let follows = *next == last + step || *next == 0 && last + step == 1440;
                if !follows {
                    break;
                }
                last += step;
                count += 1;
            }
            count
        }
        (PeriodLabel::Number(word, a), PeriodLabel::Number(other, b))
            if word == other && *b == a + 1 && *a <= 1 =>
        {
            let mut last = *b;
            while let Some(Some(PeriodLabel::Number(next, number))) = labels.get(count) {
                if next != word || *number != last + 1 {
                    break;
                }
                last = *number;
                count += 1;
            }
            count
        }
        _ => 1,
    }
}

fn label(name: &str) -> Option<PeriodLabel> {
    let name = name.trim();
    let parts: Vec<&str> = name.split(['-', '–']).map(str::trim).collect();
    if let [from, to] = parts[..]
        && let (Some(from), Some(to)) = (time(from), time(to))
    {
        return Some(PeriodLabel::Time(from, Some(to)));
    }
    // A unit or a word may come before or after a time: `00:30 kWh`, `kWh 00:30`.
    if let Some(minutes) = name.split_whitespace().find_map(time) {
        return Some(PeriodLabel::Time(minutes, None));
    }
    let digits = name.len() - name.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    let (word, number) = name.split_at(name.len() - digits);
    let is_word = word
        .chars()
        .all(|c| c.is_alphabetic() || matches!(c, ' ' | '_' | '-' | '.' | '#' | '(' | ')'));
    (is_word && (1..=4).contains(&digits)).then(|| {
        Some(PeriodLabel::Number(
            word.to_lowercase(),
            number.parse().ok()?,
        ))
    })?
}

/// Minutes of a time such as `00:30`, `0:30`, `00:30:00`, `24:00`.
fn time(text: &str) -> Option<i64> {
    let mut parts = text.split(':');
    let (hour, minute) = (parts.next()?, parts.next()?);
    let rest: Vec<&str> = parts.collect();
    let whole = |part: &str| {
        (1..=2)
            .contains(&part.len())
            .then(|| part.parse::<i64>().ok())?
    };
    let (hour, minute) = (whole(hour)?, whole(minute)?);
    let seconds_are_zero = rest
        .iter()
        .all(|part| part.bytes().all(|byte| byte == b'0'))
        && rest.len() <= 1;
    (hour <= 26 && minute < 60 && seconds_are_zero).then_some(hour * 60 + minute)
}

/// Length of the periods of which a day has so many, those of the clock change included. (s)
pub(crate) fn interval_s_of(count: usize) -> Option<u32> {
    Some(match count {
        23..=25 => 3600,
        46 | 48 | 50 => 1800,
        92 | 96 | 100 => 900,
        138 | 144 | 150 => 600,
        276 | 288 | 300 => 300,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(names: impl IntoIterator<Item = String>) -> Option<(usize, usize, u32, i64)> {
        let names: Vec<String> = names.into_iter().collect();
        let found = PeriodColumns::of_names(&names)?;
        Some((found.first, found.count, found.interval_s, found.first_s))
    }

    fn times(from: u32) -> impl Iterator<Item = String> {
        (0..48)
            .map(move |n| from + 30 * n)
            .map(|minute| format!("{:02}:{:02}", minute / 60, minute % 60))
    }

    #[test]
    fn headings_of_periods() {
        let with = |names: Vec<String>| {
            of(["MPAN".to_owned(), "Date".to_owned()]
                .into_iter()
                .chain(names)
                .chain(["Total".to_owned()]))
        };
        assert_eq!(with(times(0).collect()), Some((2, 48, 1800, 0)));
        assert_eq!(with(times(30).collect()), Some((2, 48, 1800, 0)));
        let mut midnight: Vec<String> = times(30).collect();
        midnight[47] = "00:00".to_owned();
        assert_eq!(with(midnight), Some((2, 48, 1800, 0)));
        assert_eq!(
            with((1..=50).map(|n| format!("HH{n:02}")).collect()),
            Some((2, 50, 1800, 0))
        );
        assert_eq!(
            with((1..=24).map(|n| n.to_string()).collect()),
            Some((2, 24, 3600, 0))
        );
        assert_eq!(
            with((1..=100).map(|n| format!("Period {n}")).collect()),
            Some((2, 100, 900, 0))
        );
        let ranges = (0..48).map(|n| 30 * n).map(|m| {
            format!(
                "{:02}:{:02}-{:02}:{:02}",
                m / 60,
                m % 60,
                (m + 30) / 60,
                m % 60
            )
        });
        assert_eq!(with(ranges.collect()), Some((2, 48, 1800, 0)));
        assert_eq!(with((1..=22).map(|n| n.to_string()).collect()), None);
        assert_eq!(of(["time", "kWh"].map(str::to_owned)), None);
    }
}
