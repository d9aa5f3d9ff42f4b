//! Mean power by weekday and hour, as numbers on a shaded background.

use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen};
use super::style::Ink;
use demand::{WEEKDAYS, WeekOfHours};
use tables::{Cell, number, words};
use units::FigureKind as Q;

/// Darkest background on which the numbers are legible.
const DARKEST: f64 = 0.5;

/// Draws the mean power by weekday and hour. (kW)
///
/// Each cell has its number; the shade only repeats it. On a phone the hours run down the page.
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn week_of_hours(week: &WeekOfHours) -> Result<Figure, ChartError> {
    let known = || week.mean_kw.iter().flatten().flatten().copied();
    let largest = known().fold(0.0, f64::max);
    let decimals = usize::from(largest < 99.5);
    let cell = |kw: Option<f64>| {
        kw.map_or_else(
            || "–".to_owned(),
            |kw| units::fixed(kw, decimals).replace('-', "−"),
        )
    };
    let highest = place_of(week, largest);
    let rows = (0..24)
        .map(|hour| {
            let head = format!("{hour:02}:00");
            let days = (0..7).map(|day| Cell::from(week.mean_kw[day][hour]));
            std::iter::once(head.into()).chain(days).collect()
        })
        .collect();
    let description = highest.map_or_else(
        || "A number for each hour of each weekday; the table below gives the values.".to_owned(),
        |(day, hour)| {
            format!(
                "A number for each hour of each weekday. Maximum on {}s from {hour:02}:00 with {} kW; the table \
                 below gives the values.",
                WEEKDAYS[day],
                cell(Some(largest))
            )
        },
    );
    let figure = Figure::new(
        "week-by-hour",
        "Mean power by weekday and hour [kW]".to_owned(),
        description,
        |width| {
            if width.is_narrow() {
                24 * 21 + 34
            } else {
                7 * 32 + 34
            }
        },
        |pen| {
            let grid = WeekGrid::of(pen);
            draw_heads(pen, &grid)?;
            for (day, hours) in week.mean_kw.iter().enumerate() {
                for (hour, &kw) in hours.iter().enumerate() {
                    let [left, top, right, bottom] = grid.cell(day, hour);
                    let share = kw.map_or(0.0, |kw| (kw / largest.max(1e-9)).clamp(0.0, 1.0));
                    if share > 0.0 {
                        let (a, b) = ((left + 0.5, top + 0.5), (right - 0.5, bottom - 0.5));
                        pen.block(a, b, Ink::Energy, share * DARKEST)?;
                    }
                    let middle = (f64::midpoint(left, right), f64::midpoint(top, bottom));
                    let letters = Letters::note(Hold::Middle).in_ink(Ink::Text);
                    pen.write(&cell(kw), middle, letters)?;
                    if highest == Some((day, hour)) {
                        let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
                        let closed = [&corners[..], &corners[..1]].concat();
                        pen.line(&closed, Ink::Strong, 2.0)?;
                    }
                }
            }
            Ok(())
        },
    )?;
    let days = WEEKDAYS.map(|weekday| number(weekday, Q::ActivePower));
    let columns = std::iter::once(words("Hour")).chain(days).collect();
    Ok(figure.with_table(columns, rows))
}

/// The first cell with the maximum.
fn place_of(week: &WeekOfHours, largest: f64) -> Option<(usize, usize)> {
    let days = week.mean_kw.iter().enumerate();
    days.flat_map(|(day, hours)| {
        let hours = hours.iter().enumerate();
        hours.map(move |(hour, &kw)| ((day, hour), kw))
    })
    .find(|&(_, kw)| kw == Some(largest) && largest > 0.0)
    .map(|(place, _)| place)
}

/// Layout of the cells.
struct WeekGrid {
    left: f64,
    top: f64,
    across: f64,
    down: f64,
    hours_run_down: bool,
}

impl WeekGrid {
    fn of(pen: &Pen) -> WeekGrid {
        let width = f64::from(pen.width.px());
        let narrow = pen.width.is_narrow();
        let left = 42.0;
        let columns = if narrow { 7.0 } else { 24.0 };
        WeekGrid {
            left,
            top: 26.0,
            across: (width - left - 4.0) / columns,
            down: if narrow { 21.0 } else { 32.0 },
            hours_run_down: narrow,
        }
    }

    /// Left, top, right, bottom.
    fn cell(&self, day: usize, hour: usize) -> [f64; 4] {
        let (column, row) = if self.hours_run_down {
            (day, hour)
        } else {
            (hour, day)
        };
        let left = self.left + column as f64 * self.across;
        let top = self.top + row as f64 * self.down;
        [left, top, left + self.across, top + self.down]
    }
}

fn draw_heads(pen: &Pen, grid: &WeekGrid) -> Result<(), ChartError> {
    let days: Vec<String> = WEEKDAYS.iter().map(|day| day[..3].to_owned()).collect();
    let hours: Vec<String> = (0..24).map(|hour| format!("{hour:02}")).collect();
    let (across, down) = if grid.hours_run_down {
        (&days, &hours)
    } else {
        (&hours, &days)
    };
    for (column, word) in across.iter().enumerate() {
        let x = grid.left + (column as f64 + 0.5) * grid.across;
        pen.write(word, (x, 13.0), Letters::note(Hold::Middle))?;
    }
    for (row, word) in down.iter().enumerate() {
        let y = grid.top + (row as f64 + 0.5) * grid.down;
        pen.write(word, (grid.left - 8.0, y), Letters::note(Hold::Right))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    #[test]
    fn every_cell_has_its_number_and_the_maximum_is_described() {
        let mut mean_kw = [[Some(1.5); 24]; 7];
        mean_kw[1][10] = Some(12.25);
        mean_kw[6][3] = None;
        let week = WeekOfHours {
            meter: "main".to_owned(),
            mean_kw,
        };
        let figure = week_of_hours(&week).expect("a drawing");
        let drawing = figure.file();
        assert_eq!(drawing.matches(">1.5<").count(), 166);
        assert_eq!(
            (
                drawing.matches(">12.2<").count(),
                drawing.matches(">–<").count()
            ),
            (1, 1)
        );
        assert!(figure.description.contains("Tuesdays from 10:00"));
        assert_eq!(shown(&figure)[3][7], "–");
    }
}
