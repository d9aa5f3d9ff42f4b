//! Third harmonics of machines in the neutral.

use super::connections::connection_now;
use super::profile::Profile;
use site::Site;

/// Third harmonics of loads to neutral add up in the neutral whatever their phases, and so do those of the three phases
/// of a machine: they are in phase with each other. A load between two phases has no neutral.
pub(crate) fn add_third_harmonic(
    site: &Site,
    machine: usize,
    profile: &Profile,
    beyond: &mut Vec<f64>,
) {
    let share = site.machines[machine].third_harmonic;
    let has_neutral =
        site.machines[machine].has_neutral && connection_now(site, machine).has_neutral();
    if share <= 0.0 || !has_neutral {
        return;
    }
    for series in (0..3).filter_map(|position| profile.currents.series(position)) {
        beyond.resize(series.len(), 0.0);
        for (sum, current) in beyond.iter_mut().zip(series) {
            *sum += share * current.norm();
        }
    }
}
