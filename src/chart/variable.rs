//! Daily energy v. the variables of a baseline, with the fitted line.

use super::axis::{draw_across, draw_values, headroom, value_field};
use super::days::{named, table_rows};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, Point, shortened};
use super::style::Ink;
use baseline::{Baseline, VariableTrace};
use tables::{Cell, fixed, words};
use units::format_signed;

/// More variables than this are not drawn.
const MOST_VARIABLES: usize = 3;

const HEAD: f64 = 24.0;
const PANEL: f64 = 240.0;
/// Of a panel, above and below its field.
const ABOVE: f64 = 12.0;
const BELOW: f64 = 56.0;

/// The variables of a baseline that are drawn: those with the largest effect on the energy.
#[must_use]
pub fn drawn_variables(baseline: &Baseline) -> Vec<&VariableTrace> {
    let mut drawn: Vec<&VariableTrace> = baseline.variables.iter().collect();
    drawn.sort_by(|a, b| b.effect_kwh().total_cmp(&a.effect_kwh()));
    drawn.truncate(MOST_VARIABLES);
    drawn
}

/// Draws the energy per day of each period v. each variable, the others held at their means. (kWh/d)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn energy_by_variable(baseline: &Baseline) -> Result<Figure, ChartError> {
    let variables = drawn_variables(baseline);
    let height = HEAD + PANEL * variables.len() as f64;
    let figure = Figure::new(
        "energy-by-variable",
        title(&variables),
        describe(&variables),
        |_| height as i32,
        |pen| {
            draw_key(pen)?;
            for (place, variable) in variables.iter().enumerate() {
                draw_panel(pen, variable, HEAD + PANEL * place as f64)?;
            }
            Ok(())
        },
    )?;
    let mut columns = vec![words("Period"), words("Part")];
    for variable in &variables {
        columns.push(fixed(axis_words(variable), "", 1));
        columns.push(fixed("Energy, others at their means", "kWh/d", 1));
    }
    Ok(figure.with_table(columns, rows(baseline, &variables)))
}

fn title(variables: &[&VariableTrace]) -> String {
    match variables {
        [only] => format!("Daily energy v. {} [kWh/d]", only.name),
        _ => "Daily energy v. each variable, the others held constant [kWh/d]".to_owned(),
    }
}

fn describe(variables: &[&VariableTrace]) -> String {
    let each = variables.iter().map(|variable| {
        let since = variable.points.iter().filter(|point| !point.in_baseline);
        let since = since.count();
        format!(
            "{} dots of the baseline and {since} crosses since, about a line of {} kWh per {}: {}.",
            variable.points.len() - since,
            format_signed(variable.slope, 2),
            variable.unit,
            variable.name
        )
    });
    each.collect::<Vec<String>>().join(" ")
}

/// The key of the marks, which differ in shape.
fn draw_key(pen: &Pen) -> Result<(), ChartError> {
    let letters = |ink: Ink| Letters::note(Hold::Left).in_ink(ink).bold();
    pen.dot((58.0, 12.0), 3.0, Ink::Now)?;
    pen.write("baseline", (67.0, 12.0), letters(Ink::Now))?;
    draw_cross(pen, (148.0, 12.0))?;
    pen.write("since", (158.0, 12.0), letters(Ink::Strong))?;
    pen.line(&[(214.0, 12.0), (236.0, 12.0)], Ink::Text, 2.0)?;
    pen.write("fit", (242.0, 12.0), letters(Ink::Text))
}

fn draw_cross(pen: &Pen, (x, y): Point) -> Result<(), ChartError> {
    const REACH: f64 = 3.5;
    for rise in [-REACH, REACH] {
        pen.line(
            &[(x - REACH, y - rise), (x + REACH, y + rise)],
            Ink::Strong,
            1.75,
        )?;
    }
    Ok(())
}

fn draw_panel(pen: &Pen, variable: &VariableTrace, top: f64) -> Result<(), ChartError> {
    let values = || variable.points.iter().map(|point| point.value);
    let (low, high) = (
        values().fold(f64::INFINITY, f64::min),
        values().fold(f64::NEG_INFINITY, f64::max),
    );
    let margin = 0.04 * (high - low);
    let x = (low - margin, high + margin);
    let ends = [x.0, x.1].map(|value| variable.expected_kwh(value));
    let kwh = || {
        variable
            .points
            .iter()
            .map(|point| point.held_kwh)
            .chain(ends)
    };
    let y = (
        1.08 * kwh().fold(0.0, f64::min),
        headroom(kwh().fold(0.0, f64::max)),
    );
    let right = f64::from(pen.width.px()) - 24.0;
    let frame = [top + ABOVE, right, top + PANEL - BELOW];
    let field = value_field(frame, x, y, (5, "kWh"));
    draw_values(pen, &field, x, 5, "kWh")?;
    draw_across(pen, &field, if pen.width.is_narrow() { 5 } else { 9 })?;
    draw_line(pen, &field, variable, x)?;
    for point in &variable.points {
        let at = field.place(point.value, point.held_kwh);
        let [value, kwh] =
            [point.value, point.held_kwh].map(|figure| units::format_number(figure, 1));
        pen.value(at, format!("{value} {}: {kwh} kWh", variable.unit));
        if point.in_baseline {
            pen.dot(at, 3.0, Ink::Now)?;
        } else {
            draw_cross(pen, at)?;
        }
    }
    pen.write(
        &shortened(
            &axis_words(variable),
            Letters::note(Hold::Left),
            right - field.left,
        ),
        (field.left, field.bottom + 34.0),
        Letters::note(Hold::Left),
    )
}

/// Thick within the range of the baseline, thin outside it.
fn draw_line(
    pen: &Pen,
    field: &PlotArea,
    variable: &VariableTrace,
    x: (f64, f64),
) -> Result<(), ChartError> {
    let (from, to) = variable.seen();
    let place = |value: f64| field.place(value, variable.expected_kwh(value));
    pen.line(&[place(x.0), place(x.1)], Ink::Text, 0.75)?;
    pen.line(&[place(from), place(to)], Ink::Text, 2.0)
}

fn axis_words(variable: &VariableTrace) -> String {
    format!("{} [{} per day]", variable.name, variable.unit)
}

fn rows(baseline: &Baseline, variables: &[&VariableTrace]) -> Vec<Vec<Cell>> {
    let points = variables
        .first()
        .map_or(&[][..], |variable| &variable.points);
    let at: Vec<usize> = (0..points.len()).collect();
    let shown = table_rows(&at, |&at| baseline.periods[points[at].period].from);
    shown
        .into_iter()
        .map(|&at| {
            let part = if points[at].in_baseline {
                "baseline"
            } else {
                "since"
            };
            let key = named(&baseline.periods[points[at].period].key);
            let figures = variables.iter().flat_map(|variable| {
                let point = variable.points[at];
                [point.value.into(), point.held_kwh.into()]
            });
            [key.into(), part.into()]
                .into_iter()
                .chain(figures)
                .collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use chrono::{Days, NaiveDate};

    use super::*;
    use crate::figure::shown;
    use baseline::{BaselineRequest, Calendar, DayTotal, VariableValues, baseline};
    use site::{Every, Per};

    /// Thirty days of 50 kWh, 10 kWh a tonne and 2 kWh a guest; from the twentieth on 30 kWh more. `<t>` is a
    /// user's word.
    fn of() -> Baseline {
        let first = NaiveDate::from_ymd_opt(2026, 3, 2).expect("a date");
        let tonnes = |n: u64| (n % 5) as f64;
        let guests = |n: u64| (n * 3 % 7) as f64;
        let day = |n: u64| first + Days::new(n);
        let totals: Vec<DayTotal> = (0..30)
            .map(|n| DayTotal {
                date: day(n),
                kwh: 50.0 + 10.0 * tonnes(n) + 2.0 * guests(n) + if n < 20 { 0.0 } else { 30.0 },
                complete: true,
            })
            .collect();
        let variable = |name: &str, of: &dyn Fn(u64) -> f64| VariableValues {
            name: name.to_owned(),
            unit: "<t>".to_owned(),
            per: Per::Day,
            of_day: (0..30).map(|n| (day(n), of(n))).collect(),
        };
        let wish = BaselineRequest {
            from: first,
            to: day(20),
            every: Every::Day,
            by_day_type: false,
        };
        let calendar = Calendar {
            zone: chrono_tz::UTC,
            holidays: &[],
        };
        let variables = [variable("guests", &guests), variable("tonnes", &tonnes)];
        let variables = [&variables[0], &variables[1]];
        baseline("main", &totals, calendar, &variables, &wish).expect("20 days")
    }

    /// Guests over the first 20 days: 0 3 6 2 5 1 4 twice and 0 3 6 2 5 1, mean 59/20 = 2.95. With these held, a day
    /// of 3 t takes 50 + 30 + 5.9 = 85.9 kWh, and since the twentieth day 115.9 kWh.
    #[test]
    fn the_other_variables_are_held_at_their_means() {
        let baseline = of();
        let figure = energy_by_variable(&baseline).expect("a drawing");
        // Tonnes change the energy by up to 40 kWh, guests by 12: tonnes come first.
        assert_eq!(figure.table.columns[2].heading(), "tonnes [<t> per day]");
        let cells = |row: usize| shown(&figure)[row][..4].to_vec();
        assert_eq!(cells(3), ["Thu 5 Mar 2026", "baseline", "3.0", "85.9"]);
        assert_eq!(cells(23), ["Wed 25 Mar 2026", "since", "3.0", "115.9"]);
        assert_eq!(figure.table.rows.len(), 30);
        // 2 t are the mean: 50 + 20 + 5.9 kWh, and of guests their mean as well.
        for variable in &baseline.variables {
            assert!((variable.mean_kwh - 75.9).abs() < 1e-9, "{variable:?}");
        }
        let guests = &baseline.variables[0];
        assert!((guests.expected_kwh(6.0) - (75.9 + 2.0 * 3.05)).abs() < 1e-9);
        assert!((guests.slope - 2.0).abs() < 1e-9 && guests.seen() == (0.0, 6.0));
    }

    #[test]
    fn days_since_the_baseline_differ_by_shape_and_words_are_escaped() {
        let figure = energy_by_variable(&of()).expect("a drawing");
        let drawn = figure.file();
        // Dots: 20 days in two panels and one in the key. A cross is two strokes.
        assert_eq!(drawn.matches("<circle").count(), 41);
        assert!(drawn.contains(">baseline<") && drawn.contains(">since<"));
        assert!(drawn.contains("&lt;t&gt;") && !drawn.contains("<t>"));
        assert!(figure.description.contains("10 crosses since"));
    }
}
