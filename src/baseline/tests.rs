//! Fits whose figures were worked out by another program, in exact fractions, and what is refused.

use std::collections::BTreeMap;

use approx::assert_relative_eq;
use chrono::{Days, NaiveDate};

use super::*;
use crate::{DayShape, unusual_days};

/// Monday 2 March 2026.
fn first() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 2).expect("a date")
}

fn day(number: usize) -> NaiveDate {
    first() + Days::new(number as u64)
}

fn days(kwh: &[f64]) -> Vec<DayTotal> {
    let each = kwh.iter().enumerate();
    each.map(|(number, &kwh)| DayTotal {
        date: day(number),
        kwh,
        complete: true,
    })
    .collect()
}

fn variable(name: &str, values: &[f64]) -> VariableValues {
    VariableValues {
        name: name.to_owned(),
        unit: "t".to_owned(),
        per: Per::Day,
        of_day: (0..values.len())
            .map(day)
            .zip(values.iter().copied())
            .collect(),
    }
}

fn request(length: usize, every: Every, by_day_type: bool) -> BaselineRequest {
    BaselineRequest {
        from: first(),
        to: day(length),
        every,
        by_day_type,
    }
}

const CALENDAR: Calendar<'_> = Calendar {
    zone: chrono_tz::UTC,
    holidays: &[],
};

fn of(
    days: &[DayTotal],
    variables: &[&VariableValues],
    request: &BaselineRequest,
) -> Result<Baseline, Refusal> {
    baseline("main", days, CALENDAR, variables, request)
}

const TONNES: [f64; 15] = [4., 7., 1., 0., 9., 3., 6., 2., 8., 5., 10., 0., 6., 2., 11.];
const KWH: [f64; 15] = [
    151., 178., 118., 109., 196., 139., 170., 129., 185., 163., 208., 112., 180., 120., 230.,
];

/// Expected figures: normal equations in exact fractions, Student's t by Simpson's rule.
#[test]
fn coefficients_errors_and_intervals_are_those_of_another_program() {
    let tonnes = variable("tonnes", &TONNES);
    let found = of(&days(&KWH), &[&tonnes], &request(12, Every::Day, false)).expect("a baseline");
    assert_eq!(
        (found.n, found.left_out, found.degrees_of_freedom),
        (12, 0, 10)
    );
    for (term, coefficient, error) in [
        (0, 110.48275862068965, 1.031609384596112),
        (1, 9.676489028213167, 0.18212750684538973),
    ] {
        let term = &found.terms[term];
        assert_relative_eq!(term.coefficient, coefficient, max_relative = 1e-12);
        assert_relative_eq!(term.standard_error, error, max_relative = 1e-10);
    }
    assert_eq!(found.terms[1].unit, "kWh/t");
    // 1 858 kWh over 55 t, and 530 kWh over 19 t since: the sums of the columns above.
    let index = found.energy_index.as_ref().expect("one variable");
    assert_eq!(index.unit, "kWh/t");
    for (index, by_hand) in [
        (index.baseline_kwh_per_unit, 1858.0 / 55.0),
        (index.since_kwh_per_unit, 530.0 / 19.0),
    ] {
        assert_relative_eq!(index.expect("known"), by_hand, max_relative = 1e-12);
    }
    assert_relative_eq!(found.residual_kwh, 2.099738750729865, max_relative = 1e-10);
    let share = found.r_squared.expect("days that differ");
    assert_relative_eq!(share, 0.9964699595761963, max_relative = 1e-12);
    let cv = found.cv_rmse_pct.expect("a mean");
    assert_relative_eq!(cv, 1.356128364303465, max_relative = 1e-10);
    assert!(found.nmbe_pct.is_some_and(|bias| bias.abs() < 1e-10));
    assert!(found.limits.iter().all(|limits| limits.within));
    let correlation = found.autocorrelation.expect("residuals");
    assert_relative_eq!(correlation, -0.01930449979356046, max_relative = 1e-8);
    for (at, expected, half, difference) in [
        (
            12,
            168.54169278996866,
            4.903364990586585,
            11.458307210031348,
        ),
        (13, 129.835736677116, 4.981112884850555, -9.835736677115987),
        (14, 216.9241379310345, 5.522035550971092, 13.075862068965517),
    ] {
        let one = &found.periods[at];
        let high = one.high_95_kwh.zip(one.expected_kwh).map(|(a, b)| a - b);
        assert_relative_eq!(
            one.expected_kwh.expect("known"),
            expected,
            max_relative = 1e-12
        );
        assert_relative_eq!(high.expect("known"), half, max_relative = 1e-9);
        assert_relative_eq!(
            one.difference_kwh.expect("known"),
            difference,
            max_relative = 1e-10
        );
    }
    let since = found.since.expect("three days");
    assert_relative_eq!(
        since.difference_kwh,
        14.698432601880878,
        max_relative = 1e-10
    );
    let half = since.high_95_kwh - since.difference_kwh;
    assert_relative_eq!(half, 9.307020405688885, max_relative = 1e-9);
    // Eleven tonnes were not seen before.
    assert_eq!(found.periods[14].extrapolated, ["tonnes"]);
    assert!(found.periods[12].extrapolated.is_empty());
}

/// The residuals of a fit with a constant add up to zero; since its end the sum begins anew.
#[test]
fn the_cumulative_difference_ends_the_baseline_at_nought() {
    let tonnes = variable("tonnes", &TONNES);
    let found = of(&days(&KWH), &[&tonnes], &request(12, Every::Day, false)).expect("a baseline");
    let sums: Vec<f64> = found
        .periods
        .iter()
        .filter_map(|period| period.cumulative_kwh)
        .collect();
    assert!(sums[11].abs() < 1e-9, "{sums:?}");
    // 11.458, less 9.836, and 13.076.
    assert_relative_eq!(sums[13], 11.458307210 - 9.835736677, max_relative = 1e-8);
    assert_relative_eq!(sums[14], 14.698432602, max_relative = 1e-8);
}

/// Differences of 2, −2, 3 and −3 make 2, 0, 3 and 0 (the running sum of ISO 50006).
#[test]
fn differences_are_added_up_one_by_one() {
    let kwh = [100., 100., 100., 100., 100., 100., 102., 98., 103., 97.];
    let found = of(&days(&kwh), &[], &request(6, Every::Day, false)).expect("a baseline");
    let sums: Vec<f64> = found.periods[6..]
        .iter()
        .filter_map(|period| period.cumulative_kwh)
        .collect();
    for (sum, expected) in sums.iter().zip([2.0, 0.0, 3.0, 0.0]) {
        assert!((sum - expected).abs() < 1e-9, "{sums:?}");
    }
    assert_eq!(sums.len(), 4);
}

/// NIST StRD, univariate: mean, deviation and correlation of neighbours of Mavro (filter transmittance, 50 values) and
/// Michelso (speed of light in Mm/s, 100 values); data from memory, which the certified values confirm. Without a variable
/// the baseline is the mean of its days.
#[test]
fn certified_series_have_their_mean_deviation_and_correlation() {
    // Above 2, in hundred-thousandths.
    let mavro = [
        180, 170, 180, 190, 180, 170, 150, 140, 150, 150, 170, 180, 180, 190, 190, 210, 200, 160,
        140, 130, 130, 150, 150, 160, 150, 140, 130, 140, 150, 140, 150, 160, 150, 160, 190, 200,
        200, 210, 220, 230, 240, 250, 270, 260, 260, 260, 270, 260, 250, 240,
    ];
    // Above 299, in thousandths.
    let michelso = [
        850, 740, 900, 1070, 930, 850, 950, 980, 980, 880, 1000, 980, 930, 650, 760, 810, 1000,
        1000, 960, 960, 960, 940, 960, 940, 880, 800, 850, 880, 900, 840, 830, 790, 810, 880, 880,
        830, 800, 790, 760, 800, 880, 880, 880, 860, 720, 720, 620, 860, 970, 950, 880, 910, 850,
        870, 840, 840, 850, 840, 840, 840, 890, 810, 810, 820, 800, 770, 760, 740, 750, 760, 910,
        920, 890, 860, 880, 720, 840, 850, 850, 780, 890, 840, 780, 810, 760, 810, 790, 810, 820,
        850, 870, 870, 810, 740, 810, 940, 950, 800, 810, 870,
    ];
    let above = |base: f64, step: f64, values: &[i32]| -> Vec<f64> {
        let values = values.iter().map(|&value| base + f64::from(value) / step);
        values.collect()
    };
    for (values, mean, deviation, neighbours) in [
        (
            above(2.0, 1e5, &mavro),
            2.00185600000000,
            0.000429123454003053,
            0.937989183438248,
        ),
        (
            above(299.0, 1e3, &michelso),
            299.852400000000,
            0.0790105478190518,
            0.535199668621283,
        ),
    ] {
        let every = request(values.len(), Every::Day, false);
        let found = of(&days(&values), &[], &every).expect("a baseline");
        assert_relative_eq!(found.terms[0].coefficient, mean, max_relative = 1e-13);
        assert_relative_eq!(found.residual_kwh, deviation, max_relative = 1e-10);
        let correlation = found.autocorrelation.expect("residuals");
        assert_relative_eq!(correlation, neighbours, max_relative = 1e-10);
    }
}

/// 100 kWh on working days, 40 less on Saturdays, 80 less on Sundays, and 3 for each unit.
#[test]
fn kinds_of_day_have_coefficients_of_their_own() {
    let units: Vec<f64> = (0..28_u32).map(|n| f64::from(n * n % 11)).collect();
    let kwh: Vec<f64> = (0..28)
        .map(|n| 100.0 + 3.0 * units[n] - [0., 0., 0., 0., 0., 40., 80.][n % 7])
        .collect();
    let found = of(
        &days(&kwh),
        &[&variable("units", &units)],
        &request(21, Every::Day, true),
    );
    let found = found.expect("a baseline");
    let names: Vec<&str> = found.terms.iter().map(|term| term.term.as_str()).collect();
    assert_eq!(
        names,
        ["each day", "Saturday", "Sunday or holiday", "units"]
    );
    for (term, expected) in found.terms.iter().zip([100.0, -40.0, -80.0, 3.0]) {
        assert_relative_eq!(term.coefficient, expected, max_relative = 1e-10);
    }
    assert!(
        found
            .since
            .is_some_and(|since| since.difference_kwh.abs() < 1e-8)
    );
    // Five working days: nothing can be expected of a Saturday.
    let short = of(
        &days(&kwh),
        &[],
        &BaselineRequest {
            from: day(7),
            to: day(13),
            ..request(0, Every::Day, true)
        },
    );
    assert!(
        matches!(
            short,
            Err(Refusal::TooFew {
                have: 6,
                need: 7,
                ..
            })
        ),
        "{short:?}"
    );
    let long: Vec<f64> = (0..5).chain(7..12).chain(14..19).map(|n| kwh[n]).collect();
    assert_eq!(long.len(), 15);
    let mut working = days(&kwh);
    working.retain(|one| one.date >= day(21) || CALENDAR.day_type(one.date) == DayType::WorkingDay);
    let found = of(
        &working,
        &[&variable("units", &units)],
        &request(21, Every::Day, true),
    )
    .expect("one");
    assert_eq!(found.terms.len(), 2);
    assert_eq!(found.periods[26].expected_kwh, None);
    assert!(found.periods[25].expected_kwh.is_some());
}

/// Weeks are fitted per day: 70 kWh and 2 for each unit, on average over the days of a week.
#[test]
fn weeks_are_compared_per_day() {
    let units: Vec<f64> = (0..70)
        .map(|n| f64::from((n * n * 7 + n / 7 * 3) % 13))
        .collect();
    let kwh: Vec<f64> = units.iter().map(|units| 70.0 + 2.0 * units).collect();
    let mut days = days(&kwh);
    days[66].complete = false;
    let found = of(
        &days,
        &[&variable("units", &units)],
        &request(56, Every::Week, true),
    )
    .expect("weeks");
    assert_eq!((found.n, found.periods.len()), (8, 10));
    assert_relative_eq!(found.terms[0].coefficient, 70.0, max_relative = 1e-9);
    assert_relative_eq!(found.terms[1].coefficient, 2.0, max_relative = 1e-9);
    let ninth: f64 = kwh[56..63].iter().sum();
    let expected = found.periods[8].expected_kwh.expect("known");
    assert_relative_eq!(expected, ninth, max_relative = 1e-9);
    // The tenth week lacks a day: it is expected, but not compared.
    assert_eq!(found.periods[9].energy_kwh, None);
    let since = found.since.expect("a week");
    assert_eq!((since.periods, since.left_out), (1, 1));
}

#[test]
fn what_cannot_be_told_apart_is_refused_by_name() {
    let kwh: Vec<f64> = (0..20_u32).map(|n| f64::from(90 + n * n % 17)).collect();
    let days = days(&kwh);
    let units: Vec<f64> = (0..20_u32).map(|n| f64::from(n * n % 11)).collect();
    let one = variable("units", &units);
    let twice = variable(
        "pieces",
        &units.iter().map(|u| 5.0 - 2.0 * u).collect::<Vec<f64>>(),
    );
    let always = variable("shifts", &[2.0; 20]);
    let never = VariableValues {
        of_day: BTreeMap::new(),
        ..variable("degree days", &[])
    };
    let monthly = VariableValues {
        per: Per::Month,
        ..one.clone()
    };
    let told = |variables: &[&VariableValues], length: usize| {
        of(&days, variables, &request(length, Every::Day, true))
            .expect_err("a refusal")
            .to_string()
    };
    assert_eq!(
        told(&[&one, &twice], 20),
        "in the baseline, 100.0 % of `units` follows from `pieces`: their effects cannot be separated; leave one of them out (`goes_by` in `[baseline]`), or choose a baseline in which they differ"
    );
    assert_eq!(
        told(&[&always], 20),
        "the variable `shifts` is constant throughout the baseline: its effect cannot be separated from the base load"
    );
    assert_eq!(
        told(&[&never], 20),
        "the variable `degree days` has no value for any complete day of the baseline"
    );
    assert_eq!(
        told(&[&monthly], 20),
        "the variable `units` has weekly or monthly values: a baseline by the day cannot use it; choose longer periods"
    );
    assert_eq!(
        told(&[&one], 8),
        "the baseline has 8 complete days with all variables; its 4 coefficients (each day, Saturday, Sunday or \
         holiday, units) need at least 9; choose a longer baseline or fewer variables"
    );
}

/// Nine working days near 100 kWh and one of 160: 60 kWh more, 62 from 10 to 14 less a little before and after, on L2, by the kiln.
#[test]
fn a_day_that_stands_out_is_told_with_hours_meter_and_phase() {
    let kwh = [
        100., 101., 99., 102., 98., 0., 0., 100., 103., 160., 97., 100.,
    ];
    let days: Vec<DayTotal> = days(&kwh);
    let shapes: Vec<DayShape> = days
        .iter()
        .map(|day| {
            let odd = day.kwh > 150.0;
            let mut hour_kwh = [day.kwh / 24.0; 24];
            if odd {
                hour_kwh = [98.0 / 24.0; 24];
                for hour in &mut hour_kwh[10..14] {
                    *hour += 15.5;
                }
            }
            DayShape {
                date: day.date,
                hour_kwh,
                phase_kwh: Some([20.0, if odd { 90.0 } else { 30.0 }, 50.0]),
            }
        })
        .collect();
    let of_meter = |name: &str, usual: f64, odd: f64| {
        let kwh = days
            .iter()
            .map(|day| if day.kwh > 150.0 { odd } else { usual });
        (
            name.to_owned(),
            days.iter().map(|day| day.date).zip(kwh).collect(),
        )
    };
    let below = [of_meter("saw", 12.0, 20.0), of_meter("kiln", 30.0, 75.0)];
    let found = unusual_days("main", &days, &shapes, &below, CALENDAR, None);
    assert_eq!(found.len(), 1, "{found:?}");
    let one = &found[0];
    assert_eq!((one.date, one.day_type), (day(9), DayType::WorkingDay));
    // The middle of the ten is 100; the median distance from it 1.5, so that 60 are 60/2.2239.
    assert_relative_eq!(one.difference_kwh, 60.0, max_relative = 1e-12);
    assert_relative_eq!(one.score, 26.9796, max_relative = 1e-5);
    let hours = one.hours.expect("hours");
    assert_eq!((hours.from_hour, hours.to_hour), (10, 14));
    // Four hours of 15.5 more than the 98 spread over the day, above the usual 100.
    assert_relative_eq!(
        hours.difference_kwh,
        62.0 - 4.0 * 2.0 / 24.0,
        max_relative = 1e-9
    );
    let kiln = one.part.as_ref().expect("a meter");
    assert_eq!((kiln.name.as_str(), kiln.difference_kwh), ("kiln", 45.0));
    let phase = one.phase.as_ref().expect("a phase");
    assert_eq!((phase.name.as_str(), phase.difference_kwh), ("L2", 60.0));
    // Five days of a kind are needed: two of a weekend say nothing.
    assert!(unusual_days("main", &days[4..8], &shapes, &below, CALENDAR, None).is_empty());
}
