//! Energy by machine, in descending order.

use super::format::kwh;
use chart::{ChartError, EnergyBar, Figure, energy_bars};
use demand::MachineEnergy;
use tables::{columns, number, words};
use units::{Basis, FigureKind as Q};

/// Machines beyond this number share one bar.
const MOST_BARS: usize = 30;

pub(super) fn machine_bars(machines: &[MachineEnergy]) -> Result<Figure, ChartError> {
    let mut sorted: Vec<&MachineEnergy> = machines.iter().collect();
    sorted.sort_by(|a, b| b.energy_kwh.total_cmp(&a.energy_kwh));
    let total: f64 = machines.iter().map(|machine| machine.energy_kwh).sum();
    let mut bars: Vec<EnergyBar> = sorted
        .iter()
        .take(MOST_BARS)
        .map(|machine| EnergyBar {
            name: machine.machine.clone(),
            energy_kwh: machine.energy_kwh,
            words: kwh(machine.energy_kwh),
            basis: Some(machine.basis),
        })
        .collect();
    if sorted.len() > MOST_BARS {
        let other: f64 = sorted[MOST_BARS..]
            .iter()
            .map(|machine| machine.energy_kwh)
            .sum();
        let name = format!("other ({} machines)", sorted.len() - MOST_BARS);
        bars.push(EnergyBar {
            name,
            energy_kwh: other,
            words: kwh(other),
            basis: None,
        });
    }
    let share = |machine: &MachineEnergy| (total > 0.0).then(|| 100.0 * machine.energy_kwh / total);
    let table = columns! { machine in &MachineEnergy;
        machine: words("Machine") => &machine.machine;
        energy_kwh: number("Energy", Q::ActiveEnergy) => machine.energy_kwh;
        share_pct: number("Share of listed machines", Q::Percent) => share(machine);
        basis: words("Basis") => machine.basis.name();
    }
    .table(
        "machine-energy",
        "Energy by machine",
        sorted.iter().copied(),
    );
    Ok(energy_bars(&bars)?
        .with_caption(format!(
            "Filled bars: {}. Outlined bars: {}. Hatched bars: {}. The basis is given at each bar.",
            Basis::Measured.name(),
            Basis::RatingOnly.name(),
            Basis::Estimated.name()
        ))
        .with_numbers(table))
}
