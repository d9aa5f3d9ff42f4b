//! The neutral current duration curve.

use super::axis::{draw_key, draw_values, headroom, value_field};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, Point};
use super::style::{Ink, Width};
use tables::{Cell, number, words};
use units::FigureKind as Q;

/// The finite values in descending order.
pub(super) fn falling(values: &[f64]) -> Vec<f64> {
    let mut sorted: Vec<f64> = values
        .iter()
        .copied()
        .filter(|value| value.is_finite())
        .collect();
    sorted.sort_by(|a, b| b.total_cmp(a));
    sorted
}

/// Value reached or exceeded during a share of the time. `None` without values.
pub(super) fn exceeded_during(sorted: &[f64], share: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    Some(
        sorted[((share * sorted.len() as f64).ceil() as usize)
            .saturating_sub(1)
            .min(last)],
    )
}

/// Draws the duration curve of the neutral, now and after the moves. (A)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn neutral_duration(
    before_a: Option<&[f64]>,
    after_a: &[f64],
    limit_a: f64,
) -> Result<Figure, ChartError> {
    let before = before_a.map(falling);
    let after = falling(after_a);
    let first = |values: &[f64]| values.first().copied().unwrap_or(0.0);
    let largest = before.as_deref().map_or(0.0, first).max(first(&after));
    // A limit far above the curves would flatten them; it is then given in words.
    let in_view = limit_a <= 3.0 * largest;
    let top = headroom(if in_view {
        largest.max(limit_a)
    } else {
        largest
    });
    let rows = [0.0, 0.001, 0.01, 0.05, 0.1, 0.25, 0.5, 0.75]
        .into_iter()
        .map(|share| {
            let cell = |values: Option<&[f64]>| -> Cell {
                values
                    .and_then(|values| exceeded_during(values, share))
                    .into()
            };
            let share = if share == 0.0 {
                "maximum".to_owned()
            } else {
                format!("{} %", share * 100.0)
            };
            vec![share.into(), cell(before.as_deref()), cell(Some(&after))]
        })
        .collect();
    let figure = Figure::new(
        "neutral-duration",
        "Neutral current duration curve [A]".to_owned(),
        "Two falling curves: the neutral current now and after the moves, against the share of time \
         at or above it. The table below gives the values."
            .to_owned(),
        |width| if width.is_narrow() { 280 } else { 320 },
        |pen| {
            let right = f64::from(pen.width.px()) - 10.0;
            let bottom = if pen.width.is_narrow() { 230.0 } else { 270.0 };
            let field = value_field([30.0, right, bottom], (0.0, 1.0), (0.0, top), (6, "A"));
            draw_values(pen, &field, (0.0, 1.0), 6, "A")?;
            draw_shares(pen, &field)?;
            if in_view {
                let (_, y) = field.place(0.0, limit_a);
                pen.line(&[(field.left, y), (right, y)], Ink::Limit, 1.0)?;
            }
            let limit = Letters::note(Hold::Right).in_ink(Ink::Limit);
            let (words, above) =
                if in_view { ("", field.place(0.0, limit_a).1) } else { (", above this chart", 36.0) };
            pen.write(&format!("limit {limit_a:.0} A{words}"), (right, above - 9.0), limit)?;
            let mut key = vec![("after the moves", Ink::Strong)];
            if let Some(before) = &before {
                draw_curve(pen, &field, before, Ink::Now)?;
                key.insert(0, ("now", Ink::Now));
            }
            draw_key(pen, &key)?;
            let curves = [("now", before.as_deref()), ("after the moves", Some(&after[..]))];
            give_shares(pen, &field, &curves, "A");
            draw_curve(pen, &field, &after, Ink::Strong)
        },
    )?;
    let columns = vec![
        words("Share of time at or above"),
        number("Now", Q::Current),
        number("After the moves", Q::Current),
    ];
    Ok(figure.with_table(columns, rows))
}

pub(super) fn draw_shares(pen: &Pen, field: &PlotArea) -> Result<(), ChartError> {
    let step = if pen.width == Width::Narrow { 25 } else { 10 };
    for share in (0..=100).step_by(step) {
        let (x, _) = field.place(f64::from(share) / 100.0, 0.0);
        pen.line(
            &[(x, field.bottom), (x, field.bottom + 5.0)],
            Ink::Quiet,
            1.0,
        )?;
        let hold = if share == 100 {
            Hold::Right
        } else {
            Hold::Middle
        };
        pen.write(
            &format!("{share} %"),
            (x, field.bottom + 15.0),
            Letters::note(hold),
        )?;
    }
    pen.line(
        &[(field.left, field.bottom), (field.right, field.bottom)],
        Ink::Quiet,
        1.0,
    )?;
    let at = (field.left, field.bottom + 36.0);
    pen.write(
        "share of time at or above the value",
        at,
        Letters::note(Hold::Left),
    )
}

/// The curves at every hundredth of the time, to be read under a pointer.
pub(super) fn give_shares(
    pen: &Pen,
    field: &PlotArea,
    curves: &[(&str, Option<&[f64]>)],
    unit: &str,
) {
    for percent in 0..=100 {
        let share = f64::from(percent) / 100.0;
        let at = |sorted: Option<&[f64]>| exceeded_during(sorted?, share);
        let words: Vec<String> = curves
            .iter()
            .filter_map(|(name, sorted)| {
                let value = units::fixed(at(*sorted)?, 1);
                Some(format!("{name} {value} {unit}").trim_start().to_owned())
            })
            .collect();
        let last = curves.iter().rev().find_map(|(_, sorted)| at(*sorted));
        if let Some(last) = last {
            let words = format!("{percent} % of the time at or above: {}", words.join(", "));
            pen.value(field.place(share, last), words);
        }
    }
}

pub(super) fn draw_curve(
    pen: &Pen,
    field: &PlotArea,
    sorted: &[f64],
    ink: Ink,
) -> Result<(), ChartError> {
    if sorted.is_empty() {
        return Ok(());
    }
    let columns = ((field.right - field.left) as usize).min(sorted.len());
    let mut places: Vec<Point> = vec![field.place(0.0, sorted[0])];
    for column in 1..=columns {
        let share = column as f64 / columns as f64;
        let value = exceeded_during(sorted, share).unwrap_or(0.0);
        places.push(field.place(share, value));
    }
    pen.line(&places, ink, if ink == Ink::Now { 1.75 } else { 2.25 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_starts_at_the_largest_and_ends_at_the_smallest() {
        let sorted = falling(&[3.0, f64::NAN, 9.0, 1.0, 5.0]);
        assert_eq!(sorted, [9.0, 5.0, 3.0, 1.0]);
        assert_eq!(exceeded_during(&sorted, 0.0), Some(9.0));
        assert_eq!(exceeded_during(&sorted, 0.5), Some(5.0));
        assert_eq!(exceeded_during(&sorted, 1.0), Some(1.0));
        assert_eq!(exceeded_during(&[], 0.5), None);
    }

    #[test]
    fn a_distant_limit_is_given_in_words() {
        let near = neutral_duration(None, &[40.0, 20.0], 60.0).expect("a drawing");
        assert!(near.file().contains(">limit 60 A<"));
        let far = neutral_duration(None, &[4.0, 2.0], 60.0).expect("a drawing");
        assert!(far.file().contains("limit 60 A, above this chart"));
    }
}
