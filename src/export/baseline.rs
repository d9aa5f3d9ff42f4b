//! The tables of a baseline, of the time since it, and of unusual days.

use super::wording::date_or_word;
use baseline::{
    Baseline, BaselinePeriod, Change, EnergyIndex, FittedTerm, HoursDiffer, PartDiffers,
    StandingOut,
};
use tables::{Table, columns, exact, fixed, number, words};
use units::{FigureKind as Q, format_date, format_signed};

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
                fitted.meter,
                format_date(fitted.from),
                format_date(fitted.to.pred_opt().unwrap_or(fitted.to))
            )
        },
    );
    let how = fitted.map_or_else(String::new, |fitted| {
        format!(
            "energy per day by ordinary least squares over {} complete {}s; types of day are compared with a working day",
            fitted.n,
            fitted.by.name()
        )
    });
    columns! { term in &FittedTerm;
        term: words("Variable") => &term.term;
        unit: words("Unit") => &term.unit;
        coefficient: fixed("Coefficient", "", 3) => term.coefficient;
        standard_error: fixed("Standard error", "", 3) => term.standard_error;
        low_95: fixed("95 % confidence, low", "", 3) => term.low_95;
        high_95: fixed("95 % confidence, high", "", 3) => term.high_95;
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
        n: exact("Periods fitted (n)", "") => fitted.n;
        left_out: exact("Periods left out", "") => fitted.left_out;
        coefficients: exact("Coefficients", "") => fitted.terms.len();
        r_squared: fixed("R²", "", 4) => fitted.r_squared;
        residual_kwh: fixed("Residual standard deviation", "kWh/d", 2) => fitted.residual_kwh;
        autocorrelation: fixed("Autocorrelation", "", 2) => fitted.autocorrelation;
        cv_rmse_pct: number("CV(RMSE)", Q::FinePercent) => fitted.cv_rmse_pct;
        cv_rmse_limit_monthly_pct: exact("CV(RMSE) limit, monthly data", "%") => limits(fitted, "monthly", |(cv, _)| cv);
        cv_rmse_limit_hourly_pct: exact("CV(RMSE) limit, hourly data", "%") => limits(fitted, "hourly", |(cv, _)| cv);
        nmbe_pct: number("NMBE", Q::FinePercent) => fitted.nmbe_pct;
        nmbe_limit_monthly_pct: exact("NMBE limit ±, monthly data", "%") => limits(fitted, "monthly", |(_, nmbe)| nmbe);
        nmbe_limit_hourly_pct: exact("NMBE limit ±, hourly data", "%") => limits(fitted, "hourly", |(_, nmbe)| nmbe);
    }
    .table("baseline-fit", "Quality of the baseline fit", fitted)
    .with_method(
        "limits: ASHRAE Guideline 14-2014 for models of monthly and of hourly data, NMBE in either direction; both \
         errors are divided by n less the number of coefficients; NMBE is 0 by construction",
    )
}

fn index(fitted: Option<&Baseline>) -> Table {
    columns! { index in &EnergyIndex;
        variable: words("Variable") => &index.variable;
        unit: words("Unit") => &index.unit;
        baseline_kwh_per_unit: fixed("Baseline", "kWh per unit", 2) => index.baseline_kwh_per_unit;
        since_kwh_per_unit: fixed("Since the baseline", "kWh per unit", 2) => index.since_kwh_per_unit;
    }
    .table("energy-index", "Energy per unit of the variable", fitted.and_then(|fitted| fitted.energy_index.as_ref()))
    .with_method(
        "total energy divided by the sum of the variable, for the baseline and for the periods since that could be compared; \
         it includes energy that does not depend on the variable, so it falls as the variable rises; the coefficient \
         does not",
    )
}

fn periods(fitted: Option<&Baseline>) -> Table {
    columns! { period in &BaselinePeriod;
        key: words("Period") => date_or_word(&period.key);
        day_type: words("Type of day") => period.day_type.map_or("", |kind| kind.name());
        in_baseline: words("In the baseline") => period.in_baseline;
        energy_kwh: number("Measured", Q::ActiveEnergy) => period.energy_kwh;
        expected_kwh: number("Expected", Q::ActiveEnergy) => period.expected_kwh;
        low_95_kwh: number("95 % prediction, low", Q::ActiveEnergy) => period.low_95_kwh;
        high_95_kwh: number("95 % prediction, high", Q::ActiveEnergy) => period.high_95_kwh;
        difference_kwh: number("Difference", Q::ActiveEnergy).signed() => period.difference_kwh;
        cumulative_kwh: number("Cumulative difference", Q::ActiveEnergy).signed() => period.cumulative_kwh;
        extrapolated: words("Beyond the baseline's range") => period.extrapolated.join(", ");
    }
    .table(
        "cusum",
        "Measured and expected energy, and the cumulative difference (CUSUM)",
        fitted.into_iter().flat_map(|fitted| &fitted.periods),
    )
    .with_method(
        "prediction interval of a single period; the cumulative difference restarts at the end of the baseline",
    )
}

fn unusual_days(change: &Change) -> Table {
    columns! { day in &StandingOut;
        meter: words("Meter") => &day.meter;
        date: words("Day") => day.date;
        day_type: words("Type of day") => day.day_type.name();
        energy_kwh: number("Measured", Q::ActiveEnergy) => day.energy_kwh;
        expected_kwh: number("Expected", Q::ActiveEnergy) => day.expected_kwh;
        difference_kwh: number("Difference", Q::ActiveEnergy).signed() => day.difference_kwh;
        score: fixed("Score", "", 1) => day.score;
        hours_kwh: words("Hours [kWh]") => day.hours.as_ref().map(hours).unwrap_or_default();
        part_kwh: words("Largest contribution [kWh]") => day.part.as_ref().map(part).unwrap_or_default();
        phase_kwh: words("Phase [kWh]") => day.phase.as_ref().map(part).unwrap_or_default();
    }
    .table(
        "unusual-days",
        "Unusual days",
        change.unusual_days.iter().flatten(),
    )
    .with_method(
        "more than 3.5 robust standard deviations (1.4826 × median absolute deviation) from the median of their type of \
         day; with a daily baseline, of the differences from it; hours, contribution and phase: compared with the \
         medians of the other days of that type",
    )
}

/// `10:00 to 14:00 +61.7`.
fn hours(hours: &HoursDiffer) -> String {
    let difference = format_signed(hours.difference_kwh, 1);
    format!(
        "{:02}:00 to {:02}:00 {difference}",
        hours.from_hour, hours.to_hour
    )
}

fn part(part: &PartDiffers) -> String {
    format!("{} {}", part.name, format_signed(part.difference_kwh, 1))
}
