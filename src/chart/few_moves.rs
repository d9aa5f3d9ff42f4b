//! Neutral current against the number of moves.

use super::axis::{draw_values, headroom, value_field};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, Point};
use super::style::{Ink, LABEL_PX};
use balance::{MovesPoint, Proof};

/// Draws the lowest neutral current for each number of moves. (A)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn few_moves(points: &[MovesPoint]) -> Result<Figure, ChartError> {
    let largest = points
        .iter()
        .map(|point| point.neutral_rms_a)
        .filter(|amps| amps.is_finite());
    let top = headroom(largest.fold(0.0, f64::max));
    let last = points
        .iter()
        .map(|point| point.moves)
        .max()
        .unwrap_or(1)
        .max(1) as f64;
    Figure::new(
        "few-moves",
        "Neutral current v. number of moves [A rms]".to_owned(),
        "A falling series of dots, one for each number of moves; the table below gives the values."
            .to_owned(),
        |_| 240,
        |pen| {
            let right = f64::from(pen.width.px()) - 24.0;
            let field = value_field([20.0, right, 188.0], (0.0, last), (0.0, top), (5, "A"));
            draw_values(pen, &field, (0.0, last), 5, "A")?;
            draw_points(pen, &field, points)
        },
    )
}

fn draw_points(pen: &Pen, field: &PlotArea, points: &[MovesPoint]) -> Result<(), ChartError> {
    let places: Vec<Point> = points
        .iter()
        .filter(|point| point.neutral_rms_a.is_finite())
        .map(|point| field.place(point.moves as f64, point.neutral_rms_a))
        .collect();
    pen.line(&places, Ink::Strong, 1.25)?;
    let every = (points.len() / if pen.width.is_narrow() { 6 } else { 14 }).max(1);
    let end = points.len().saturating_sub(1);
    for (position, point) in points.iter().enumerate() {
        if !point.neutral_rms_a.is_finite() {
            continue;
        }
        let (x, y) = field.place(point.moves as f64, point.neutral_rms_a);
        pen.dot((x, y), 4.0, Ink::Strong)?;
        let moves = match point.moves {
            1 => "1 move".to_owned(),
            moves => format!("{moves} moves"),
        };
        let words = format!("{moves}: {} A rms", units::fixed(point.neutral_rms_a, 1));
        pen.value((x, y), words);
        if point.proof != Proof::Optimal {
            pen.dot((x, y), 2.25, Ink::Paper)?;
        }
        let lettered = position == end || (position % every == 0 && position + every <= end);
        if lettered {
            let letters = Letters::note(Hold::Left)
                .in_ink(Ink::Strong)
                .bold()
                .px(LABEL_PX);
            let letters = if position == end {
                Letters {
                    hold: Hold::Middle,
                    ..letters
                }
            } else {
                letters
            };
            pen.write(
                &format!("{:.1}", point.neutral_rms_a),
                (x + 4.0, y - 12.0),
                letters,
            )?;
            let count = Letters::note(Hold::Middle);
            pen.write(&point.moves.to_string(), (x, field.bottom + 14.0), count)?;
        }
    }
    pen.line(
        &[(field.left, field.bottom), (field.right, field.bottom)],
        Ink::Quiet,
        1.0,
    )?;
    pen.write(
        "number of moves",
        (field.left, field.bottom + 36.0),
        Letters::note(Hold::Left),
    )
}
