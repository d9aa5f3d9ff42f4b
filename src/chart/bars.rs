//! Energy by machine, as bars with the basis of each figure in words.

use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, shortened};
use super::style::{Ink, LABEL_PX};
use units::Basis;

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct EnergyBar {
    /// The machine's name.
    pub name: String,
    /// Its energy. (kWh)
    pub energy_kwh: f64,
    /// The figure with its unit, formatted.
    pub words: String,
    /// Its basis; `None` for the total of several machines.
    pub basis: Option<Basis>,
}

/// Draws the bars in the given order. (kWh)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn energy_bars(bars: &[EnergyBar]) -> Result<Figure, ChartError> {
    let largest = bars
        .iter()
        .map(|bar| bar.energy_kwh)
        .filter(|kwh| kwh.is_finite());
    let largest = largest.fold(0.0, f64::max);
    let row = |narrow: bool| if narrow { 40.0 } else { 26.0 };
    Figure::new(
        "energy-by-machine",
        "Energy by machine [kWh]".to_owned(),
        format!(
            "{} bars in descending order, each with its value and the basis of the value.",
            bars.len()
        ),
        |width| (row(width.is_narrow()) * bars.len().max(1) as f64) as i32 + 8,
        |pen| {
            for (position, bar) in bars.iter().enumerate() {
                let top = position as f64 * row(pen.width.is_narrow());
                draw_bar(pen, top, bar, largest)?;
            }
            Ok(())
        },
    )
}

fn draw_bar(pen: &Pen, top: f64, bar: &EnergyBar, largest: f64) -> Result<(), ChartError> {
    let narrow = pen.width.is_narrow();
    let total = f64::from(pen.width.px());
    let (left, right, middle) = if narrow {
        (2.0, total - 160.0, top + 29.0)
    } else {
        (230.0, total - 190.0, top + 14.0)
    };
    let share = if largest > 0.0 {
        (bar.energy_kwh / largest).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let end = left + (right - left) * share;
    let name = Letters::note(Hold::Left).in_ink(Ink::Text).px(LABEL_PX);
    if narrow {
        pen.write(
            &shortened(&bar.name, name, total - 8.0),
            (left, top + 11.0),
            name,
        )?;
    } else {
        let name = Letters {
            hold: Hold::Right,
            ..name
        };
        pen.write(
            &shortened(&bar.name, name, left - 14.0),
            (left - 10.0, middle),
            name,
        )?;
    }
    let (high, low) = (middle - 7.0, middle + 7.0);
    pen.line(&[(left, high - 2.0), (left, low + 2.0)], Ink::Quiet, 1.0)?;
    match bar.basis {
        Some(Basis::Measured) | None => pen.block((left, high), (end, low), Ink::Energy, 1.0)?,
        Some(Basis::RatingOnly) => outline(pen, [left, high, end, low])?,
        Some(Basis::Estimated) => {
            outline(pen, [left, high, end, low])?;
            hatch(pen, [left, high, end, low])?;
        }
    }
    let words = format!(
        "{} kWh · {}",
        bar.words,
        bar.basis.map_or("total", Basis::name)
    );
    pen.write(&words, (end + 8.0, middle), Letters::note(Hold::Left))
}

pub(super) fn outline(pen: &Pen, [left, high, right, low]: [f64; 4]) -> Result<(), ChartError> {
    let corners = [
        (left, high),
        (right, high),
        (right, low),
        (left, low),
        (left, high),
    ];
    pen.line(&corners, Ink::Energy, 1.5)
}

pub(super) fn hatch(pen: &Pen, [left, high, right, low]: [f64; 4]) -> Result<(), ChartError> {
    let rise = low - high;
    let mut x = left;
    while x < right {
        // Cut where the stroke would leave the bar.
        let run = rise.min(right - x);
        pen.line(&[(x, low), (x + run, low - run)], Ink::Energy, 1.0)?;
        x += rise / 2.0;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_bar_gives_its_basis() {
        let bar = |name: &str, kwh: f64, basis| EnergyBar {
            name: name.to_owned(),
            energy_kwh: kwh,
            words: format!("{kwh}"),
            basis,
        };
        let figure = energy_bars(&[
            bar("saw", 30.0, Some(Basis::Measured)),
            bar("oven <&\">", 20.0, Some(Basis::Estimated)),
            bar("fan", f64::NAN, Some(Basis::RatingOnly)),
        ])
        .expect("a drawing");
        let svg = figure.file();
        for words in [
            "30 kWh · measured",
            "20 kWh · estimated",
            "· rating only",
            "oven &lt;&amp;&quot;&gt;",
        ] {
            assert!(svg.contains(words), "{words}");
        }
    }
}
