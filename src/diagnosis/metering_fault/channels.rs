//! Faults of a meter's channels, as findings.

use super::page::{CAUTION, KIND, SOURCE};
use crate::outcome::{Diagnosis, Report};
use crate::view::{View, at};
use electrical::Phase;
use finding::{Evidence, Severity};
use metering::{FaultKind, MeterFault, Treatment};
use site::{Measured, Quantity};
use units::format_local;

pub(crate) const LEAD_CAUTION: &str = "A voltage lead is at the full voltage of its phase up to its fuse. Competent person only: isolate it there and prove it dead.";
const GENERATION_CAUTION: &str = "Generation can keep a circuit live that is switched off at the board. Competent person only: isolate it too, and prove dead.";

pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    for fault in &view.log.faults {
        let report = report(view, fault);
        diagnosis.found(view, KIND, fault.phase, report);
        if let Some(finding) = diagnosis.findings.last_mut() {
            let starts = view.logged().starts();
            finding.from = at(starts[fault.rows.start]);
            finding.to = at(starts[fault.rows.end - 1] + view.interval_s());
        }
    }
    for phase in Phase::ALL {
        let of_phase = |fault: &MeterFault| fault.phase.is_none_or(|one| one == phase);
        if !view.log.faults.iter().any(of_phase) && judged(view, phase) {
            diagnosis.nothing(view, KIND, Some(phase));
        }
    }
    let exports = [Quantity::EnergyExport, Quantity::ActivePowerExport(None)];
    if view.log.faults.is_empty() && exports.iter().any(|&quantity| view.table().has(quantity)) {
        diagnosis.needs(
            view,
            KIND,
            None,
            "a meter without export, to tell a reversed current transformer from generation: this one counts export, so the sign of its power proves nothing",
        );
    }
    if view.log.faults.is_empty() && !Phase::ALL.iter().any(|&phase| judged(view, phase)) {
        if view.table().has(Quantity::ActivePower(None)) {
            diagnosis.nothing(view, KIND, None);
        } else {
            diagnosis.needs(view, KIND, None, "active power");
        }
    }
}

fn judged(view: &View<'_>, phase: Phase) -> bool {
    view.table().has(Quantity::ActivePower(Some(phase)))
}

fn report(view: &View<'_>, fault: &MeterFault) -> Report {
    let phase = fault.phase.map_or("the meter", |phase| phase.name());
    let number = |name: &str| {
        let found = fault.evidence.iter().find(|(own, _)| *own == name);
        found.map_or(0.0, |(_, value)| *value)
    };
    let what = match view.meter.measures {
        Measured::Machine(index) => format!("machine {}", view.site.machines[index].name),
        Measured::Node(_) => view.site.measured_name(view.meter.measures).to_owned(),
    };
    let (summary, action) = match fault.kind {
        FaultKind::Reversed => (
            format!(
                "{phase} shows export of {:.0} kWh from {what}, which generates nothing: a current transformer is reversed",
                number("energy_with_wrong_sign_kwh")
            ),
            "turn the current transformer round, or swap S1 and S2 (circuit dead, CT shorted)",
        ),
        FaultKind::Generation => (
            format!(
                "{phase} exports {:.0} kWh and its voltage rises with it: generation that is not declared",
                number("energy_with_wrong_sign_kwh")
            ),
            "find what generates on this phase and add it to the machine list; check that the network operator knows of it",
        ),
        FaultKind::Paired { from, reversed } => {
            let pairs: Vec<String> = (0..3)
                .filter(|&k| from[k] != k)
                .map(|k| {
                    let turned = if reversed[k] { ", reversed" } else { "" };
                    let [on, of] = [k, from[k]].map(|index| Phase::ALL[index].name());
                    format!("channel {on} reads the current of {of}{turned}")
                })
                .collect();
            (
                format!(
                    "currents are paired with voltages of other phases: {}",
                    pairs.join("; ")
                ),
                "trace the secondary wires of each current transformer to the meter, compare its conductor with the voltage lead of the same input, and swap the pairs named",
            )
        }
        FaultKind::Ratio { .. } => (
            format!(
                "the true current of {phase} is {:.3} times what is read: the ratio of its current transformer is not as set",
                number("true_over_read")
            ),
            "compare the ratio printed on the current transformer, and its primary turns, with the setting of the meter",
        ),
        FaultKind::LoadsExchanged { phases: [a, b] } => (
            format!(
                "loads of {} and {} exchanged since {}: {:.0} of {:.0} changes are those of the other phase before",
                a.name(),
                b.name(),
                format_local(view.local(view.logged().starts()[fault.rows.start])),
                number("of_these_at_home_on_the_other_phase"),
                number("changes_with_a_known_home")
            ),
            "ask what was changed in the installation then: conductors of two phases swapped, or the meter's inputs as pairs. The phases of the machine list hold on one side of that time only; check the rotation of three-phase motors",
        ),
        FaultKind::OnGenerator => (
            "all voltages rose at once and fell back later while the loads kept running: a standby generator fed the installation, an operating state".to_owned(),
            "none, if a generator ran; else ask the network operator what was switched. Joints are not judged on these readings",
        ),
        FaultKind::LoggerChanged => (
            "the smallest step of several channels changes for good: another logger, or another setting of it".to_owned(),
            "find out what was changed, and whether class, ratio and clock of the second logger are those declared",
        ),
        FaultKind::TwoLoggers => (
            "rows of two sources alternate: two loggers are mixed in one file".to_owned(),
            "separate the two logs, each as a meter of its own in site.toml",
        ),
        FaultKind::TimeZone { hours } => (
            format!(
                "work begins and ends {:.0} h {} than declared, by what the zone differs from UTC: the log may be in {}",
                hours.abs(),
                if hours > 0.0 { "later" } else { "earlier" },
                if hours > 0.0 { "local time, not UTC" } else { "UTC, not local time" },
            ),
            "compare the clock of the logger with a watch; then correct `time` of the meter, or the schedules",
        ),
        FaultKind::VoltageLost => (
            format!(
                "the voltage of {phase} reads zero while its current goes on: a voltage lead or its fuse is open"
            ),
            "check the voltage lead of this phase and its fuse; powers and energies of this time are too low",
        ),
        FaultKind::VoltageStuck => (
            format!(
                "the voltage of {phase} repeats {:.1} V while the other phases move",
                number("repeated_value_v")
            ),
            "check the voltage input and the logger; its readings of this time are not used",
        ),
        FaultKind::CurrentStuck => (
            format!(
                "the current of {phase} repeats {:.1} A while its voltage moves",
                number("repeated_value_a")
            ),
            "check the current input and the logger; its readings of this time are not used",
        ),
        FaultKind::CurrentOpen => (
            format!(
                "{phase} reads no current at all, in a channel that otherwise has {:.1} A: its current transformer is open or disconnected, or everything on the phase is off",
                number("usual_current_a")
            ),
            "measure the current of this phase with a clamp meter; an open secondary circuit of a transformer that carries current has a dangerous voltage: isolate first",
        ),
    };
    let remedy = match fault.remedy {
        Treatment::Corrected => {
            "corrected in all results; the figures as logged are given as well, and a bill uses those"
        }
        Treatment::LeftOut => "left out of all results but a bill",
        Treatment::Reported => "none: the readings are used as logged",
    };
    let evidence = fault
        .evidence
        .iter()
        .fold(Evidence::default(), |evidence, (name, value)| {
            evidence.with(name, *value)
        });
    Report {
        severity: if fault.kind == FaultKind::OnGenerator {
            Severity::Notice
        } else {
            Severity::Warning
        },
        summary,
        evidence: evidence
            .with("longest_spell_min", spell_min(view, fault))
            .maybe("register_counted_kwh", view.log.register_energy_kwh)
            .maybe("treatment", Some(remedy)),
        action: action.to_owned(),
        caution: match fault.kind {
            FaultKind::VoltageLost | FaultKind::VoltageStuck => LEAD_CAUTION,
            FaultKind::Generation => GENERATION_CAUTION,
            _ => CAUTION,
        },
        source: SOURCE,
    }
}

fn spell_min(view: &View<'_>, fault: &MeterFault) -> f64 {
    let starts = view.logged().starts();
    let length = starts[fault.rows.end - 1] - starts[fault.rows.start] + view.interval_s();
    length as f64 / 60.0
}
