//! The tables of a baseline, of what came after it, and of the days that stand out.

use baseline::{
    Baseline, BaselinePeriod, Change, EnergyIndex, FittedTerm, HoursDiffer, PartDiffers,
    StandingOut,
};
use tables::{Table, columns, exact, fixed, number, words};
use units::{Quantity as Q, format_signed};

/// Every table, also those without rows.
pub(super) fn baseline_tables(change: &Change) -> Vec<Table> {
    let fitted = change.baseline.as_ref();
    vec![
        coefficients(fitted),
        fit(fitted),
        index(fitted),
        periods(fitted),
        unusual_days(change),
    ]
}

fn coefficients(fitted: Option<&Baseline>) -> Table {
    let title = fitted.map_or_else(
        || "Baseline".to_owned(),
        |fitted| {
            format!(
                "Baseline of {}, {} to {}",
                fitted.meter, fitted.from, fitted.to
            )
        },
    );
    let how = fitted.map_or_else(String::new, |fitted| {
        format!(
            "energy per day by ordinary least squares over its {} whole {}s; kinds of day beside a working day",
            fitted.n,
            fitted.by.name()
        )
    });
    columns! { term in &FittedTerm;
        term: words("What drives it") => &term.term;
        unit: words("Unit") => &term.unit;
        coefficient: fixed("Coefficient", "", 3) => term.coefficient;
        standard_error: fixed("Standard error", "", 3) => term.standard_error;
        low_95: fixed("95 % from", "", 3) => term.low_95;
        high_95: fixed("95 % to", "", 3) => term.high_95;
    }
    .table(
        "baseline",
        title,
        fitted.into_iter().flat_map(|fitted| &fitted.terms),
    )
    .with_method(how)
}

fn fit(fitted: Option<&Baseline>) -> Table {
    let limits = |fitted: &'_ Baseline, data: &str, of: fn((f64, f64)) -> f64| {
        let mut limits = fitted.limits.iter();
        let own = limits.find(|limits| limits.data == data)?;
        Some(of((own.cv_rmse_limit_pct, own.nmbe_limit_pct)))
    };
    columns! { fitted in &Baseline;
        n: exact("n", "") => fitted.n;
        left_out: exact("Left out", "") => fitted.left_out;
        coefficients: exact("Coefficients", "") => fitted.terms.len();
        r_squared: fixed("R²", "", 4) => fitted.r_squared;
        residual_kwh: fixed("Residual", "kWh/d", 2) => fitted.residual_kwh;
        autocorrelation: fixed("Autocorrelation", "", 2) => fitted.autocorrelation;
        cv_rmse_pct: number("CV(RMSE)", Q::FinePercent) => fitted.cv_rmse_pct;
        cv_rmse_limit_monthly_pct: exact("Monthly limit", "%") => limits(fitted, "monthly", |(cv, _)| cv);
        cv_rmse_limit_hourly_pct: exact("Hourly limit", "%") => limits(fitted, "hourly", |(cv, _)| cv);
        nmbe_pct: number("NMBE", Q::FinePercent) => fitted.nmbe_pct;
        nmbe_limit_monthly_pct: exact("Monthly limit ±", "%") => limits(fitted, "monthly", |(_, nmbe)| nmbe);
        nmbe_limit_hourly_pct: exact("Hourly limit ±", "%") => limits(fitted, "hourly", |(_, nmbe)| nmbe);
    }
    .table("baseline-fit", "How well the baseline fits", fitted)
    .with_method(
        "limits: ASHRAE Guideline 14-2014 for models of monthly and of hourly data, of NMBE in either direction; both \
         errors divide by n less coefficients; NMBE is 0 by construction",
    )
}

fn index(fitted: Option<&Baseline>) -> Table {
    columns! { index in &EnergyIndex;
        variable: words("Variable") => &index.variable;
        unit: words("Unit") => &index.unit;
        baseline_kwh_per_unit: fixed("Baseline", "", 2) => index.baseline_kwh_per_unit;
        since_kwh_per_unit: fixed("Since", "", 2) => index.since_kwh_per_unit;
    }
    .table("energy-index", "Energy index", fitted.and_then(|fitted| fitted.energy_index.as_ref()))
    .with_method(
        "all energy over the sum of the only variable, over the periods of the baseline and over those since that could \
         be compared; what does not depend on the variable is in it, so that it falls as the variable grows: the \
         coefficient does not",
    )
}

fn periods(fitted: Option<&Baseline>) -> Table {
    columns! { period in &BaselinePeriod;
        key: words("Period") => &period.key;
        day_type: words("Kind") => period.day_type.map_or("", |kind| kind.name());
        in_baseline: words("Baseline") => period.in_baseline;
        energy_kwh: number("Measured", Q::ActiveEnergy) => period.energy_kwh;
        expected_kwh: number("Expected", Q::ActiveEnergy) => period.expected_kwh;
        low_95_kwh: number("95 % from", Q::ActiveEnergy) => period.low_95_kwh;
        high_95_kwh: number("95 % to", Q::ActiveEnergy) => period.high_95_kwh;
        difference_kwh: number("Difference", Q::ActiveEnergy).signed() => period.difference_kwh;
        cumulative_kwh: number("Cumulative", Q::ActiveEnergy).signed() => period.cumulative_kwh;
        extrapolated: words("Outside what was seen") => period.extrapolated.join(", ");
    }
    .table(
        "cusum",
        "Measured and expected, and the cumulative sum of the difference",
        fitted.into_iter().flat_map(|fitted| &fitted.periods),
    )
    .with_method(
        "the interval is that of a single period; the sum runs through the baseline and begins anew at its end",
    )
}

fn unusual_days(change: &Change) -> Table {
    columns! { day in &StandingOut;
        meter: words("Meter") => &day.meter;
        date: words("Day") => day.date;
        day_type: words("Kind") => day.day_type.name();
        energy_kwh: number("Measured", Q::ActiveEnergy) => day.energy_kwh;
        expected_kwh: number("Expected", Q::ActiveEnergy) => day.expected_kwh;
        difference_kwh: number("Difference", Q::ActiveEnergy).signed() => day.difference_kwh;
        score: fixed("Score", "", 1) => day.score;
        hours_kwh: words("Hours [kWh]") => day.hours.as_ref().map(hours).unwrap_or_default();
        part_kwh: words("Most by [kWh]") => day.part.as_ref().map(part).unwrap_or_default();
        phase_kwh: words("Phase [kWh]") => day.phase.as_ref().map(part).unwrap_or_default();
    }
    .table(
        "days-that-stand-out",
        "Days that stand out of their kind",
        change.unusual_days.iter().flatten(),
    )
    .with_method(
        "more than 3.5 robust deviations, 1.4826 times the median distance, from the median of their kind; of a \
         baseline by the day its differences are compared; what differed: beside the medians of the other days of the \
         kind",
    )
}

/// `10 to 14 h +61.7`.
fn hours(hours: &HoursDiffer) -> String {
    let difference = format_signed(hours.difference_kwh, 1);
    format!("{} to {} h {difference}", hours.from_hour, hours.to_hour)
}

fn part(part: &PartDiffers) -> String {
    format!("{} {}", part.name, format_signed(part.difference_kwh, 1))
}
