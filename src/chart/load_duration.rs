//! The load duration curve of a meter.

use super::axis::{draw_values, headroom, value_field};
use super::duration::{draw_curve, draw_shares, exceeded_during, falling, give_shares};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters};
use super::style::Ink;
use tables::{number, words};
use units::{FigureKind as Q, fixed};

/// Shares of the time in the table. (%)
const SHARES_PCT: [f64; 9] = [0.0, 1.0, 5.0, 10.0, 25.0, 50.0, 75.0, 90.0, 100.0];

/// Draws the demands in descending order, with their mean. (kW)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn load_duration(block_kw: &[f64]) -> Result<Figure, ChartError> {
    let sorted = falling(block_kw);
    let largest = sorted.first().copied().unwrap_or(0.0);
    let smallest = sorted.last().copied().unwrap_or(0.0).min(0.0);
    let mean = sorted.iter().sum::<f64>() / sorted.len().max(1) as f64;
    let rows = SHARES_PCT
        .into_iter()
        .map(|share| {
            let kw = exceeded_during(&sorted, share / 100.0);
            let share = if share == 0.0 {
                "maximum".to_owned()
            } else {
                format!("{share} %")
            };
            vec![share.into(), kw.into()]
        })
        .collect();
    let figure = Figure::new(
        "load-duration",
        "Load duration curve [kW]".to_owned(),
        format!(
            "A falling curve of all demand periods, from {} kW; their mean is {} kW. The table below gives the \
             values.",
            fixed(largest, 1),
            fixed(mean, 1)
        ),
        |width| if width.is_narrow() { 280 } else { 320 },
        |pen| {
            let right = f64::from(pen.width.px()) - 10.0;
            let bottom = if pen.width.is_narrow() { 230.0 } else { 270.0 };
            let y = (smallest, headroom(largest));
            let field = value_field([20.0, right, bottom], (0.0, 1.0), y, (6, "kW"));
            give_shares(pen, &field, &[("", Some(&sorted[..]))], "kW");
            draw_values(pen, &field, (0.0, 1.0), 6, "kW")?;
            draw_shares(pen, &field)?;
            let (_, y) = field.place(0.0, mean);
            pen.line(&[(field.left, y), (right, y)], Ink::Now, 1.5)?;
            let at = (right, y - 9.0);
            let letters = Letters::note(Hold::Right).in_ink(Ink::Now);
            pen.write(&format!("mean {} kW", fixed(mean, 1)), at, letters)?;
            draw_curve(pen, &field, &sorted, Ink::Strong)
        },
    )?;
    let demand = number("Demand", Q::ActivePower);
    Ok(figure.with_table(vec![words("Share of time at or above"), demand], rows))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    #[test]
    fn the_mean_is_drawn_and_the_table_falls() {
        let values: Vec<f64> = (1..=100).map(f64::from).collect();
        let figure = load_duration(&values).expect("a drawing");
        assert!(figure.file().contains(">mean 50.5 kW<"));
        assert_eq!(shown(&figure)[0], ["maximum", "100.00"]);
        assert_eq!(shown(&figure)[4], ["25 %", "76.00"]);
        assert_eq!(shown(&figure)[8], ["100 %", "1.00"]);
    }
}
