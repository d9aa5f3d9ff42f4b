//! From a meter's currents to findings.

use super::device::conventional_currents;
use super::page::{CAUTION, SOURCE};
use super::thermal::{heating_after, time_constant_of_conventional_currents};
use super::trace::OverloadTrace;
use crate::contributors::{Contributor, contributors};
use crate::outcome::{Diagnosis, NotJudged, Report, Trace};
use crate::phase_detail::worst_half_hours;
use crate::plans::Plans;
use crate::relief::relief;
use crate::thresholds as limits;
use crate::view::{View, blocks, longest_spell};
use analysis::Values;
use electrical::{Phase, is_above_limit};
use finding::{Evidence, Kind, Severity, Spot};
use metering::{AngleBasis, Logs};
use site::{DeviceKind, Measured, Node, ProtectiveDevice, Quantity, Site};
use units::fixed;

/// By how much, and for how long, a conductor's current was over its limit.
struct OverloadExtent {
    minutes: f64,
    /// From the first interval over the limit to the end of the last. (s)
    span: (i64, i64),
    highest: (i64, f64),
    longest: (i64, i64),
    worst_block: Option<(i64, f64)>,
    /// Time above the conventional fusing or tripping current. (min)
    operating_min: f64,
    time_constant_s: f64,
    heating: f64,
}

/// Phases and neutral of a supply, board or circuit.
pub(crate) fn check(view: &View<'_>, logs: &Logs, plans: &Plans<'_>, diagnosis: &mut Diagnosis) {
    let Some(node) = view.node() else { return };
    if let Some(limit_a) = view.site.phase_limit_a(node) {
        phases(view, logs, plans, (node, limit_a), diagnosis);
    }
    if let Some(limit_a) = view.site.neutral_limit_a(node) {
        neutral(view, limit_a, diagnosis);
    }
}

/// Boards with a limit that no meter watches.
pub(crate) fn unmetered(site: &Site, logs: &Logs, diagnosis: &mut Diagnosis) {
    for (index, board) in site.boards.iter().enumerate() {
        let node = Node::Board(index);
        let metered = site
            .meter_of(Measured::Node(node))
            .is_some_and(|meter| logs.of(meter).is_some());
        if board.phase_limit_a.is_some() && !metered {
            diagnosis.not_judged.push(NotJudged {
                kind: Kind::PhaseOverload,
                spot: Spot {
                    node: Some(board.id.clone()),
                    ..Spot::default()
                },
                needs: "a meter at this board".to_owned(),
            });
        }
    }
}

fn phases(
    view: &View<'_>,
    logs: &Logs,
    plans: &Plans<'_>,
    (node, limit_a): (Node, f64),
    diagnosis: &mut Diagnosis,
) {
    let kind = Kind::PhaseOverload;
    let Some(courses) = view.analysis().phases() else {
        return diagnosis.needs(view, kind, None, "the current of each phase");
    };
    let device = match node {
        Node::Circuit(index) => view.site.circuits[index].protective_device,
        Node::Supply | Node::Board(_) => None,
    };
    let device = device.unwrap_or_else(|| gg(limit_a));
    for phase in Phase::ALL {
        let series = &courses[phase.index()].means;
        let Some(excess) = excess(view, series, limit_a, device) else {
            diagnosis.nothing(view, kind, Some(phase));
            continue;
        };
        let parts = excess.worst_block.map_or_else(Vec::new, |(start, _)| {
            contributors(view, logs, phase, (start, start + limits::OVERLOAD_BLOCK_S))
        });
        let moves = plans.standing().map_or_else(Vec::new, |standing| {
            relief(view.site, standing, node, phase)
        });
        let mut report = report(view, phase.name(), &excess, limit_a, device);
        report.evidence = with_contributors(report.evidence, &parts);
        if !moves.is_empty() {
            let words: Vec<String> = moves.iter().map(|one| one.words(phase)).collect();
            report.evidence = report.evidence.with("relief_by_one_or_two_moves", words);
        }
        diagnosis.found_over(view, (kind, Some(phase)), excess.span, report);
        let half_hours = worst_half_hours(view, logs, phase, series);
        if !half_hours.is_empty() {
            let trace = OverloadTrace {
                phase,
                limit_a,
                half_hours,
            };
            diagnosis.show(view, kind, Some(phase), Trace::Overload(trace));
        }
    }
}

/// Adds the machines of the worst half-hour, and how much of it is measured, estimated and unmetered.
fn with_contributors(evidence: Evidence, parts: &[Contributor]) -> Evidence {
    if parts.is_empty() {
        return evidence;
    }
    let sum = |of: &dyn Fn(&Contributor) -> bool| -> f64 {
        parts
            .iter()
            .filter(|part| of(part))
            .map(|part| part.amps)
            .sum()
    };
    let machines: Vec<String> = parts
        .iter()
        .map(|part| format!("{} {} A ({})", part.name, fixed(part.amps, 1), part.basis))
        .collect();
    let unmetered = parts.iter().find(|part| part.basis == "unmetered");
    // Shares that do not add up to the current say nothing.
    let adds_up = |amps: f64| unmetered.map(|_| amps);
    evidence
        .maybe("measured_share_a", adds_up(sum(&Contributor::is_measured)))
        .maybe(
            "estimated_share_a",
            adds_up(sum(&|part| part.basis == "estimated")),
        )
        .maybe("unmetered_share_a", unmetered.map(|part| part.amps))
        .with(
            "active_current_of_machines_in_the_worst_half_hour",
            machines,
        )
}

fn neutral(view: &View<'_>, limit_a: f64, diagnosis: &mut Diagnosis) {
    let kind = Kind::NeutralOverload;
    let logged = view.table().values(Quantity::NeutralCurrent);
    let is_logged = logged.is_some();
    let Some(series) = logged
        .map(Values::Logged)
        .or_else(|| neutral_at_least(view))
    else {
        return diagnosis.needs(view, kind, None, "the neutral current");
    };
    match excess(view, &series, limit_a, gg(limit_a)) {
        Some(excess) => {
            let mut report = report(view, "the neutral", &excess, limit_a, gg(limit_a));
            let computed = "not logged: at least the phasor sum of the phase currents; harmonics and loads that switch within an interval add to it";
            report.evidence = report
                .evidence
                .maybe("neutral_current", (!is_logged).then_some(computed));
            diagnosis.found_over(view, (kind, None), excess.span, report);
        }
        None if is_logged => diagnosis.nothing(view, kind, None),
        None => diagnosis.needs(
            view,
            kind,
            None,
            "the neutral current (the phasor sum of the phase currents is below the limit, but leaves out harmonics and loads that switch within an interval)",
        ),
    }
}

/// Lower bound of the neutral current, from phase currents whose angles are logged. (A)
fn neutral_at_least<'s>(view: &View<'s>) -> Option<Values<'s>> {
    let analysis = view.analysis();
    let phasors = analysis.phasors()?;
    (phasors.angle != AngleBasis::Unity).then_some(())?;
    Some(analysis.phasor_sum()?.means)
}

/// The device assumed for a limit without a declared one.
fn gg(rated_a: f64) -> ProtectiveDevice {
    ProtectiveDevice {
        kind: DeviceKind::Gg,
        rated_a,
    }
}

fn excess(
    view: &View<'_>,
    series: &Values<'_>,
    limit_a: f64,
    device: ProtectiveDevice,
) -> Option<OverloadExtent> {
    let starts = view.table().starts();
    let interval_s = view.interval_s();
    let above = |row: usize| {
        series
            .get(row)
            .is_some_and(|amps| is_above_limit(amps, limit_a))
    };
    let longest = longest_spell(starts, interval_s, above)?;
    let over: Vec<usize> = (0..starts.len()).filter(|&row| above(row)).collect();
    let span = (starts[*over.first()?], starts[*over.last()?] + interval_s);
    let highest = starts
        .iter()
        .zip(series.iter())
        .filter_map(|(&start, amps)| Some((start, amps?)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let worst_block = blocks(starts, series.iter(), interval_s, limits::OVERLOAD_BLOCK_S)
        .into_iter()
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let minutes = |rows: usize| rows as f64 * interval_s as f64 / 60.0;
    let currents = conventional_currents(device);
    let operating_a = currents.operating * device.rated_a;
    let operating = series
        .iter()
        .flatten()
        .filter(|amps| *amps > operating_a)
        .count();
    let set_s = 60.0 * view.site.thresholds.thermal_time_constant_min;
    let time_constant_s = if set_s > 0.0 {
        set_s
    } else {
        time_constant_of_conventional_currents(
            currents.non_operating,
            currents.operating,
            currents.time_s,
        )
    };
    let reference_a = currents.non_operating * device.rated_a;
    Some(OverloadExtent {
        minutes: minutes(over.len()),
        span,
        highest,
        longest,
        worst_block,
        operating_min: minutes(operating),
        time_constant_s,
        heating: highest_heating(starts, series, interval_s, reference_a, time_constant_s),
    })
}

/// The highest heating of the device.
fn highest_heating(
    starts: &[i64],
    series: &Values<'_>,
    interval_s: i64,
    reference: f64,
    time_constant_s: f64,
) -> f64 {
    let mut heating = 0.0;
    let mut highest: f64 = 0.0;
    let mut before: Option<(i64, f64)> = None;
    for (&start, amps) in starts.iter().zip(series.iter()) {
        let Some(amps) = amps else { continue };
        if let Some((end, last)) = before
            && start > end
        {
            // In a gap the last current is assumed to continue.
            let gap = (start - end) as f64;
            heating = heating_after(heating, last, reference, gap, time_constant_s);
        }
        heating = heating_after(heating, amps, reference, interval_s as f64, time_constant_s);
        highest = highest.max(heating);
        before = Some((start + interval_s, amps));
    }
    highest
}

fn report(
    view: &View<'_>,
    conductor: &str,
    excess: &OverloadExtent,
    limit_a: f64,
    device: ProtectiveDevice,
) -> Report {
    let currents = conventional_currents(device);
    // The standards' words: a fuse blows, a circuit-breaker trips.
    let [carried, operates, above] = match device.kind {
        DeviceKind::Gg | DeviceKind::SemiEnclosed => [
            "conventional_non_fusing_current_a",
            "conventional_fusing_current_a",
            "time_above_fusing_current_min",
        ],
        DeviceKind::B | DeviceKind::C | DeviceKind::D => [
            "conventional_non_tripping_current_a",
            "conventional_tripping_current_a",
            "time_above_tripping_current_min",
        ],
    };
    let severity = if excess.heating >= 1.0 {
        Severity::Danger
    } else if excess.minutes >= view.site.thresholds.overload_warning_min {
        Severity::Warning
    } else {
        Severity::Notice
    };
    let (at_s, highest_a) = excess.highest;
    let over_a = highest_a - limit_a;
    let longest_min = excess.longest.1 as f64 / 60.0;
    let evidence = Evidence::default()
        .with("limit_a", limit_a)
        .with("time_above_limit_min", excess.minutes)
        .with("highest_a", highest_a)
        .with("highest_at", view.local(at_s))
        .with("longest_spell_min", longest_min)
        .with("longest_spell_from", view.local(excess.longest.0))
        .maybe("worst_half_hour_a", excess.worst_block.map(|block| block.1))
        .maybe(
            "worst_half_hour_from",
            excess.worst_block.map(|block| view.local(block.0)),
        )
        .with("highest_heating_pct", 100.0 * excess.heating)
        .with("device", device.to_string())
        .with(carried, currents.non_operating * device.rated_a)
        .with(operates, currents.operating * device.rated_a)
        .with("conventional_time_h", currents.time_s / 3600.0)
        .with(above, excess.operating_min)
        .with("thermal_time_constant_min", excess.time_constant_s / 60.0);
    Report {
        severity,
        summary: format!(
            "{conductor} peaks at {highest_a:.1} A, {over_a:.1} A over its {limit_a:.0} A limit; over the limit for {:.0} min in total, {longest_min:.0} min without a break",
            excess.minutes
        ),
        evidence,
        action: format!(
            "move or reschedule the loads of {conductor} in the worst half-hour; `tapoff balance` lists what to move"
        ),
        caution: CAUTION,
        source: SOURCE,
    }
}
