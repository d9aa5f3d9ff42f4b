//! Where the figures of a meter come from.

use schemars::JsonSchema;
use serde::Serialize;

use super::energy::Reactive;
use analysis::NetPower;
use electrical::Phase;
use metering::{AngleBasis, IntervalTable, MeterLog, Origin, PhasePhasors};
use site::Quantity;

/// Where each figure of a meter comes from: `measured`, `derived` from what is logged by physics
/// alone, or `estimated` under an assumption that the notes name. `None` where there is no figure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, JsonSchema, Serialize)]
pub struct FigureBasis {
    /// Of `energy_kwh` and `load_factor`.
    pub energy_kwh: Option<&'static str>,
    /// Of `energy_kwh_by_phase`; the weakest of the three.
    pub energy_kwh_by_phase: Option<&'static str>,
    /// Of the maximum demand.
    pub max_demand_kw: Option<&'static str>,
    /// Of reactive energy and of demand in kVA.
    pub reactive_energy_kvarh: Option<&'static str>,
    /// Of the power factor.
    pub power_factor: Option<&'static str>,
    /// Of the phase currents; the weakest of the three.
    pub phase_current_a: Option<&'static str>,
    /// Of the neutral current.
    pub neutral_a: Option<&'static str>,
}

impl FigureBasis {
    pub(crate) fn of(
        log: &MeterLog,
        draw: NetPower<'_>,
        reactive: Reactive,
        phasors: Option<&PhasePhasors>,
    ) -> FigureBasis {
        let table = &log.table;
        let power = Grade::of(table, Quantity::ActivePower(None));
        // A register measures energy, though the power of an interval follows from it.
        let energy = if draw.from_register {
            Some(Grade::Measured)
        } else {
            power
        };
        let reactive = reactive.import_kvarh.and_then(|_| reactive_grade(table));
        let by_phase = Phase::ALL.map(|phase| {
            let phase = Some(phase);
            Grade::of(table, Quantity::ActivePower(phase))
                .or_else(|| Grade::of(table, Quantity::EnergyImport(phase)))
        });
        let currents = Phase::ALL.map(|phase| Grade::of(table, Quantity::Current(phase)));
        let factor = energy
            .zip(reactive)
            .map(|(energy, reactive)| Grade::Derived.max(energy).max(reactive));
        let neutral = Grade::of(table, Quantity::NeutralCurrent).or_else(|| {
            let angles = match phasors?.angle {
                AngleBasis::Powers => Grade::Derived,
                AngleBasis::PowerFactor | AngleBasis::Unity => Grade::Estimated,
            };
            Some(angles.max(weakest(currents)?))
        });
        let name = |grade: Option<Grade>| grade.map(Grade::name);
        FigureBasis {
            energy_kwh: name(energy),
            energy_kwh_by_phase: name(weakest(by_phase)),
            max_demand_kw: name(power),
            reactive_energy_kvarh: name(reactive),
            power_factor: name(factor),
            phase_current_a: name(weakest(currents)),
            neutral_a: name(neutral),
        }
    }
}

/// From the strongest to the weakest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Grade {
    Measured,
    Derived,
    Estimated,
}

impl Grade {
    /// The sum of what is measured on the phases counts as measured.
    fn of(table: &IntervalTable, quantity: Quantity) -> Option<Grade> {
        Some(match table.origin(quantity)? {
            Origin::Measured => Grade::Measured,
            Origin::Derived { from } if is_sum_of_measured(table, quantity, &from) => {
                Grade::Measured
            }
            Origin::Derived { .. } => Grade::Derived,
            Origin::Estimated { .. } => Grade::Estimated,
        })
    }

    const fn name(self) -> &'static str {
        match self {
            Grade::Measured => "measured",
            Grade::Derived => "derived",
            Grade::Estimated => "estimated",
        }
    }
}

fn is_sum_of_measured(table: &IntervalTable, quantity: Quantity, from: &[Quantity]) -> bool {
    let parts = |total: fn(Option<Phase>) -> Quantity| {
        quantity == total(None)
            && from.iter().all(|source| {
                Phase::ALL
                    .into_iter()
                    .any(|phase| *source == total(Some(phase)))
                    && table.origin(*source) == Some(Origin::Measured)
            })
    };
    let amounts = [
        Quantity::EnergyInterval,
        Quantity::ReactiveEnergyInterval,
        Quantity::ReactiveEnergyExportInterval,
    ];
    parts(Quantity::ActivePower)
        || parts(Quantity::ReactivePower)
        || from.iter().all(|source| amounts.contains(source))
        || from.iter().all(|source| {
            matches!(
                source,
                Quantity::ActivePowerImport(_) | Quantity::ActivePowerExport(_)
            )
        })
}

/// Registers and logged amounts are measured; else as the reactive power.
fn reactive_grade(table: &IntervalTable) -> Option<Grade> {
    let power = Grade::of(table, Quantity::ReactivePower(None));
    let counted =
        table.has(Quantity::ReactiveEnergyImport) || table.has(Quantity::ReactiveEnergyInterval);
    match power {
        None | Some(Grade::Estimated) if counted => Some(Grade::Measured),
        power => power,
    }
}

fn weakest(grades: [Option<Grade>; 3]) -> Option<Grade> {
    let [l1, l2, l3] = grades;
    Some(l1?.max(l2?).max(l3?))
}

/// What is not logged and on what it rests, one sentence each: powers first derived, not their sums.
pub(crate) fn notes(id: &str, log: &MeterLog) -> Vec<String> {
    let named = |sources: &[Quantity]| {
        let names: Vec<String> = sources.iter().map(|one| format!("`{one}`")).collect();
        names.join(", ")
    };
    let mut derived = Vec::new();
    let mut assumptions: Vec<(String, Vec<String>)> = Vec::new();
    for (quantity, origin) in log.table.derived() {
        let power = matches!(
            quantity,
            Quantity::ActivePower(_) | Quantity::ReactivePower(_)
        );
        if !power || log.table.is_of_register(quantity) {
            continue;
        }
        match origin {
            Origin::Measured => {}
            Origin::Derived { from } if is_sum_of_measured(&log.table, quantity, from) => {}
            Origin::Derived { from } => derived.push(format!("`{quantity}` from {}", named(from))),
            Origin::Estimated { assumption } => {
                match assumptions
                    .iter_mut()
                    .find(|(known, _)| known == assumption)
                {
                    Some((_, quantities)) => quantities.push(format!("`{quantity}`")),
                    None => assumptions.push((assumption.clone(), vec![format!("`{quantity}`")])),
                }
            }
        }
    }
    let mut notes = Vec::new();
    if !derived.is_empty() {
        notes.push(format!("meter `{id}`: derived {}", derived.join("; ")));
    }
    for (assumption, quantities) in assumptions {
        notes.push(format!(
            "meter `{id}`: estimated {}: {assumption}",
            quantities.join(", ")
        ));
    }
    notes
}
