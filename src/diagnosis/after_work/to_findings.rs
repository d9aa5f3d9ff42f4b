//! Turns the comparisons after work into findings.

use super::page::{CAUTION, KIND, SOURCE};
use super::{AfterWork, ConductorCheck, RoundCheck, predicted, round};
use crate::outcome::{Diagnosis, NotJudged, NothingFound, Report};
use crate::view::{View, at};
use finding::{Evidence, Finding, Severity, Spot};
use metering::Logs;
use site::{Measured, Site};
use units::{format_amps, format_moment, format_number};

/// Compares the list with the readings since the last work.
pub(crate) fn check(site: &Site, logs: &Logs, diagnosis: &mut Diagnosis) {
    let work = site.works.last();
    let from = work.map_or(i64::MIN, |work| work.done.timestamp());
    let log = site
        .meter_of(Measured::SUPPLY)
        .and_then(|meter| logs.of(meter));
    let main = log.map(|log| View::new(site, log));
    let round = round::judge(site, logs, work);
    let conductors = match (&main, work) {
        (Some(main), Some(work)) => predicted::compare(site, logs, main, work),
        _ => Err("the date of the work: `[[work]]` in site.toml, or `--since-work`".to_owned()),
    };
    let identified = phases::identify(site, logs);
    let judged = identified.loads.iter().any(phases::LoadPhase::is_settled);
    let found = diagnosis.findings.len();
    if let Some(main) = &main {
        for one in &identified.loads {
            if one.status == phases::PhaseStatus::Elsewhere {
                elsewhere(main, one, from, diagnosis);
            }
        }
        if let Some(neutral) = conductors.iter().flatten().find(|one| one.conductor == "N") {
            above_prediction(main, neutral, from, diagnosis);
        }
    }
    if let Some(round) = round.as_ref().filter(|round| !round.agrees) {
        of_round(site, round, diagnosis);
    }
    let spot = main.as_ref().map_or_else(
        || Spot {
            node: Some("supply".to_owned()),
            ..Spot::default()
        },
        |main| main.spot(None),
    );
    // A round that leaves the list any room says nothing against it, and nothing for it.
    let by_round = round
        .as_ref()
        .is_some_and(|round| !round.agrees || round.tests_the_list());
    if !judged && !by_round {
        let readings = "or a round of clamp readings at the supply and its machines (readings.csv)";
        let needs = if identified.loads.is_empty() {
            "a machine list with machines on one or two phases".to_owned()
        } else if main
            .as_ref()
            .is_none_or(|main| main.analysis().phasors().is_none())
        {
            format!("the current of each phase at the supply, {readings}")
        } else {
            format!(
                "machines with a meter or a schedule of their own that switch often enough after the work, switching tests (switching.csv), {readings}"
            )
        };
        diagnosis.not_judged.push(NotJudged {
            kind: KIND,
            spot,
            needs,
        });
    } else if diagnosis.findings.len() == found {
        diagnosis
            .nothing_found
            .push(NothingFound { kind: KIND, spot });
    }
    let (conductors, not_predicted) = match conductors {
        Ok(conductors) => (conductors, None),
        Err(needs) => (Vec::new(), Some(needs)),
    };
    diagnosis.phases = identified;
    diagnosis.after_work = Some(AfterWork {
        since: work.map(|work| work.done),
        conductors,
        not_predicted,
        round,
    });
}

/// A load that logs, tests and readings together put elsewhere than the list.
fn elsewhere(main: &View<'_>, one: &phases::LoadPhase, from: i64, diagnosis: &mut Diagnosis) {
    let (Some(probable), Some(probability)) = (one.probable, one.probability) else {
        return;
    };
    let listed = one
        .options
        .iter()
        .find(|option| option.connection == one.listed);
    let report = Report {
        severity: Severity::Warning,
        summary: format!(
            "`{}` is probably on {probable}; the list gives {}",
            one.machine, one.listed
        ),
        evidence: Evidence::default()
            .with("listed_on", one.listed.name())
            .with("probably_on", probable.name())
            .with(
                "probability_pct",
                phases::shown_probability_pct(probability),
            )
            .maybe(
                "probability_of_the_listed_pct",
                listed.map(|option| phases::shown_probability_pct(option.probability)),
            )
            .with("rests_on", one.basis.clone()),
        action: format!(
            "switch `{}` on and off and read it at its board with a clamp meter; then correct machines.csv, or move it to the phase that the list gives",
            one.machine
        ),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(main, KIND, None, report);
    if let Some(finding) = diagnosis.findings.last_mut() {
        finding.spot.machine = Some(one.machine.clone());
        finding.from = finding.from.max(at(from.max(0)));
    }
}

/// The neutral carries more current than the plan predicted.
fn above_prediction(
    main: &View<'_>,
    neutral: &ConductorCheck,
    from: i64,
    diagnosis: &mut Diagnosis,
) {
    let allowed = 1.0 + main.site.thresholds.work_neutral_pct / 100.0;
    let (_, most) = neutral.predicted_days_a;
    if neutral.measured_rms_a <= allowed * neutral.predicted_rms_a || neutral.measured_rms_a <= most
    {
        return;
    }
    let report = Report {
        severity: Severity::Notice,
        summary: format!(
            "after the work the neutral carries {:.1} A rms; {:.1} A were predicted ({:.1} A before)",
            neutral.measured_rms_a, neutral.predicted_rms_a, neutral.before_rms_a
        ),
        evidence: Evidence::default()
            .with("neutral_rms_before_a", neutral.before_rms_a)
            .with("neutral_rms_predicted_a", neutral.predicted_rms_a)
            .with("neutral_rms_predicted_on_the_worst_day_a", most)
            .with("neutral_rms_measured_a", neutral.measured_rms_a),
        action: "check that the machines are on the phases that the list gives, and that production after the work is like that before".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(main, KIND, None, report);
    if let Some(finding) = diagnosis.findings.last_mut() {
        finding.from = finding.from.max(at(from.max(0)));
    }
}

fn of_round(site: &Site, check: &RoundCheck, diagnosis: &mut Diagnosis) {
    let when = format_moment(check.at.with_timezone(&site.timezone));
    let names = ["l1", "l2", "l3", "neutral"];
    let comparison: Vec<String> = (0..4)
        .map(|k| {
            format!(
                "{}: read {}, expected {} to {}",
                names[k].to_uppercase(),
                check.measured_a[k].map_or_else(|| "not read".to_owned(), format_amps),
                format_number(check.expected_a(k).0, 1),
                format_amps(check.expected_a(k).1),
            )
        })
        .collect();
    let suspects: Vec<String> = check
        .explained_by
        .iter()
        .map(|(machine, place)| format!("{machine} on {place}"))
        .collect();
    let (summary, machine) = match check.explained_by.as_slice() {
        [(machine, place)] => (
            format!("the readings of {when} agree with the list only if `{machine}` is on {place}"),
            Some(machine.clone()),
        ),
        [] => (
            format!(
                "the readings of {when} do not agree with the list, and no single machine on another phase explains them"
            ),
            None,
        ),
        _ => (
            format!(
                "the readings of {when} do not agree with the list; any one of these would explain it: {}",
                suspects.join(", ")
            ),
            None,
        ),
    };
    diagnosis.findings.push(Finding {
        kind: KIND,
        severity: if machine.is_some() { Severity::Warning } else { Severity::Notice },
        spot: Spot {
            node: Some("supply".to_owned()),
            machine,
            ..Spot::default()
        },
        from: check.at,
        to: check.at,
        summary,
        evidence: Evidence::default()
            .with("read_and_expected", comparison)
            .maybe("machines_that_would_explain_it", (!suspects.is_empty()).then_some(suspects))
            .maybe(
                "assumption",
                (!check.rest_known).then_some("no round before the work: the expected currents leave out loads that are not on the list"),
            ),
        accepted: false,
        action: "switch off the suspected machines one by one and read the supply again".to_owned(),
        caution: CAUTION.to_owned(),
        source: SOURCE.to_owned(),
    });
}
