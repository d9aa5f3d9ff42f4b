//! Phasor diagram of the currents at one moment, with their sum, the neutral current.

use num_complex::Complex64;

use super::axis::headroom;
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, Point, text_width};
use super::style::{Ink, LABEL_PX, Width};
use balance::PhasorMoment;
use electrical::Phase;
use tables::{Cell, fixed, number, words};
use units::FigureKind as Q;

/// Draws the phasors at one moment, now (if known) and after the moves. (A)
///
/// 0° points up and is the voltage of L1; angles increase anticlockwise.
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn phasor_diagram(
    before: Option<&PhasorMoment>,
    after: &PhasorMoment,
) -> Result<Figure, ChartError> {
    let mut moments: Vec<(&str, &PhasorMoment)> = vec![("after the moves", after)];
    if let Some(before) = before {
        moments.insert(0, ("now", before));
    }
    let largest = moments
        .iter()
        .flat_map(|(_, moment)| moment.phases.iter().chain([&moment.neutral]))
        .map(|phasor| phasor.norm())
        .filter(|norm| norm.is_finite())
        .fold(0.0, f64::max);
    let rows = moments
        .iter()
        .flat_map(|(name, moment)| table_rows(name, moment))
        .collect();
    let figure = Figure::new(
        "phasors",
        "Phasor diagram at the maximum neutral current [A]".to_owned(),
        description(&moments),
        |width| {
            let stacked = if width.is_narrow() {
                moments.len() as i32
            } else {
                1
            };
            stacked * diagram_height(width)
        },
        |pen| {
            for (position, (name, moment)) in moments.iter().enumerate() {
                draw_diagram(pen, position, moments.len(), name, moment, largest)?;
            }
            Ok(())
        },
    )?;
    let columns = vec![
        words("Conductor"),
        number("Magnitude", Q::Current),
        fixed("Angle to L1 voltage", "°", 0),
        fixed("Angle to own voltage", "°", 0),
    ];
    Ok(figure.with_table(columns, rows))
}

const fn diagram_height(width: Width) -> i32 {
    if width.is_narrow() { 350 } else { 376 }
}

fn description(moments: &[(&str, &PhasorMoment)]) -> String {
    let sentences: Vec<String> = moments
        .iter()
        .map(|(name, moment)| {
            let [l1, l2, l3] = moment.phases.map(Complex64::norm);
            let neutral = moment.neutral.norm();
            format!("{name}: L1 {l1:.1} A, L2 {l2:.1} A, L3 {l3:.1} A, their sum {neutral:.1} A.")
        })
        .collect();
    sentences.join(" ")
}

fn table_rows(name: &str, moment: &PhasorMoment) -> Vec<Vec<Cell>> {
    let angle = |phasor: Complex64| (phasor.norm() >= 0.05).then(|| phasor.arg().to_degrees());
    let mut rows: Vec<Vec<Cell>> = Phase::ALL
        .into_iter()
        .map(|phase| {
            let phasor = moment.phases[phase.index()];
            vec![
                format!("{phase}, {name}").into(),
                phasor.norm().into(),
                angle(phasor).into(),
                angle(phasor * phase.direction().conj()).into(),
            ]
        })
        .collect();
    rows.push(vec![
        format!("N (sum), {name}").into(),
        moment.neutral.norm().into(),
        angle(moment.neutral).into(),
        Cell::Unknown,
    ]);
    rows
}

fn draw_diagram(
    pen: &Pen,
    position: usize,
    count: usize,
    name: &str,
    moment: &PhasorMoment,
    largest: f64,
) -> Result<(), ChartError> {
    let total = f64::from(pen.width.px());
    let (centre, radius) = if pen.width.is_narrow() {
        let top = position as f64 * f64::from(diagram_height(pen.width));
        ((total / 2.0, top + 195.0), 132.0)
    } else {
        (
            (total * (position as f64 + 0.5) / count as f64, 210.0),
            150.0,
        )
    };
    let title = Letters::note(Hold::Middle)
        .in_ink(Ink::Text)
        .bold()
        .px(LABEL_PX);
    pen.write(name, (centre.0, centre.1 - radius - 44.0), title)?;

    let full = headroom(largest);
    let step = ring_step(full);
    let mut value = step;
    while value <= full {
        pen.ring(centre, value / full * radius, Ink::Rule, 0.75)?;
        value += step;
    }
    for phase in Phase::ALL {
        let tip = at(centre, radius * 1.02, phase.direction());
        pen.line(&[centre, tip], Ink::Rule, 0.75)?;
        let place = at(centre, radius + 15.0, phase.direction());
        pen.write(&format!("U {phase}"), place, Letters::note(Hold::Middle))?;
    }
    let mut names = Vec::new();
    for phase in Phase::ALL {
        let phasor = moment.phases[phase.index()];
        let ink = Ink::PHASES[phase.index()];
        names.extend(draw_arrow(
            pen,
            centre,
            phasor * (radius / full),
            (ink, phase.name(), 2.0),
            1.0,
        )?);
    }
    let side = neutral_name_side(moment);
    names.extend(draw_arrow(
        pen,
        centre,
        moment.neutral * (radius / full),
        (Ink::Strong, "N", 3.5),
        side,
    )?);
    let mut value = step;
    while value <= full {
        let at = (centre.0, centre.1 + value / full * radius - 7.0);
        draw_ring_value(pen, &format!("{value:.0} A"), at, &names)?;
        value += step;
    }
    Ok(())
}

/// The value of a ring at its lowest point, on the side that no name is on; nowhere if there is one on both.
fn draw_ring_value(
    pen: &Pen,
    words: &str,
    (x, y): Point,
    names: &[Point],
) -> Result<(), ChartError> {
    const NAME: (f64, f64) = (14.0, 15.0);
    for (hold, side) in [(Hold::Left, 1.0), (Hold::Right, -1.0)] {
        let letters = Letters::note(hold);
        let half = text_width(words, letters) / 2.0;
        let middle = x + side * (4.0 + half);
        let is_free =
            |name: &Point| (name.0 - middle).abs() > half + NAME.0 || (name.1 - y).abs() > NAME.1;
        if names.iter().all(is_free) {
            return pen.write(words, (x + side * 4.0, y), letters);
        }
    }
    Ok(())
}

/// The side of its shaft on which N is lettered: 1 anticlockwise, −1 clockwise.
///
/// Away from the nearest phase; within 10° of one, on the side opposite to the name of that phase.
fn neutral_name_side(moment: &PhasorMoment) -> f64 {
    let angles = moment
        .phases
        .iter()
        .filter(|phase| phase.norm() > 0.0)
        .map(|phase| {
            // From the neutral to the phase, −180° to 180°.
            (phase * moment.neutral.conj()).arg().to_degrees()
        });
    let nearest = angles
        .min_by(|a, b| a.abs().total_cmp(&b.abs()))
        .unwrap_or(0.0);
    if nearest.abs() < 10.0 || nearest > 0.0 {
        -1.0
    } else {
        1.0
    }
}

/// A round step that gives two to five rings.
fn ring_step(full: f64) -> f64 {
    let decade = 10.0_f64.powf((full / 2.0).log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|m| m * decade)
        .find(|step| full / step >= 2.0)
        .unwrap_or(decade)
}

/// A point in the given direction: 0° up, angles anticlockwise.
fn at(centre: Point, length: f64, direction: Complex64) -> Point {
    (
        centre.0 - length * direction.im,
        centre.1 - length * direction.re,
    )
}

/// Gives where its name is.
fn draw_arrow(
    pen: &Pen,
    centre: Point,
    phasor: Complex64,
    (ink, name, px): (Ink, &str, f64),
    side: f64,
) -> Result<Option<Point>, ChartError> {
    let length = phasor.norm();
    if !length.is_finite() || length < 1.0 {
        return Ok(None);
    }
    let direction = phasor / length;
    let across = direction * Complex64::i();
    let tip = at(centre, length, direction);
    let head = 9.0_f64.min(length * 0.6);
    let neck = at(centre, length - head, direction);
    let wing = |side: f64| {
        let half = side * head * 0.42;
        (neck.0 - half * across.im, neck.1 - half * across.re)
    };
    pen.line(&[centre, neck], ink, px)?;
    pen.fill(&[tip, wing(1.0), wing(-1.0)], ink, 1.0)?;
    // The name is at the side of the shaft: beyond the tip is the name of the voltage.
    let shaft = at(centre, length * 0.72, direction);
    let place = (
        shaft.0 - side * 14.0 * across.im,
        shaft.1 - side * 14.0 * across.re,
    );
    let letters = Letters::note(Hold::Middle).in_ink(ink).bold().px(LABEL_PX);
    pen.write(name, place, letters)?;
    Ok(Some(place))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;
    use chrono::DateTime;

    fn moment(amps: [f64; 3]) -> PhasorMoment {
        let phases = [0, 1, 2].map(|one| Phase::ALL[one].direction() * amps[one]);
        PhasorMoment {
            at: DateTime::UNIX_EPOCH,
            phases,
            neutral: phases.iter().sum(),
            neutral_beyond_phasors_a: 0.0,
        }
    }

    #[test]
    fn up_is_zero_and_angles_grow_against_the_clock() {
        let up = at((0.0, 0.0), 1.0, Phase::L1.direction());
        let left = at((0.0, 0.0), 1.0, Phase::L3.direction());
        assert!((up.0).abs() < 1e-12 && (up.1 + 1.0).abs() < 1e-12);
        assert!(left.0 < 0.0 && left.1 > 0.0);
    }

    #[test]
    fn the_table_gives_the_sum_of_three_unequal_phases() {
        // |10 + 8∠−120° + 3∠120°| = √(10² + 8² + 3² − 10·8 − 8·3 − 10·3) = √39, from the law of
        // cosines (three resistive loads).
        let figure = phasor_diagram(None, &moment([10.0, 8.0, 3.0])).expect("a drawing");
        let rows = shown(&figure);
        assert_eq!(rows[3][1], format!("{:.1}", 39.0_f64.sqrt()));
        assert_eq!(rows[1][3], "0");
    }

    #[test]
    fn no_current_gives_no_arrow_and_no_angle() {
        let figure = phasor_diagram(None, &moment([0.0; 3])).expect("a drawing");
        assert!(!figure.file().contains("NaN"));
        assert_eq!(shown(&figure)[0][2], "–");
    }

    #[test]
    fn the_neutral_is_named_away_from_the_nearest_phase() {
        let with_neutral_at = |degrees: f64| PhasorMoment {
            neutral: Complex64::from_polar(5.0, degrees.to_radians()),
            ..moment([10.0, 0.0, 0.0])
        };
        assert!((neutral_name_side(&with_neutral_at(40.0)) - 1.0_f64).abs() < 1e-12);
        assert!((neutral_name_side(&with_neutral_at(-40.0)) + 1.0_f64).abs() < 1e-12);
        assert!((neutral_name_side(&with_neutral_at(2.0)) + 1.0_f64).abs() < 1e-12);
    }

    #[test]
    fn rings_are_round_numbers() {
        assert!((ring_step(118.0) - 50.0_f64).abs() < 1e-12);
        assert!((ring_step(45.0) - 20.0_f64).abs() < 1e-12);
        assert!((ring_step(9.0) - 2.0_f64).abs() < 1e-12);
    }
}
