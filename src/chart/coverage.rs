//! Data coverage: the time that each meter's log covers, and its gaps.

use chrono_tz::Tz;

use super::axis::{YEAR_ROW, draw_times, has_years, local, time_ticks};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, shortened};
use super::style::{Ink, LABEL_PX, Width};
use tables::{Cell, exact, words};

/// The log of one meter.
#[derive(Clone, Debug, PartialEq)]
pub struct CoverageRow<'a> {
    /// The meter's name.
    pub name: &'a str,
    /// Periods with readings: start and end, Unix seconds, ascending.
    pub covered_s: &'a [(i64, i64)],
    /// Share of the time from first to last reading that has readings. (%)
    pub coverage_pct: f64,
}

/// Number of gaps in a row that are labelled with their length, the longest first.
const LABELS: usize = 3;
/// Minimum width of a gap. \[px\]
const LEAST_GAP_PX: f64 = 3.0;
const TOP: f64 = 6.0;
const FOOT: f64 = 28.0;

fn row_height(width: Width) -> f64 {
    if width.is_narrow() { 50.0 } else { 34.0 }
}

/// Draws one row per meter: a bar where there are readings, broken where there are none.
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn coverage(rows: &[CoverageRow], zone: Tz) -> Result<Figure, ChartError> {
    let bounds = bounds(rows);
    let with_gaps = rows.iter().filter(|row| row.covered_s.len() > 1).count();
    let description = format!(
        "{} rows, one for each meter; {with_gaps} of them with gaps, listed in the table below.",
        rows.len()
    );
    let figure = Figure::new(
        "coverage",
        "Data coverage".to_owned(),
        description,
        |width| {
            let foot = FOOT + if has_years(bounds) { YEAR_ROW } else { 0.0 };
            (TOP + row_height(width) * rows.len().max(1) as f64 + foot).ceil() as i32
        },
        |pen| {
            let narrow = pen.width.is_narrow();
            let left = if narrow { 8.0 } else { 150.0 };
            let right = f64::from(pen.width.px()) - if narrow { 10.0 } else { 62.0 };
            let bottom = TOP + row_height(pen.width) * rows.len().max(1) as f64;
            let x = (bounds.0 as f64, bounds.1 as f64);
            let field = Pen::field([left, TOP, right, bottom], x, (0.0, 1.0));
            let ticks = time_ticks(zone, bounds, if narrow { 4 } else { 7 });
            draw_times(pen, &field, &ticks, true)?;
            for (position, row) in rows.iter().enumerate() {
                draw_row(pen, &field, position, row)?;
            }
            Ok(())
        },
    )?;
    let table = rows.iter().map(|row| table_row(row, zone)).collect();
    let columns = vec![
        words("Meter"),
        exact("Gaps", ""),
        words("Longest gap"),
        words("Longest gap starts"),
        words("Time without readings"),
    ];
    Ok(figure.with_table(columns, table))
}

/// First start and last end of all rows, at least an hour apart.
fn bounds(rows: &[CoverageRow]) -> (i64, i64) {
    let stretches = || rows.iter().flat_map(|row| row.covered_s);
    let first = stretches().map(|stretch| stretch.0).min().unwrap_or(0);
    let last = stretches().map(|stretch| stretch.1).max().unwrap_or(0);
    (first, last.max(first + 3600))
}

/// Periods without readings.
fn gaps(row: &CoverageRow) -> Vec<(i64, i64)> {
    let pairs = row.covered_s.windows(2);
    pairs.map(|pair| (pair[0].1, pair[1].0)).collect()
}

fn draw_row(
    pen: &Pen,
    field: &PlotArea,
    position: usize,
    row: &CoverageRow,
) -> Result<(), ChartError> {
    let narrow = pen.width.is_narrow();
    let top = TOP + position as f64 * row_height(pen.width);
    let (bar_top, bar_bottom) = if narrow {
        (top + 18.0, top + 30.0)
    } else {
        (top + 5.0, top + 17.0)
    };
    let name = Letters::note(Hold::Left).in_ink(Ink::Text).px(LABEL_PX);
    let (name_place, most) = if narrow {
        ((field.left, top + 9.0), field.right - field.left - 66.0)
    } else {
        ((2.0, top + 11.0), field.left - 8.0)
    };
    pen.write(&shortened(row.name, name, most), name_place, name)?;
    let share = Letters::note(Hold::Right).in_ink(Ink::Text);
    let share_y = if narrow { top + 9.0 } else { top + 11.0 };
    let share_x = f64::from(pen.width.px()) - 8.0;
    pen.write(&percent(row.coverage_pct), (share_x, share_y), share)?;
    let at = |time: i64| field.place(time as f64, 0.0).0;
    let (Some(first), Some(last)) = (row.covered_s.first(), row.covered_s.last()) else {
        return Ok(());
    };
    let end = at(last.1).max(at(first.0) + 1.0);
    pen.block((at(first.0), bar_top), (end, bar_bottom), Ink::Energy, 1.0)?;
    for (from, to) in breaks(row, &at) {
        pen.block(
            (from, bar_top - 1.0),
            (to, bar_bottom + 1.0),
            Ink::Paper,
            1.0,
        )?;
        for x in [from, to] {
            pen.line(
                &[(x, bar_top - 2.0), (x, bar_bottom + 2.0)],
                Ink::Limit,
                1.0,
            )?;
        }
    }
    label_gaps(pen, field, row, bar_bottom + 9.0)
}

/// The breaks of the bar: every gap is visible, and gaps that touch are drawn as one.
fn breaks(row: &CoverageRow, at: &impl Fn(i64) -> f64) -> Vec<(f64, f64)> {
    let mut breaks: Vec<(f64, f64)> = Vec::new();
    for (from, to) in gaps(row) {
        let middle = f64::midpoint(at(from), at(to));
        let half = ((at(to) - at(from)) / 2.0).max(LEAST_GAP_PX / 2.0);
        let (from, to) = (middle - half, middle + half);
        match breaks.last_mut() {
            Some(last) if from <= last.1 + 1.0 => last.1 = last.1.max(to),
            _ => breaks.push((from, to)),
        }
    }
    breaks
}

/// Labels the longest gaps where the labels do not overlap.
fn label_gaps(pen: &Pen, field: &PlotArea, row: &CoverageRow, y: f64) -> Result<(), ChartError> {
    let mut longest = gaps(row);
    longest.sort_by_key(|&(from, to)| (from - to, from));
    let mut taken: Vec<f64> = Vec::new();
    for (from, to) in longest.into_iter().take(LABELS) {
        let middle = f64::midpoint(from as f64, to as f64);
        let x = field
            .place(middle, 0.0)
            .0
            .clamp(field.left + 34.0, field.right - 34.0);
        if taken.iter().any(|other| (other - x).abs() < 92.0) {
            continue;
        }
        taken.push(x);
        let letters = Letters::note(Hold::Middle).in_ink(Ink::Limit);
        pen.write(&format!("{} missing", length(to - from)), (x, y), letters)?;
    }
    Ok(())
}

fn percent(share: f64) -> String {
    // A log with a gap never reads as complete.
    let decimals = if share > 99.95 && share < 100.0 { 3 } else { 1 };
    format!("{share:.decimals$}\u{A0}%")
}

/// `5 min`, `3 h`, `1.5 d`.
fn length(seconds: i64) -> String {
    let (value, unit) = if seconds < 3600 {
        (seconds as f64 / 60.0, "min")
    } else if seconds < 2 * 86_400 {
        (seconds as f64 / 3600.0, "h")
    } else {
        (seconds as f64 / 86_400.0, "d")
    };
    let decimals = usize::from((value - value.round()).abs() > 0.05);
    format!("{value:.decimals$}\u{A0}{unit}")
}

fn table_row(row: &CoverageRow, zone: Tz) -> Vec<Cell> {
    let gaps = gaps(row);
    let longest = gaps.iter().max_by_key(|&&(from, to)| (to - from, -from));
    let missing: i64 = gaps.iter().map(|(from, to)| to - from).sum();
    let begins = longest.and_then(|&(from, _)| local(zone, from));
    vec![
        row.name.into(),
        gaps.len().into(),
        longest.map(|&(from, to)| length(to - from)).into(),
        begins.map(|at| at.fixed_offset()).into(),
        (!gaps.is_empty()).then(|| length(missing)).into(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    const DAY: i64 = 86_400;

    fn drawn(covered_s: &[(i64, i64)]) -> Figure {
        let row = CoverageRow {
            name: "main <&>",
            covered_s,
            coverage_pct: 99.0,
        };
        coverage(&[row], Tz::UTC).expect("a drawing")
    }

    #[test]
    fn a_short_gap_in_a_month_is_seen_and_labelled() {
        let whole = drawn(&[(0, 28 * DAY)]);
        let broken = drawn(&[(0, 9 * DAY), (9 * DAY + 3 * 3600, 28 * DAY)]);
        assert!(!whole.inline().contains("missing"));
        let svg = broken.inline();
        assert!(svg.contains("3\u{A0}h missing") && svg.contains("s-limit"));
        assert_eq!(
            shown(&broken)[0][1..],
            ["1", "3\u{A0}h", "Sat 10 Jan 1970 00:00", "3\u{A0}h"]
        );
        assert_eq!(shown(&whole)[0][1..], ["0", "–", "–", "–"]);
    }

    #[test]
    fn thousands_of_gaps_are_drawn_as_the_few_that_can_be_distinguished() {
        let stretches: Vec<(i64, i64)> = (0..20_000).map(|n| (n * 120, n * 120 + 60)).collect();
        let svg = drawn(&stretches).file();
        assert!(svg.lines().count() < 200, "{}", svg.lines().count());
        assert!(svg.contains("main &lt;&amp;&gt;"));
    }

    #[test]
    fn nothing_is_drawn_of_nothing() {
        for covered in [&[][..], &[(5, 5)][..]] {
            let svg = drawn(covered).file();
            assert!(!svg.contains("NaN") && !svg.contains("inf"));
        }
        assert!(coverage(&[], Tz::UTC).is_ok());
    }

    #[test]
    fn lengths_and_shares_read_well() {
        assert_eq!(length(300), "5\u{A0}min");
        assert_eq!(length(5400), "1.5\u{A0}h");
        assert_eq!(length(4 * DAY + 900), "4\u{A0}d");
        assert_eq!(percent(99.997), "99.997\u{A0}%");
        assert_eq!(percent(100.0), "100.0\u{A0}%");
    }
}
