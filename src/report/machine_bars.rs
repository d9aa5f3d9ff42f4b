//! Energy by machine, largest first.

use super::format::{kwh, number};
use chart::{ChartError, EnergyBar, Figure, energy_bars};
use demand::MachineEnergy;

/// Bars beyond this number are drawn as one.
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
        let rest: f64 = sorted[MOST_BARS..]
            .iter()
            .map(|machine| machine.energy_kwh)
            .sum();
        let name = format!("{} others", sorted.len() - MOST_BARS);
        bars.push(EnergyBar {
            name,
            energy_kwh: rest,
            words: kwh(rest),
            basis: None,
        });
    }
    let rows = sorted
        .iter()
        .map(|machine| {
            let share = if total > 0.0 {
                number(100.0 * machine.energy_kwh / total, 1)
            } else {
                "—".to_owned()
            };
            let origin = super::moves::origin(machine.basis).to_owned();
            vec![
                machine.machine.clone(),
                kwh(machine.energy_kwh),
                share,
                origin,
            ]
        })
        .collect();
    Ok(energy_bars(&bars)?
        .with_caption(
            "Full bars are measured, outlined bars declared, hatched bars estimated; the word \
             stands at each bar."
                .to_owned(),
        )
        .with_table(
            &[
                "Machine",
                "Energy [kWh]",
                "Share of the listed machines [%]",
                "Origin",
            ],
            rows,
        ))
}
