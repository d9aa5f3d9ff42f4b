//! Energy, current and connection of each machine.

use crate::answer::result::MachineShare;
use crate::pose::from_site::Posed;
use site::{Connection, Site};

/// Energy and current of each machine.
pub(super) fn shares(
    site: &Site,
    posed: &Posed,
    connections: &[(Connection, Connection)],
) -> Vec<MachineShare> {
    let hours = posed.grid.interval_s as f64 / 3600.0;
    site.machines
        .iter()
        .enumerate()
        .map(|(index, machine)| {
            let profile = &posed.profiles[index];
            let magnitudes: Vec<f64> = (0..posed.grid.starts.len())
                .map(|interval| {
                    (0..3)
                        .map(|position| profile.currents.at(position, interval).norm())
                        .fold(0.0, f64::max)
                        * (1.0 + machine.third_harmonic.powi(2)).sqrt()
                })
                .collect();
            let squares: f64 = magnitudes.iter().map(|amps| amps * amps).sum();
            let (from, to) = connections[index];
            MachineShare {
                machine: machine.name.clone(),
                from,
                to,
                movable: posed.members.iter().any(|list| list.contains(&index)),
                basis: profile.basis,
                energy_kwh: profile
                    .metered_kwh
                    .unwrap_or_else(|| profile.power_kw.iter().sum::<f64>() * hours),
                current_rms_a: (squares / magnitudes.len().max(1) as f64).sqrt(),
                current_max_a: magnitudes.iter().copied().fold(0.0, f64::max),
            }
        })
        .collect()
}
