//! A phase that has no voltage, or only what is fed back, while others have theirs.

use super::metering_fault;
use super::outcome::{Diagnosis, Report};
use super::page::Page;
use super::star_point::StarPoint;
use super::thresholds as limits;
use super::view::{View, at, spells};
use electrical::Phase;
use finding::{Evidence, Kind, Severity};
use site::Quantity;
use units::format_local;

const KIND: Kind = Kind::PhaseLoss;
const SOURCE: &str = "C. L. Fortescue, 1918: with one phase open, negative sequence equals positive sequence; three-phase motors overheat within minutes (common practice)";
const CAUTION: &str = "A three-phase motor that runs or starts on two phases overheats. A phase without voltage may be live by back-feed: prove dead before touching.";
const COULD_ALSO_BE: &str = "an open voltage lead of the meter; a broken neutral with load on this phase alone, which raises the other two";
const READING_THAT_DECIDES: &str = "line-to-line and line-to-neutral voltages at the meter with an approved two-pole voltage indicator, by a competent person: with a lost phase two of the line-to-line voltages are low, with a broken neutral none";

pub(super) const PAGE: Page = Page {
    meaning: "One phase has no voltage or far too little, while another has its voltage. A fuse has blown, a terminal is open, or the network has lost a phase.",
    formula: "\
A phase is below 70 % of nominal in an interval in which another is above 85 %; or, fed back through three-phase loads, below
78 % of the highest of the others, which is above 50 % of nominal. No phase is above 110 % of its usual voltage (median of the
log), and the star point has not moved (`neutral-fault`): no equal-sided triangle of the usual side fits the three voltages
or, where they are logged, the line-to-line voltages are unequal. Where one fits as well, a phase without current while the
neutral carries current is lost; where the currents do not decide, both are reported.",
    source: SOURCE,
    imitators: "An outage of all phases (not reported here). An open voltage lead of the meter: the phase reads below 30 % while its current continues, and `metering-fault` is reported. A failing neutral: it raises other phases.",
    action: "Check the fuses of that phase and of the meter's voltage leads; make sure that motors have phase-loss protection.",
    caution: CAUTION,
};

pub(super) fn check(view: &View<'_>, star_point: &StarPoint, diagnosis: &mut Diagnosis) {
    if view.node().is_none() {
        return;
    }
    let Some(volts) = view.by_phase(Quantity::Voltage) else {
        return diagnosis.needs(view, KIND, None, "the voltage of each phase to neutral");
    };
    let starts = view.table().starts();
    for phase in Phase::ALL {
        let lost = |row: usize| star_point.is_lost(row, phase);
        let spells = spells(starts, view.interval_s(), 0, lost);
        let Some(&(from, to)) = spells.iter().max_by_key(|(from, to)| (to - from, -from)) else {
            diagnosis.nothing(view, KIND, Some(phase));
            continue;
        };
        let rows: Vec<usize> = (0..starts.len()).filter(|&row| lost(row)).collect();
        let current = view.table().values(Quantity::Current(phase)).map(|amps| {
            let known: Vec<f64> = rows.iter().filter_map(|&row| amps.get(row)).collect();
            known.iter().sum::<f64>() / known.len().max(1) as f64
        });
        let lowest = rows
            .iter()
            .filter_map(|&row| volts[phase.index()].get(row))
            .fold(f64::INFINITY, f64::min);
        let goes_on = current.is_some_and(|amps| amps > 1.0)
            && lowest < limits::LEAD_SHARE * view.nominal_v();
        // Where a moved star point explains the voltages as well, the neutral comes first.
        let moved = |row: &&usize| star_point.displacement_v(**row).is_some();
        let unclear = rows.iter().filter(moved).count();
        let minutes = (to - from) as f64 / 60.0;
        let report = Report {
            severity: if goes_on || 2 * unclear > rows.len() {
                Severity::Warning
            } else {
                Severity::Danger
            },
            summary: if goes_on {
                format!(
                    "{phase} reads {lowest:.0} V while its current continues: the meter's voltage lead or its fuse is open"
                )
            } else {
                format!(
                    "{phase} was lost for {minutes:.0} min from {}: it fell to {lowest:.0} V while another phase was live",
                    format_local(view.local(from))
                )
            },
            evidence: Evidence::default()
                .with("lowest_v", lowest)
                .with("time_min", minutes_of(view, rows.len()))
                .with("longest_spell_min", minutes)
                .with("longest_spell_from", view.local(from))
                .maybe("current_meanwhile_a", current),
            action: format!(
                "check the fuses of {phase} and of the meter's voltage leads; make sure that motors have phase-loss protection"
            ),
            caution: CAUTION,
            source: SOURCE,
        };
        if goes_on {
            // The installation has its phase; the meter has not.
            let report = Report {
                caution: metering_fault::LEAD_CAUTION,
                source: metering_fault::SOURCE,
                ..report
            };
            diagnosis.found(view, Kind::MeteringFault, Some(phase), report);
            diagnosis.nothing(view, KIND, Some(phase));
            continue;
        }
        let report = Report {
            evidence: report
                .evidence
                .with("could_also_be", COULD_ALSO_BE)
                .with("reading_that_decides", READING_THAT_DECIDES),
            ..report
        };
        diagnosis.found(view, KIND, Some(phase), report);
        if let Some(finding) = diagnosis.findings.last_mut() {
            (finding.from, finding.to) = (at(from), at(to));
        }
    }
}

fn minutes_of(view: &View<'_>, rows: usize) -> f64 {
    rows as f64 * view.interval_s() as f64 / 60.0
}
