//! The extra resistance of a joint: voltage drop v. current, and resistance over time.

use chrono_tz::Tz;

use super::axis::{draw_key, draw_times, draw_values, headroom, local, time_ticks, value_field};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, Point};
use super::style::Ink;
use diagnosis::joint::{JointTrace, OhmAt};
use electrical::Phase;
use tables::{Cell, exact, fixed, number, words};
use units::{FigureKind as Q, format_moment};

/// Classes of current in the table of values.
const CLASSES: usize = 8;

const fn names(phase: Phase) -> [&'static str; 2] {
    match phase {
        Phase::L1 => ["lost-voltage-l1", "extra-resistance-l1"],
        Phase::L2 => ["lost-voltage-l2", "extra-resistance-l2"],
        Phase::L3 => ["lost-voltage-l3", "extra-resistance-l3"],
    }
}

/// Voltage drop of a phase v. its current, with the fit. (V, A)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn lost_voltage(trace: &JointTrace) -> Result<Figure, ChartError> {
    let most = |of: fn(&(f64, f64)) -> f64| trace.points.iter().map(of).fold(0.0, f64::max);
    let amps = headroom(most(|point| point.0.abs()));
    // A few outliers would flatten all other points.
    let volts = headroom(
        percentile(trace.points.iter().map(|point| point.1.abs()), 0.99)
            .max(amps * trace.slope.high),
    );
    let [mohm, low, high] =
        [trace.slope.ohm, trace.slope.low, trace.slope.high].map(|ohm| units::fixed(1e3 * ohm, 1));
    let figure = Figure::new(
        names(trace.phase)[0],
        format!(
            "{}: voltage drop v. current, changes between readings [V, A]",
            trace.phase
        ),
        format!(
            "{} dots about a fitted line of {mohm} mΩ ({low} to {high}).",
            trace.points.len()
        ),
        |width| if width.is_narrow() { 300 } else { 340 },
        |pen| {
            let right = f64::from(pen.width.px()) - 24.0;
            let bottom = if pen.width.is_narrow() { 232.0 } else { 272.0 };
            let (x, y) = ((-amps, amps), (-volts, volts));
            let field = value_field([34.0, right, bottom], x, y, (6, "V"));
            draw_values(pen, &field, (-amps, amps), 6, "V")?;
            draw_amps(pen, &field, amps)?;
            scatter(pen, &field, trace, (amps, volts))?;
            draw_key(pen, &[("fit", Ink::Limit), ("95 %", Ink::Quiet)])
        },
    )?;
    Ok(figure
        .with_caption(format!(
            "Each dot is the change from one reading to the next, after removing what the phases have in common and what \
             the other currents explain (partial residuals). The slope is the extra resistance of {} compared with the \
             mean of the other phases: {mohm} mΩ at the middle of the log, 95 % interval {low} to {high} mΩ (thin \
             lines). With a sound joint the dots follow the horizontal line.",
            trace.phase
        ))
        .with_table(
            vec![
                fixed("Change of current", "A", 2),
                fixed("Voltage drop, mean", "V", 2),
                fixed("Voltage drop, fitted", "V", 2),
                exact("Dots", ""),
            ],
            classes(trace),
        ))
}

fn percentile(values: impl Iterator<Item = f64>, share: f64) -> f64 {
    let mut all: Vec<f64> = values.collect();
    all.sort_by(f64::total_cmp);
    let last = all.len().saturating_sub(1);
    all.get((share * last as f64).round() as usize)
        .copied()
        .unwrap_or(0.0)
}

/// Grid lines and numbers of the horizontal axis.
fn draw_amps(pen: &Pen, field: &PlotArea, amps: f64) -> Result<(), ChartError> {
    let decade = 10.0_f64.powf(amps.log10().floor());
    let step = [0.2, 0.5, 1.0, 2.0]
        .into_iter()
        .map(|share| share * decade)
        .find(|step| amps / step <= 4.0)
        .unwrap_or(decade);
    let count = (amps / step).floor() as i32;
    for tick in -count..=count {
        let value = f64::from(tick) * step;
        let (x, _) = field.place(value, 0.0);
        pen.line(&[(x, field.top), (x, field.bottom)], Ink::Rule, 0.75)?;
        let decimals = usize::from(step < 1.0);
        let mut label = units::fixed(value, decimals).replace('-', "−");
        if tick == count {
            label = format!("{label} A");
        }
        pen.write(
            &label,
            (x, field.bottom + 14.0),
            Letters::note(Hold::Middle),
        )?;
    }
    let words = "change of the phase current";
    pen.write(
        words,
        (field.left, field.bottom + 36.0),
        Letters::note(Hold::Left),
    )
}

fn scatter(
    pen: &Pen,
    field: &PlotArea,
    trace: &JointTrace,
    (amps, volts): (f64, f64),
) -> Result<(), ChartError> {
    for &(current, lost) in trace.points.iter().filter(|point| point.1.abs() <= volts) {
        pen.dot(
            field.place(current, lost),
            1.75,
            Ink::PHASES[trace.phase.index()],
        )?;
    }
    let reach = |ohm: f64| {
        if ohm.abs() * amps > volts {
            volts / ohm.abs()
        } else {
            amps
        }
    };
    let line = |ohm: f64, ink: Ink, px: f64| {
        let end = reach(ohm);
        let ends: [Point; 2] = [field.place(-end, -end * ohm), field.place(end, end * ohm)];
        pen.line(&ends, ink, px)
    };
    line(trace.slope.low, Ink::Quiet, 1.0)?;
    line(trace.slope.high, Ink::Quiet, 1.0)?;
    line(trace.slope.ohm, Ink::Limit, 2.25)
}

/// Means of the dots in classes of current with equal numbers of dots.
fn classes(trace: &JointTrace) -> Vec<Vec<Cell>> {
    let mut points = trace.points.clone();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    points
        .chunks(points.len().div_ceil(CLASSES).max(1))
        .map(|class| {
            let mean =
                |of: fn(&(f64, f64)) -> f64| class.iter().map(of).sum::<f64>() / class.len() as f64;
            let (amps, volts) = (mean(|point| point.0), mean(|point| point.1));
            vec![
                amps.into(),
                volts.into(),
                (amps * trace.slope.ohm).into(),
                class.len().into(),
            ]
        })
        .collect()
}

/// The extra resistance over time with its 95 % band, and the estimates from parts of the log. (mΩ)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn extra_resistance(trace: &JointTrace, zone: Tz) -> Result<Figure, ChartError> {
    let all = || trace.band.iter().chain(&trace.parts);
    let top = headroom(all().map(|one| 1e3 * one.high).fold(0.0, f64::max));
    let bottom = all().map(|one| 1e3 * one.low).fold(0.0, f64::min) * 1.08;
    let bounds = (
        trace.band.first().map_or(0, |one| one.at_s),
        trace.band.last().map_or(1, |one| one.at_s),
    );
    let ends =
        [trace.band.first(), trace.band.last()].map(|one| one.map_or(0.0, |one| 1e3 * one.ohm));
    let figure = Figure::new(
        names(trace.phase)[1],
        format!(
            "{}: extra resistance compared with the other phases [mΩ]",
            trace.phase
        ),
        format!(
            "A line from {} to {} mΩ with its 95 % band, and {} dots with intervals.",
            units::fixed(ends[0], 1),
            units::fixed(ends[1], 1),
            trace.parts.len()
        ),
        |_| 280,
        |pen| {
            let right = f64::from(pen.width.px()) - 24.0;
            let x = (bounds.0 as f64, bounds.1 as f64);
            let field = value_field([34.0, right, 244.0], x, (bottom, top), (6, "mΩ"));
            draw_values(pen, &field, x, 6, "mΩ")?;
            let most = if pen.width.is_narrow() { 4 } else { 8 };
            draw_times(pen, &field, &time_ticks(zone, bounds, most), true)?;
            band(pen, &field, trace)?;
            give_values(pen, &field, trace, zone);
            draw_key(
                pen,
                &[
                    ("fit, 95 %", Ink::PHASES[trace.phase.index()]),
                    ("one eighth of the log", Ink::Strong),
                ],
            )
        },
    )?;
    Ok(figure
        .with_caption(
            "The line is fitted to all readings and assumes steady growth; the band is its 95 % interval. Each dot is \
             estimated from one eighth of the readings alone, with its 95 % interval. Several dots on one side of the \
             line show that the growth is not steady."
                .to_owned(),
        )
        .with_table(
            vec![
                words("Time"),
                number("Resistance", Q::JointResistance),
                number("95 % from", Q::JointResistance),
                number("95 % to", Q::JointResistance),
                words("Estimated from"),
            ],
            rows(trace, zone),
        ))
}

/// The fitted line with its interval, to be read under a pointer.
fn give_values(pen: &Pen, field: &PlotArea, trace: &JointTrace, zone: Tz) {
    for one in &trace.band {
        let time = local(zone, one.at_s).map_or_else(String::new, format_moment);
        let [ohm, low, high] = [one.ohm, one.low, one.high].map(|ohm| units::fixed(1e3 * ohm, 1));
        pen.value(
            field.place(one.at_s as f64, 1e3 * one.ohm),
            format!("{time}: {ohm} mΩ, 95 % interval {low} to {high} mΩ"),
        );
    }
}

fn band(pen: &Pen, field: &PlotArea, trace: &JointTrace) -> Result<(), ChartError> {
    let at = |one: &OhmAt, ohm: f64| field.place(one.at_s as f64, 1e3 * ohm);
    let ink = Ink::PHASES[trace.phase.index()];
    let mut outline: Vec<Point> = trace.band.iter().map(|one| at(one, one.high)).collect();
    outline.extend(trace.band.iter().rev().map(|one| at(one, one.low)));
    pen.fill(&outline, ink, 0.25)?;
    let line: Vec<Point> = trace.band.iter().map(|one| at(one, one.ohm)).collect();
    pen.line(&line, ink, 2.25)?;
    for one in &trace.parts {
        let (low, high) = (at(one, one.low), at(one, one.high));
        pen.line(&[low, high], Ink::Strong, 1.25)?;
        for end in [low, high] {
            pen.line(
                &[(end.0 - 4.0, end.1), (end.0 + 4.0, end.1)],
                Ink::Strong,
                1.25,
            )?;
        }
        pen.dot(at(one, one.ohm), 3.5, Ink::Strong)?;
    }
    pen.line(
        &[
            field.place(trace.band[0].at_s as f64, 0.0),
            (field.right, field.place(0.0, 0.0).1),
        ],
        Ink::Quiet,
        1.0,
    )
}

fn rows(trace: &JointTrace, zone: Tz) -> Vec<Vec<Cell>> {
    let row = |one: &OhmAt, by: &str| {
        let time = chrono::DateTime::from_timestamp(one.at_s, 0).unwrap_or_default();
        let [ohm, low, high] = [one.ohm, one.low, one.high].map(|ohm| Cell::from(1e3 * ohm));
        vec![Cell::instant(time, &zone), ohm, low, high, by.into()]
    };
    let ends = [
        trace.band.first(),
        trace.band.get(trace.band.len() / 2),
        trace.band.last(),
    ];
    let line = ends
        .into_iter()
        .flatten()
        .map(|one| row(one, "fitted line"));
    line.chain(
        trace
            .parts
            .iter()
            .map(|one| row(one, "one eighth of the log")),
    )
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    fn trace() -> JointTrace {
        let at = |at_s: i64, ohm: f64| OhmAt {
            at_s,
            ohm,
            low: ohm - 0.001,
            high: ohm + 0.001,
        };
        JointTrace {
            phase: Phase::L2,
            points: (-40..=40)
                .map(|k| (f64::from(k), 0.010 * f64::from(k)))
                .collect(),
            slope: at(1_773_100_000, 0.010),
            band: vec![
                at(1_773_014_400, 0.005),
                at(1_773_100_000, 0.010),
                at(1_773_186_000, 0.015),
            ],
            parts: vec![at(1_773_050_000, 0.007)],
        }
    }

    #[test]
    fn the_table_of_values_has_the_fit() {
        let figure = lost_voltage(&trace()).expect("a drawing");
        // Classes of 11 dots: the first is −40 to −30 A, −35 A on average, 0.35 V at 10 mΩ.
        let first = &shown(&figure)[0];
        assert_eq!(first[..3], ["−35.00", "−0.35", "−0.35"].map(str::to_owned));
        assert!(
            figure
                .caption
                .contains("10.0 mΩ at the middle of the log, 95 % interval 9.0 to 11.0")
        );
        assert!(!figure.file().contains("NaN"));
    }

    #[test]
    fn the_table_distinguishes_the_line_and_the_parts() {
        let figure = extra_resistance(&trace(), chrono_tz::UTC).expect("a drawing");
        assert_eq!(figure.table.rows.len(), 4);
        assert_eq!(
            shown(&figure)[0][1..],
            ["5.0", "4.0", "6.0", "fitted line"].map(str::to_owned)
        );
        assert_eq!(shown(&figure)[3][4], "one eighth of the log");
    }
}
