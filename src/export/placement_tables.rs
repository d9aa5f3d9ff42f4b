//! Connection points for new machines: ranking, checks, several machines together, and the effect at the supply.

use placement::{
    BeforeAfter, Check, PlacedMachine, Placement, RankedPoint, SupplyEffect, Together,
};
use site::Connection;
use tables::{CSV, Cell, PAGES, Table, columns, exact, fixed, number, words};
use units::FigureKind as Q;

/// The best connection points of a machine, each with the reason for its rank.
#[must_use]
pub fn places_table(result: &Placement, most: usize) -> Table {
    let all = result.places.len();
    let title = if all > most {
        format!(
            "Connection points for {}: the best {most} of {all}",
            result.machine
        )
    } else {
        format!("Connection points for {}", result.machine)
    };
    columns! { place in &RankedPoint;
        rank: exact("Rank", "") => place.rank;
        circuit: words("Circuit or board") => &place.circuit;
        connection: words("Connection") => place.connection.to_string();
        fits: words("Now") => fits(place.fits);
        neutral_rms_after_a: number("Neutral at the supply, rms", Q::Current) => place.effect.neutral_rms_a.after;
        path_m: number("Cable route", Q::Length) => place.path_m;
        reason: words("Reason") => &place.reason;
    }
    .table("places", title, result.places.iter().take(most))
}

const fn fits(fits: bool) -> &'static str {
    if fits { "passes" } else { "fails" }
}

/// The connection point of each of several machines.
#[must_use]
pub fn together_table(result: &Together) -> Table {
    columns! { placed in &PlacedMachine;
        machine: words("Machine") => &placed.machine;
        circuit: words("Circuit or board") => &placed.circuit;
        connection: words("Connection") => placed.connection.to_string();
        fits: words("Now") => fits(placed.fits);
        design_current_a: number("Design current", Q::Current) => placed.design_current_a;
        device: words("Protective device") => placed.device.map(|device| device.to_string());
        cable_mm2: exact("Own cable", "mm²") => placed.cable_mm2;
        path_m: number("Cable route", Q::Length) => placed.path_m;
        reason: words("Why it fails") => &placed.reason;
    }
    .table("together", "New machines placed together", &result.machines)
}

/// What the checks of a connection point have in common.
#[derive(Clone, Copy)]
struct CheckedAt<'a> {
    machine: &'a str,
    /// `None` where each machine has one connection point.
    rank: Option<usize>,
    circuit: &'a str,
    connection: Connection,
    fits: bool,
    neutral_rms_a: BeforeAfter<f64>,
    path_m: f64,
}

impl<'a> CheckedAt<'a> {
    fn place(machine: &'a str, place: &'a RankedPoint) -> CheckedAt<'a> {
        CheckedAt {
            machine,
            rank: Some(place.rank),
            circuit: &place.circuit,
            connection: place.connection,
            fits: place.fits,
            neutral_rms_a: place.effect.neutral_rms_a,
            path_m: place.path_m,
        }
    }

    fn with(self, checks: &'a [Check]) -> impl Iterator<Item = (CheckedAt<'a>, &'a Check)> {
        checks.iter().map(move |check| (self, check))
    }
}

/// One row for each check of each connection point.
fn checks<'a>(title: &str, rows: impl IntoIterator<Item = (CheckedAt<'a>, &'a Check)>) -> Table {
    let is_count = |check: &Check| check.check.name() == "ways";
    let figure =
        |check: &Check, value: f64| Cell::Rounded(value, if is_count(check) { 0 } else { 2 });
    columns! { (at, check) in (CheckedAt<'a>, &'a Check);
        machine: words("Machine") => at.machine;
        rank: exact("Rank", "") => at.rank;
        circuit: words("Circuit or board") => at.circuit;
        connection: words("Connection") => at.connection.to_string();
        fits: words("Passes") => at.fits;
        neutral_rms_before_a: number("Neutral now, rms", Q::Current) => at.neutral_rms_a.before;
        neutral_rms_after_a: number("Neutral with the machine, rms", Q::Current) => at.neutral_rms_a.after;
        path_m: number("Cable route", Q::Length) => at.path_m;
        result: words("Result").only(PAGES) => if check.pass { "pass" } else { "FAIL" };
        check: words("Check") => check.check.name();
        at: words("Location") => &check.at;
        pass: words("Pass").only(CSV) => check.pass;
        value: fixed("Value", "", 2) => figure(check, check.value);
        rule: words("").only(PAGES) => if check.check.is_at_least() { "≥" } else { "≤" };
        limit: fixed("Limit", "", 2) => figure(check, check.limit);
        unit: words("Unit") => check.unit;
        basis: words("Basis of the value") => &check.basis;
        source: words("Source") => check.source;
    }
    .table("checks", title, rows)
}

/// The checks of one connection point.
#[must_use]
pub fn checks_table(place: &RankedPoint, title: &str) -> Table {
    let keys = [
        "result", "check", "at", "value", "rule", "limit", "unit", "basis", "source",
    ];
    checks("", CheckedAt::place("", place).with(&place.checks)).part(title, &keys)
}

/// One row for each check of each connection point, as CSV.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn placement_csv(site: &str, results: &[Placement]) -> Result<String, csv::Error> {
    let places = results.iter().flat_map(|result| {
        let places = result.places.iter();
        places.flat_map(|place| CheckedAt::place(&result.machine, place).with(&place.checks))
    });
    checks("", places).of_site(site).csv()
}

/// One row for each check of each machine at its connection point; the neutral is that with all of them, the rank is
/// empty.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn together_csv(site: &str, result: &Together) -> Result<String, csv::Error> {
    let rows = result.machines.iter().flat_map(|placed| {
        let at = CheckedAt {
            machine: &placed.machine,
            rank: None,
            circuit: &placed.circuit,
            connection: placed.connection,
            fits: placed.fits,
            neutral_rms_a: result.effect.neutral_rms_a,
            path_m: placed.path_m,
        };
        at.with(&placed.checks)
    });
    checks("", rows).of_site(site).csv()
}

/// The effect of new machines at the supply.
#[must_use]
pub fn effect_table(effect: &SupplyEffect, window_min: u32) -> Table {
    let known = |pair: BeforeAfter<f64>| (Some(pair.before), Some(pair.after));
    let maybe = |pair: BeforeAfter<Option<f64>>| (pair.before, pair.after);
    let phase = |k: usize| {
        (
            Some(effect.phase_max_a.before[k]),
            Some(effect.phase_max_a.after[k]),
        )
    };
    let demand = format!("Maximum demand, {window_min} min");
    let peak = format!("Neutral, max. over {window_min} min (rms)");
    let rows = [
        ("Neutral, rms", known(effect.neutral_rms_a), Q::Current),
        ("Neutral, max.", known(effect.neutral_max_a), Q::Current),
        (
            peak.as_str(),
            maybe(effect.demand_period_neutral_max_a),
            Q::Current,
        ),
        (
            "Current unbalance",
            maybe(effect.current_unbalance_pct),
            Q::Percent,
        ),
        (demand.as_str(), maybe(effect.max_demand_kw), Q::ActivePower),
        (
            demand.as_str(),
            maybe(effect.max_demand_kva),
            Q::ApparentPower,
        ),
        ("L1, max.", phase(0), Q::Current),
        ("L2, max.", phase(1), Q::Current),
        ("L3, max.", phase(2), Q::Current),
    ];
    let cell = |value: Option<f64>, quantity: Q| -> Cell {
        value.map_or(Cell::Unknown, |value| {
            Cell::Rounded(value, quantity.decimals())
        })
    };
    columns! { (what, (now, with), quantity) in (&str, (Option<f64>, Option<f64>), Q);
        what: words("Quantity") => what;
        now: fixed("Now", "", 1) => cell(now, quantity);
        with: fixed("With the machine", "", 1) => cell(with, quantity);
        unit: words("Unit") => quantity.unit();
    }
    .table("effect", "Effect at the supply", rows)
}
