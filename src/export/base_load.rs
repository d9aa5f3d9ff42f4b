//! Base load, out-of-hours use, unmetered energy, and energy by weekday, hour and day.

use chrono::{Datelike, NaiveDate};

use demand::{BaseLoad, DayEnergy, EnergyResult, UnmeteredDay, WEEKDAYS, WeekdayBaseLoad};
use tables::{Table, columns, exact, fixed, number, words};
use units::FigureKind as Q;

/// Base load, night load and out-of-hours use.
pub(super) fn base_load(result: &EnergyResult) -> Table {
    let mut loads: Vec<&BaseLoad> = result.study.base_load.iter().collect();
    let outside = |load: &BaseLoad| load.out_of_hours_kwh.unwrap_or(f64::NEG_INFINITY);
    loads.sort_by(|a, b| outside(b).total_cmp(&outside(a)));
    let how = result.study.base_load.first().map_or_else(String::new, |load| {
        format!(
            "base load: {}th percentile of the quarter-hours; night: median of {}; out of hours: no working-hours schedule \
             runs; largest out-of-hours use first",
            load.percentile, load.night
        )
    });
    columns! { load in &BaseLoad;
        meter: words("Meter") => &load.meter;
        base_load_kw: number("Base load", Q::ActivePower) => load.base_load_kw;
        base_load_share_pct: number("Base load, share of energy", Q::Percent) => load.base_load_share_pct;
        night_kw: number("Night load", Q::ActivePower) => load.night_kw;
        out_of_hours_kwh: number("Out of hours", Q::ActiveEnergy) => load.out_of_hours_kwh;
        out_of_hours_pct: number("Out of hours, share", Q::Percent) => load.out_of_hours_pct;
        out_of_hours_mean_kw: number("Out of hours, mean", Q::ActivePower) => load.out_of_hours_mean_kw;
        holidays_kwh: number("Holidays", Q::ActiveEnergy) => load.holidays_kwh;
    }
    .table(
        "base-load",
        "Base load and out-of-hours use",
        loads,
    )
    .with_method(how)
}

/// Base load of each weekday.
pub(super) fn base_load_by_weekday(result: &EnergyResult) -> Table {
    let rows = result.study.base_load.iter().flat_map(|load| {
        let days = load.by_weekday.iter();
        days.map(|day| (load.meter.as_str(), day))
    });
    columns! { (meter, day) in (&str, &WeekdayBaseLoad);
        meter: words("Meter") => meter;
        weekday: words("Weekday") => day.weekday;
        base_load_kw: number("Base load", Q::ActivePower) => day.base_load_kw;
        night_kw: number("Night load", Q::ActivePower) => day.night_kw;
    }
    .table(
        "base-load-by-weekday",
        "Base load and night load by weekday",
        rows,
    )
}

/// Unmetered energy by day: a meter less its sub-meters.
pub(super) fn unmetered_by_day(result: &EnergyResult) -> Table {
    let rows = result.study.unmetered.iter().flat_map(|unmetered| {
        let days = unmetered.days.iter();
        days.map(|day| (unmetered.main.as_str(), day))
    });
    columns! { (main, day) in (&str, &UnmeteredDay);
        main: words("Main meter") => main;
        date: words("Date") => date(&day.date);
        main_kwh: number("Main meter", Q::ActiveEnergy) => day.main_kwh;
        unmetered_kwh: number("Unmetered", Q::ActiveEnergy) => day.unmetered_kwh;
        tolerance_kwh: number("Meter tolerance (accuracy classes)", Q::ActiveEnergy) => day.tolerance_kwh;
        lowest_kw: number("Lowest demand", Q::ActivePower) => day.lowest_kw;
        highest_kw: number("Highest demand", Q::ActivePower) => day.highest_kw;
        complete: words("Complete") => day.complete;
    }
    .table(
        "unmetered-by-day",
        "Unmetered energy by day: main meter less sub-meters, over the demand periods that all of them have",
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
        mean_kw: fixed("Mean power", "kW", 3) => kw;
    }
    .table("week", "Mean power by weekday and hour (local time)", rows)
}

/// Mean power by quarter-hour of the local day.
pub(super) fn load_profile(result: &EnergyResult) -> Table {
    type ProfileRow<'r> = (&'r str, usize, [Option<f64>; 3]);
    let rows = result.meters.iter().flat_map(|meter| {
        let trace = &meter.trace;
        let all = [
            &trace.weekday_profile_kw,
            &trace.weekend_profile_kw,
            &trace.highest_profile_kw,
        ];
        let slots = all.iter().map(|values| values.len()).max().unwrap_or(0);
        (0..slots).map(move |slot| {
            let of = |values: &Vec<Option<f64>>| values.get(slot).copied().flatten();
            (meter.id.as_str(), slot, all.map(of))
        })
    });
    columns! { (meter, slot, kw) in ProfileRow<'_>;
        meter: words("Meter") => meter;
        time: words("Time") => format!("{:02}:{:02}", slot / 4, slot % 4 * 15);
        working_days_kw: number("Working days, mean", Q::ActivePower) => kw[0];
        other_days_kw: number("Weekends and holidays, mean", Q::ActivePower) => kw[1];
        highest_kw: number("Highest", Q::ActivePower) => kw[2];
    }
    .table(
        "load-profile",
        "Load profile: mean power by quarter-hour of the local day",
        rows,
    )
}

/// Energy by local month.
pub(super) fn months(result: &EnergyResult) -> Table {
    let rows = result.meters.iter().flat_map(|meter| {
        let days = &meter.trace.days;
        let months = days.chunk_by(|a, b| a.date.get(..7) == b.date.get(..7));
        months.map(|days| {
            let month = days[0].date.get(..7).unwrap_or_default();
            let length = date(&days[0].date).map(|day| usize::from(day.num_days_in_month()));
            let whole = length == Some(days.len()) && days.iter().all(|day| day.complete);
            let kwh = days.iter().map(|day| day.energy_kwh).sum::<f64>();
            (meter.id.as_str(), month, kwh, whole)
        })
    });
    columns! { (meter, month, kwh, whole) in (&str, &str, f64, bool);
        meter: words("Meter") => meter;
        month: words("Month") => month;
        energy_kwh: number("Energy", Q::ActiveEnergy) => kwh;
        complete: words("Complete") => whole;
    }
    .table(
        "months",
        "Energy by local month; months with missing readings are marked",
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
        "Energy by local day; days with missing readings are marked",
        rows,
    )
}

fn date(text: &str) -> Option<NaiveDate> {
    text.parse().ok()
}
