//! Which column of a table with a row per day holds what: the date, the periods, and what names a meter, a unit, a kind
//! of energy or a quality.

use std::borrow::Cow;

use super::cells::{NumberForm, known_cells, number, separator, split};
use super::column_unit;
use super::dates::{DateOrder, date};
use super::kinds::{estimated, id_rank, is_quality, kind};
use super::slots::{PeriodColumns, interval_s_of};

/// Lines that may come before the header.
const LONGEST_PREAMBLE: usize = 60;

/// Which column holds what.
#[derive(Clone, Debug)]
pub(crate) struct DayColumns {
    pub(crate) separator: char,
    /// Names of the columns; empty without a header.
    pub(crate) names: Vec<String>,
    /// Lines before the first row.
    pub(crate) lines_before: usize,
    pub(crate) periods: PeriodColumns,
    pub(crate) date: usize,
    /// Text above the rows that may name a unit.
    pub(crate) title: String,
}

impl DayColumns {
    pub(crate) fn find(text: &str) -> Option<DayColumns> {
        let separator = separator(text);
        let lines: Vec<&str> = text.lines().take(LONGEST_PREAMBLE + 40).collect();
        DayColumns::with_header(&lines, separator)
            .or_else(|| DayColumns::without_header(&lines, separator))
    }

    fn with_header(lines: &[&str], separator: char) -> Option<DayColumns> {
        for (index, line) in lines.iter().take(LONGEST_PREAMBLE).enumerate() {
            let names: Vec<String> = split(line, separator)
                .into_iter()
                .map(Cow::into_owned)
                .collect();
            let Some(periods) = PeriodColumns::of_names(&names) else {
                continue;
            };
            let rows = &lines[index + 1..];
            let Some(date) = date_column(rows, separator, &periods) else {
                continue;
            };
            return Some(DayColumns {
                separator,
                names,
                lines_before: index + 1,
                periods,
                date,
                title: lines[..=index].join(" "),
            });
        }
        None
    }

    /// Rows of a date and as many numbers as a day has periods.
    fn without_header(lines: &[&str], separator: char) -> Option<DayColumns> {
        let rows: Vec<&str> = lines
            .iter()
            .copied()
            .filter(|line| !line.trim().is_empty())
            .collect();
        let of_row = |row: &str| -> Option<(usize, usize)> {
            let cells = split(row, separator);
            let date = cells.iter().take(8).position(|cell| {
                date(cell, DateOrder::DayFirst).is_some()
                    || date(cell, DateOrder::MonthFirst).is_some()
            })?;
            let values = &cells[date + 1..];
            let first = values.iter().position(|cell| is_number(cell))?;
            let count = values[first..]
                .iter()
                .take_while(|cell| is_number(cell))
                .count();
            Some((date + 1 + first, count))
        };
        let (first, count) = rows.iter().find_map(|row| of_row(row))?;
        let alike = rows
            .iter()
            .filter(|row| of_row(row).is_some_and(|own| own == (first, count)))
            .count();
        let interval_s = interval_s_of(count)?;
        (2 * alike > rows.len() && count >= 24).then_some(())?;
        let lines_before = lines.iter().position(|line| of_row(line).is_some())?;
        let periods = PeriodColumns {
            first,
            count,
            interval_s,
            first_s: 0,
            by_number: true,
        };
        Some(DayColumns {
            separator,
            names: Vec::new(),
            lines_before,
            periods,
            date: date_column(&lines[lines_before..], separator, &periods)?,
            title: lines[..lines_before].join(" "),
        })
    }

    pub(crate) fn is_period(&self, column: usize) -> bool {
        (self.periods.first..self.periods.first + self.periods.count).contains(&column)
    }
}

/// Is a cell a number, whatever its decimal sign?
pub(crate) fn is_number(cell: &str) -> bool {
    number(cell, NumberForm::Point).is_some() || number(cell, NumberForm::Comma).is_some()
}

/// The column outside the periods that has dates in most rows.
fn date_column(rows: &[&str], separator: char, periods: &PeriodColumns) -> Option<usize> {
    let rows: Vec<Vec<Cow<'_, str>>> = rows
        .iter()
        .filter(|row| !row.trim().is_empty())
        .take(40)
        .map(|row| split(row, separator))
        .collect();
    let width = rows.iter().map(Vec::len).max()?;
    let outside = (0..width)
        .filter(|column| !(periods.first..periods.first + periods.count).contains(column));
    let dated = |column: usize| {
        let is_date = |row: &&Vec<Cow<'_, str>>| {
            row.get(column).is_some_and(|cell| {
                date(cell, DateOrder::DayFirst).is_some()
                    || date(cell, DateOrder::MonthFirst).is_some()
            })
        };
        rows.iter().filter(is_date).count()
    };
    let best = outside
        .map(|column| (dated(column), column))
        .max_by_key(|&(count, column)| (count, usize::MAX - column))?;
    (2 * best.0 > rows.len()).then_some(best.1)
}

/// What the columns outside the periods hold.
#[derive(Clone, Debug, Default)]
pub(crate) struct OtherColumns {
    /// In the order in which they identify a meter.
    pub(crate) ids: Vec<usize>,
    pub(crate) units: Option<usize>,
    pub(crate) kinds: Vec<usize>,
    pub(crate) quality: Option<usize>,
}

/// What the columns outside the periods hold, by their names and their cells.
pub(crate) fn other_columns(shape: &DayColumns, rows: &[Vec<Cow<'_, str>>]) -> OtherColumns {
    let width = rows
        .iter()
        .map(Vec::len)
        .max()
        .unwrap_or(0)
        .max(shape.names.len());
    let mut found = OtherColumns::default();
    let mut ids: Vec<(usize, usize, usize)> = Vec::new();
    for column in (0..width).filter(|&column| column != shape.date && !shape.is_period(column)) {
        let name = shape.names.get(column).map_or("", String::as_str);
        let cells = known_cells(rows, column);
        if cells.is_empty() {
            continue;
        }
        let all = |is: &dyn Fn(&str) -> bool| cells.iter().all(|cell| is(cell));
        let mut different = cells.clone();
        different.sort_unstable();
        different.dedup();
        if all(&|cell| column_unit::parse(cell).is_some() && cell.len() > 1) {
            found.units.get_or_insert(column);
        } else if is_quality(name) && all(&|cell| estimated(cell).is_some()) {
            found.quality.get_or_insert(column);
        } else if let Some(rank) = id_rank(name).filter(|_| !all(&|cell| kind(cell).is_some())) {
            ids.push((rank, different.len(), column));
        } else if all(&|cell| kind(cell).is_some()) {
            found.kinds.push(column);
        } else if shape.names.is_empty() && column < shape.date && different.len() < cells.len() {
            ids.push((usize::MAX, different.len(), column));
        }
    }
    ids.sort_unstable();
    // The first names the meter; others distinguish meters that it does not.
    if let Some(&(_, count, first)) = ids.first() {
        found.ids.push(first);
        let mut known = count;
        for &(_, count, column) in &ids[1..] {
            if count > known {
                found.ids.push(column);
                known = count;
            }
        }
    }
    found
}
