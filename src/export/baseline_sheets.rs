//! The tables of a baseline, of what came after it, and of the days that stand out.

use super::sheet::{Cell, Sheet, column};
use baseline::{Baseline, Change, HoursDiffer, PartDiffers};
use units::signed;

/// Every table, also those without rows.
pub(super) fn baseline_sheets(change: &Change) -> Vec<Sheet> {
    let fitted = change.baseline.as_ref();
    vec![
        coefficients(fitted),
        fit(fitted),
        index(fitted),
        periods(fitted),
        standing_out(change),
    ]
}

fn coefficients(fitted: Option<&Baseline>) -> Sheet {
    let rows = fitted.into_iter().flat_map(|fitted| &fitted.terms);
    let rows = rows.map(|term| {
        vec![
            term.term.as_str().into(),
            term.unit.as_str().into(),
            term.coefficient.into(),
            term.standard_error.into(),
            term.low_95.into(),
            term.high_95.into(),
        ]
    });
    let of = fitted.map_or(String::new(), |fitted| {
        format!(
            " of {}, {} to {} (energy per day by ordinary least squares over its {} whole {}s; kinds of day beside a \
             working day)",
            fitted.meter,
            fitted.from,
            fitted.to,
            fitted.n,
            fitted.by.name()
        )
    });
    Sheet {
        name: "baseline",
        title: format!("Baseline{of}"),
        columns: vec![
            column("term", "what drives it", 0),
            column("unit", "unit", 0),
            column("coefficient", "coefficient", 3),
            column("standard_error", "standard error", 3),
            column("low_95", "95 % from", 3),
            column("high_95", "95 % to", 3),
        ],
        rows: rows.collect(),
    }
}

fn fit(fitted: Option<&Baseline>) -> Sheet {
    let rows = fitted.into_iter().map(|fitted| {
        let limits = |data: &str| fitted.limits.iter().find(|limits| limits.data == data);
        let cv = |data: &str| limits(data).map(|limits| limits.cv_rmse_limit_pct);
        let nmbe = |data: &str| limits(data).map(|limits| limits.nmbe_limit_pct);
        vec![
            fitted.n.into(),
            fitted.left_out.into(),
            fitted.terms.len().into(),
            fitted.r_squared.into(),
            fitted.residual_kwh.into(),
            fitted.autocorrelation.into(),
            fitted.cv_rmse_pct.into(),
            cv("monthly").into(),
            cv("hourly").into(),
            fitted.nmbe_pct.into(),
            nmbe("monthly").into(),
            nmbe("hourly").into(),
        ]
    });
    Sheet {
        name: "baseline-fit",
        title: "How well the baseline fits (limits: ASHRAE Guideline 14-2014 for models of monthly and of hourly data, of \
                NMBE in either direction; both errors divide by n less coefficients; NMBE is 0 by construction)"
            .to_owned(),
        columns: vec![
            column("n", "n", 0),
            column("left_out", "left out", 0),
            column("coefficients", "coefficients", 0),
            column("r_squared", "R²", 4),
            column("residual_kwh", "residual (kWh/d)", 2),
            column("autocorrelation", "autocorrelation", 2),
            column("cv_rmse_pct", "CV(RMSE) (%)", 2),
            column("cv_rmse_limit_monthly_pct", "monthly limit (%)", 0),
            column("cv_rmse_limit_hourly_pct", "hourly limit (%)", 0),
            column("nmbe_pct", "NMBE (%)", 2),
            column("nmbe_limit_monthly_pct", "monthly limit ± (%)", 0),
            column("nmbe_limit_hourly_pct", "hourly limit ± (%)", 0),
        ],
        rows: rows.collect(),
    }
}

fn index(fitted: Option<&Baseline>) -> Sheet {
    let rows = fitted.and_then(|fitted| fitted.energy_index.as_ref());
    let rows = rows.into_iter().map(|index| {
        vec![
            index.driver.as_str().into(),
            index.unit.as_str().into(),
            index.baseline_kwh_per_unit.into(),
            index.since_kwh_per_unit.into(),
        ]
    });
    Sheet {
        name: "energy-index",
        title: "Energy index (all energy over the sum of the only driver, over the periods of the baseline and over those \
                since that could be compared; what does not depend on the driver is in it, so that it falls as the driver \
                grows: the coefficient does not)"
            .to_owned(),
        columns: vec![
            column("driver", "driver", 0),
            column("unit", "unit", 0),
            column("baseline_kwh_per_unit", "baseline", 2),
            column("since_kwh_per_unit", "since", 2),
        ],
        rows: rows.collect(),
    }
}

fn periods(fitted: Option<&Baseline>) -> Sheet {
    let rows = fitted.into_iter().flat_map(|fitted| &fitted.periods);
    let rows = rows.map(|period| {
        vec![
            period.key.as_str().into(),
            period.day_type.map_or("", |kind| kind.name()).into(),
            period.in_baseline.into(),
            period.energy_kwh.into(),
            period.expected_kwh.into(),
            period.low_95_kwh.into(),
            period.high_95_kwh.into(),
            period.difference_kwh.into(),
            period.cumulative_kwh.into(),
            Cell::Text(period.extrapolated.join(", ")),
        ]
    });
    Sheet {
        name: "cusum",
        title: "Measured and expected, and the cumulative sum of the difference (the interval is that of a single \
                period; the sum runs through the baseline and begins anew at its end)"
            .to_owned(),
        columns: vec![
            column("key", "period", 0),
            column("day_type", "kind", 0),
            column("in_baseline", "baseline", 0),
            column("energy_kwh", "measured (kWh)", 1),
            column("expected_kwh", "expected (kWh)", 1),
            column("low_95_kwh", "95 % from (kWh)", 1),
            column("high_95_kwh", "95 % to (kWh)", 1),
            column("difference_kwh", "difference (kWh)", 1),
            column("cumulative_kwh", "cumulative (kWh)", 1),
            column("extrapolated", "outside what was seen", 0),
        ],
        rows: rows.collect(),
    }
}

fn standing_out(change: &Change) -> Sheet {
    let rows = change.standing_out.iter().flatten().map(|day| {
        vec![
            day.meter.as_str().into(),
            Cell::Date(day.date),
            day.day_type.name().into(),
            day.energy_kwh.into(),
            day.expected_kwh.into(),
            day.difference_kwh.into(),
            day.score.into(),
            Cell::Text(day.hours.as_ref().map(hours).unwrap_or_default()),
            Cell::Text(day.part.as_ref().map(part).unwrap_or_default()),
            Cell::Text(day.phase.as_ref().map(part).unwrap_or_default()),
        ]
    });
    Sheet {
        name: "days-that-stand-out",
        title: "Days that stand out of their kind (more than 3.5 robust deviations, 1.4826 times the median distance, \
                from the median of their kind; of a baseline by the day its differences are compared; what differed: \
                beside the medians of the other days of the kind)"
            .to_owned(),
        columns: vec![
            column("meter", "meter", 0),
            column("date", "day", 0),
            column("day_type", "kind", 0),
            column("energy_kwh", "measured (kWh)", 1),
            column("expected_kwh", "expected (kWh)", 1),
            column("difference_kwh", "difference (kWh)", 1),
            column("score", "score", 1),
            column("hours_kwh", "hours (kWh)", 0),
            column("part_kwh", "most by (kWh)", 0),
            column("phase_kwh", "phase (kWh)", 0),
        ],
        rows: rows.collect(),
    }
}

/// `10 to 14 h +61.7`.
fn hours(hours: &HoursDiffer) -> String {
    format!(
        "{} to {} h {}",
        hours.from_hour,
        hours.to_hour,
        signed(hours.difference_kwh, 1)
    )
}

fn part(part: &PartDiffers) -> String {
    format!("{} {}", part.name, signed(part.difference_kwh, 1))
}
