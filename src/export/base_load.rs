//! What runs when nobody is there, and how energy goes through week and days.

use chrono::NaiveDate;

use demand::{BaseLoad, DayEnergy, EnergyResult, UnmeteredDay, WEEKDAYS, WeekdayBaseLoad};
use tables::{Table, columns, exact, fixed, number, words};
use units::Quantity as Q;

/// Standing load, night, and use outside the working hours.
pub(super) fn base_load(result: &EnergyResult) -> Table {
    let mut loads: Vec<&BaseLoad> = result.study.base_load.iter().collect();
    let outside = |load: &BaseLoad| load.out_of_hours_kwh.unwrap_or(f64::NEG_INFINITY);
    loads.sort_by(|a, b| outside(b).total_cmp(&outside(a)));
    let how = result.study.base_load.first().map_or_else(String::new, |load| {
        format!(
            "standing load: {} % quantile of the quarter-hours; night: median of {}; outside: no schedule of working \
             hours runs; most outside first",
            load.percentile, load.night
        )
    });
    columns! { load in &BaseLoad;
        meter: words("Meter") => &load.meter;
        base_load_kw: number("Standing", Q::ActivePower) => load.base_load_kw;
        base_load_share_pct: number("Of its energy", Q::Percent) => load.base_load_share_pct;
        night_kw: number("Night", Q::ActivePower) => load.night_kw;
        out_of_hours_kwh: number("Outside", Q::ActiveEnergy) => load.out_of_hours_kwh;
        out_of_hours_pct: number("Outside", Q::Percent) => load.out_of_hours_pct;
        out_of_hours_mean_kw: number("Outside, mean", Q::ActivePower) => load.out_of_hours_mean_kw;
        holidays_kwh: number("Holidays", Q::ActiveEnergy) => load.holidays_kwh;
    }
    .table(
        "standing-load",
        "Standing load and use outside the working hours",
        loads,
    )
    .with_method(how)
}

/// Standing load of each weekday.
pub(super) fn standing_by_weekday(result: &EnergyResult) -> Table {
    let rows = result.study.base_load.iter().flat_map(|load| {
        let days = load.by_weekday.iter();
        days.map(|day| (load.meter.as_str(), day))
    });
    columns! { (meter, day) in (&str, &WeekdayBaseLoad);
        meter: words("Meter") => meter;
        weekday: words("Weekday") => day.weekday;
        base_load_kw: number("Standing", Q::ActivePower) => day.base_load_kw;
        night_kw: number("Night", Q::ActivePower) => day.night_kw;
    }
    .table(
        "standing-by-weekday",
        "Standing load and night by weekday",
        rows,
    )
}

/// What a meter sees beyond those below it, by day.
pub(super) fn remainder_by_day(result: &EnergyResult) -> Table {
    let rows = result.study.unmetered.iter().flat_map(|remainder| {
        let days = remainder.days.iter();
        days.map(|day| (remainder.main.as_str(), day))
    });
    columns! { (main, day) in (&str, &UnmeteredDay);
        main: words("Above") => main;
        date: words("Date") => date(&day.date);
        main_kwh: number("Seen above", Q::ActiveEnergy) => day.main_kwh;
        unmetered_kwh: number("Not seen below", Q::ActiveEnergy) => day.unmetered_kwh;
        tolerance_kwh: number("Explained by the classes", Q::ActiveEnergy) => day.tolerance_kwh;
        lowest_kw: number("Lowest block", Q::ActivePower) => day.lowest_kw;
        highest_kw: number("Highest block", Q::ActivePower) => day.highest_kw;
        complete: words("Complete") => day.complete;
    }
    .table(
        "remainder-by-day",
        "What a meter sees beyond those below it, by day, over the blocks that all have",
        rows,
    )
}

/// Mean power by weekday and hour.
pub(super) fn week(result: &EnergyResult) -> Table {
    let rows = result.study.week.iter().flat_map(|week| {
        let days = week.mean_kw.iter().zip(WEEKDAYS);
        days.flat_map(move |(hours, weekday)| {
            let hours = hours.iter().enumerate();
            hours.map(move |(hour, &kw)| (week.meter.as_str(), weekday, hour, kw))
        })
    });
    columns! { (meter, weekday, hour, kw) in (&str, &'static str, usize, Option<f64>);
        meter: words("Meter") => meter;
        weekday: words("Weekday") => weekday;
        hour: exact("Hour", "") => hour;
        mean_kw: fixed("Mean", "kW", 3) => kw;
    }
    .table(
        "week",
        "Mean power by weekday and hour of the local clock",
        rows,
    )
}

/// Energy by local day.
pub(super) fn days(result: &EnergyResult) -> Table {
    let rows = result.meters.iter().flat_map(|meter| {
        let days = meter.trace.days.iter();
        days.map(|day| (meter.id.as_str(), day))
    });
    columns! { (meter, day) in (&str, &DayEnergy);
        meter: words("Meter") => meter;
        date: words("Date") => date(&day.date);
        energy_kwh: number("Energy", Q::ActiveEnergy) => day.energy_kwh;
        complete: words("Complete") => day.complete;
    }
    .table(
        "days",
        "Energy by local day; days without all their readings are marked",
        rows,
    )
}

fn date(text: &str) -> Option<NaiveDate> {
    text.parse().ok()
}
