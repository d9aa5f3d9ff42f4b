//! The daily load profile.

use super::axis::{draw_key, draw_values, headroom, value_field};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, Point, text_width};
use super::style::Ink;
use demand::DemandTrace;
use tables::{Cell, number, words};
use units::FigureKind as Q;

/// The demand period with the maximum demand.
#[derive(Clone, Debug, PartialEq)]
pub struct DemandMark {
    /// Start of the demand period, in hours since local midnight.
    pub hour: f64,
    /// Its length. \[h\]
    pub length_h: f64,
    /// Mean power. (kW)
    pub kw: f64,
    /// The maximum demand in words, with its date.
    pub words: String,
}

/// Draws the mean working day, the mean weekend day and the maximum of each quarter-hour, with the
/// maximum demand marked. (kW)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn demand_profile(
    trace: &DemandTrace,
    mark: Option<&DemandMark>,
) -> Result<Figure, ChartError> {
    let lines = [
        ("maximum", Ink::Now, &trace.highest_profile_kw),
        ("weekend", Ink::L2, &trace.weekend_profile_kw),
        ("working day", Ink::Strong, &trace.weekday_profile_kw),
    ];
    let values = || {
        lines
            .iter()
            .flat_map(|line| line.2.iter().flatten().copied())
    };
    let largest = values()
        .chain(mark.map(|mark| mark.kw))
        .filter(|kw| kw.is_finite());
    let top = headroom(largest.fold(0.0, f64::max));
    let low = values().filter(|kw| kw.is_finite()).fold(0.0, f64::min);
    let description = format!(
        "Mean power of each quarter-hour, local time: mean working day, mean weekend day and the maximum \
         of all days.{}",
        mark.map(|mark| format!(" {}.", mark.words))
            .unwrap_or_default()
    );
    let figure = Figure::new(
        "demand-profile",
        "Daily load profile [kW]".to_owned(),
        description,
        |width| if width.is_narrow() { 300 } else { 340 },
        |pen| {
            let right = f64::from(pen.width.px()) - 14.0;
            let bottom = if pen.width.is_narrow() { 270.0 } else { 310.0 };
            let field = value_field([46.0, right, bottom], (0.0, 24.0), (low, top), (6, "kW"));
            draw_values(pen, &field, (0.0, 24.0), 6, "kW")?;
            draw_hours(pen, &field)?;
            let [highest, weekend, working] = lines.map(|line| (line.0, line.1));
            draw_key(pen, &[working, weekend, highest])?;
            for (_, ink, profile) in &lines {
                draw_steps(pen, &field, profile, *ink)?;
            }
            give_hours(pen, &field, &lines);
            mark.map_or(Ok(()), |mark| draw_mark(pen, &field, mark))
        },
    )?;
    let columns = vec![
        words("Local time"),
        number("Mean working day", Q::ActivePower),
        number("Mean weekend day", Q::ActivePower),
        number("Maximum", Q::ActivePower),
    ];
    Ok(figure.with_table(columns, table_rows(trace)))
}

fn draw_hours(pen: &Pen, field: &PlotArea) -> Result<(), ChartError> {
    let step = if pen.width.is_narrow() { 6 } else { 3 };
    for hour in (0..=24).step_by(step) {
        let (x, _) = field.place(f64::from(hour), 0.0);
        pen.line(&[(x, field.top), (x, field.bottom)], Ink::Rule, 0.75)?;
        let hold = if hour == 24 {
            Hold::Right
        } else {
            Hold::Middle
        };
        let x = if hour == 24 { x + 12.0 } else { x };
        pen.write(
            &format!("{hour:02}:00"),
            (x, field.bottom + 14.0),
            Letters::note(hold),
        )?;
    }
    pen.line(
        &[(field.left, field.bottom), (field.right, field.bottom)],
        Ink::Quiet,
        1.0,
    )
}

/// The values of each interval of the day, to be read under a pointer.
fn give_hours(pen: &Pen, field: &PlotArea, lines: &[(&str, Ink, &Vec<Option<f64>>)]) {
    let count = lines.iter().map(|line| line.2.len()).max().unwrap_or(0);
    for position in 0..count {
        let hour = 24.0 * position as f64 / count as f64;
        let known = lines.iter().rev().filter_map(|(name, _, profile)| {
            let kw = profile.get(position).copied().flatten()?;
            Some((kw, format!("{name} {} kW", units::fixed(kw, 1))))
        });
        let (kw, words): (Vec<f64>, Vec<String>) = known.unzip();
        if let Some(&first) = kw.first() {
            let middle = hour + 12.0 / count as f64;
            let minute = (hour * 60.0).round() as u32;
            let clock = format!("{:02}:{:02}", minute / 60, minute % 60);
            pen.value(
                field.place(middle, first),
                format!("{clock}: {}", words.join(", ")),
            );
        }
    }
}

fn draw_steps(
    pen: &Pen,
    field: &PlotArea,
    profile: &[Option<f64>],
    ink: Ink,
) -> Result<(), ChartError> {
    let width_h = 24.0 / profile.len().max(1) as f64;
    let mut run: Vec<Point> = Vec::new();
    for (position, value) in profile.iter().enumerate() {
        match value.filter(|kw| kw.is_finite()) {
            Some(kw) => {
                let hour = position as f64 * width_h;
                run.push(field.place(hour, kw));
                run.push(field.place(hour + width_h, kw));
            }
            None => pen.line(&std::mem::take(&mut run), ink, 1.75)?,
        }
    }
    pen.line(&run, ink, if ink == Ink::Strong { 2.25 } else { 1.75 })
}

fn draw_mark(pen: &Pen, field: &PlotArea, mark: &DemandMark) -> Result<(), ChartError> {
    let from = field.place(mark.hour, mark.kw);
    let to = field.place((mark.hour + mark.length_h).min(24.0), mark.kw);
    pen.block(
        (from.0, from.1 - 2.5),
        (to.0.max(from.0 + 3.0), from.1 + 2.5),
        Ink::Limit,
        1.0,
    )?;
    let x = f64::midpoint(from.0, to.0);
    pen.line(&[(x, from.1 - 3.0), (x, 40.0)], Ink::Limit, 1.0)?;
    let wide = text_width(&mark.words, Letters::note(Hold::Middle));
    let (hold, at) = if x + wide / 2.0 > field.right {
        (Hold::Right, field.right)
    } else if x - wide / 2.0 < 4.0 {
        (Hold::Left, 4.0)
    } else {
        (Hold::Middle, x)
    };
    pen.write(
        &mark.words,
        (at, 31.0),
        Letters::note(hold).in_ink(Ink::Limit),
    )
}

fn table_rows(trace: &DemandTrace) -> Vec<Vec<Cell>> {
    let slots = trace
        .weekday_profile_kw
        .len()
        .max(trace.weekend_profile_kw.len());
    let slots = slots.max(trace.highest_profile_kw.len());
    // One row per hour: mean of the means, maximum of the maxima.
    let per_hour = (slots / 24).max(1);
    let cell = |profile: &[Option<f64>], hour: usize, highest: bool| {
        let from = (hour * per_hour).min(profile.len());
        let to = (from + per_hour).min(profile.len());
        let values: Vec<f64> = profile[from..to]
            .iter()
            .flatten()
            .copied()
            .filter(|kw| kw.is_finite())
            .collect();
        if values.is_empty() {
            Cell::Unknown
        } else if highest {
            values.iter().copied().fold(f64::MIN, f64::max).into()
        } else {
            (values.iter().sum::<f64>() / values.len() as f64).into()
        }
    };
    (0..if slots == 0 { 0 } else { 24 })
        .map(|hour| {
            vec![
                format!("{hour:02}:00–{:02}:00", hour + 1).into(),
                cell(&trace.weekday_profile_kw, hour, false),
                cell(&trace.weekend_profile_kw, hour, false),
                cell(&trace.highest_profile_kw, hour, true),
            ]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    #[test]
    fn unknown_quarter_hours_leave_a_gap() {
        let mut profile = vec![Some(10.0); 96];
        let mark = DemandMark {
            hour: 10.0,
            length_h: 0.5,
            kw: 12.0,
            words: "maximum".to_owned(),
        };
        let trace = |weekday: Vec<Option<f64>>| DemandTrace {
            weekday_profile_kw: weekday,
            ..DemandTrace::default()
        };
        let lines = |figure: &Figure| figure.file().matches("stroke=\"#2B2A55\"").count();
        let whole = demand_profile(&trace(profile.clone()), Some(&mark)).expect("a drawing");
        profile[40] = None;
        let parted = demand_profile(&trace(profile), Some(&mark)).expect("a drawing");
        assert_eq!(lines(&parted), lines(&whole) + 1);
        assert_eq!(whole.table.rows.len(), 24);
        assert_eq!(shown(&whole)[0][1], "10.00");
        assert_eq!(shown(&whole)[0][2], "–");
    }

    #[test]
    fn nothing_known_is_drawn_without_harm() {
        let figure = demand_profile(&DemandTrace::default(), None).expect("a drawing");
        assert!(!figure.file().contains("NaN") && figure.table.rows.is_empty());
    }
}
