//! The triangle of the line-to-line voltages with the star point.

use num_complex::Complex64;

use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, Point};
use super::style::{Ink, LABEL_PX};
use diagnosis::VoltageTrace;
use electrical::Phase;
use tables::{Cell, number, words};
use units::FigureKind as Q;

/// Draws the triangle; with a star point, the phase voltages as arrows to the corners. (V)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn voltage_triangle(
    name: &'static str,
    trace: &VoltageTrace,
    when: &str,
) -> Result<Figure, ChartError> {
    let lines = trace.line_voltages();
    let phases = trace.phase_voltages();
    let displacement = trace.star.map(Complex64::norm);
    let line_rows = ["L1–L2", "L2–L3", "L3–L1"].into_iter().zip(lines);
    let phase_rows = phases
        .into_iter()
        .flat_map(|volts| ["L1–N", "L2–N", "L3–N"].into_iter().zip(volts));
    let rows: Vec<Vec<Cell>> = line_rows
        .chain(phase_rows)
        .chain(displacement.map(|volts| ("star-point displacement", volts)))
        .map(|(name, volts)| vec![name.into(), volts.into()])
        .collect();
    let description = format!(
        "Line-to-line voltages {:.0}, {:.0} and {:.0} V{}.",
        lines[0],
        lines[1],
        lines[2],
        displacement.map_or_else(String::new, |volts| format!(
            "; the star point is displaced by {volts:.1} V"
        ))
    );
    let caption = if displacement.is_some() {
        "The corners are the phases; the line-to-line voltages are taken as equal. With a sound neutral the star point N \
         is in the middle (ring); the further it is displaced, the more the phase voltages (arrows) differ."
    } else {
        "The sides are the logged line-to-line voltages, means over ten minutes; the thin triangle has their mean on all \
         sides."
    };
    let figure = Figure::new(
        name,
        format!("Voltages at the worst moment, {when} [V]"),
        description,
        |width| if width.is_narrow() { 330 } else { 360 },
        |pen| draw(pen, trace, &lines),
    )?;
    Ok(figure
        .with_caption(caption.to_owned())
        .with_table(vec![words("Between"), number("Voltage", Q::Voltage)], rows))
}

fn draw(pen: &Pen, trace: &VoltageTrace, lines: &[f64; 3]) -> Result<(), ChartError> {
    let centre = (
        f64::from(pen.width.px()) / 2.0,
        if pen.width.is_narrow() { 196.0 } else { 214.0 },
    );
    let mean = lines.iter().sum::<f64>() / 3.0;
    let full = mean / 3.0_f64.sqrt();
    let px = if pen.width.is_narrow() { 140.0 } else { 158.0 } / full;
    // 0° up, angles anticlockwise.
    let place =
        |volts: Complex64| -> Point { (centre.0 - px * volts.im, centre.1 - px * volts.re) };
    let even = Phase::ALL.map(|phase| phase.direction() * full);
    outline(pen, &even.map(place), Ink::Rule, 1.0)?;
    outline(pen, &trace.corners.map(place), Ink::Quiet, 1.75)?;
    for (k, volts) in lines.iter().enumerate() {
        let side = (trace.corners[k] + trace.corners[(k + 1) % 3]) * 0.5;
        let away = place(side * (1.0 + 26.0 / (px * side.norm()).max(1.0)));
        pen.write(&format!("{volts:.0} V"), away, Letters::note(Hold::Middle))?;
    }
    for phase in Phase::ALL {
        let corner = trace.corners[phase.index()];
        let at = place(corner * (1.0 + 16.0 / (px * corner.norm()).max(1.0)));
        let letters = Letters::note(Hold::Middle)
            .in_ink(Ink::PHASES[phase.index()])
            .bold()
            .px(LABEL_PX);
        pen.write(phase.name(), at, letters)?;
    }
    let Some(star) = trace.star else {
        return Ok(());
    };
    for phase in Phase::ALL {
        let corner = trace.corners[phase.index()];
        let ink = Ink::PHASES[phase.index()];
        arrow(pen, place(star), place(corner), ink)?;
        let volts = (corner - star).norm();
        let middle = place(star + (corner - star) * 0.55);
        pen.dot((middle.0, middle.1), 17.0, Ink::Paper)?;
        pen.write(
            &format!("{volts:.0}"),
            middle,
            Letters::note(Hold::Middle).in_ink(ink).bold(),
        )?;
    }
    pen.ring(place(Complex64::ZERO), 4.0, Ink::Quiet, 1.25)?;
    pen.dot(place(star), 5.0, Ink::Strong)?;
    let (x, y) = place(star);
    pen.write(
        "N",
        (x + 12.0, y + 12.0),
        Letters::note(Hold::Left)
            .in_ink(Ink::Strong)
            .bold()
            .px(LABEL_PX),
    )
}

fn outline(pen: &Pen, corners: &[Point; 3], ink: Ink, px: f64) -> Result<(), ChartError> {
    let [a, b, c] = *corners;
    pen.line(&[a, b, c, a], ink, px)
}

fn arrow(pen: &Pen, from: Point, to: Point, ink: Ink) -> Result<(), ChartError> {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = dx.hypot(dy);
    if length < 1.0 {
        return Ok(());
    }
    let (dx, dy) = (dx / length, dy / length);
    let neck = (to.0 - 10.0 * dx, to.1 - 10.0 * dy);
    pen.line(&[from, neck], ink, 2.0)?;
    let wing = |side: f64| (neck.0 - side * 4.2 * dy, neck.1 + side * 4.2 * dx);
    pen.fill(&[to, wing(1.0), wing(-1.0)], ink, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    #[test]
    fn a_moved_star_point_is_drawn_with_its_volts() {
        let radius = 230.0;
        let trace = VoltageTrace {
            at_s: 0,
            corners: Phase::ALL.map(|phase| phase.direction() * radius),
            star: Some(Complex64::new(-50.0, 0.0)),
        };
        let figure = voltage_triangle("voltage-triangle", &trace, "now").expect("a drawing");
        // L1 points up and the star point is 50 V below: 280 V; a side is 230·√3 = 398.4 V.
        let cell = |row: usize| shown(&figure)[row][1].clone();
        assert_eq!([cell(0), cell(3), cell(6)], ["398.4", "280.0", "50.0"]);
        assert!(figure.file().contains("280"));
    }
}
