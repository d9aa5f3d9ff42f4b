//! Third harmonics of machines in the neutral.

use super::connections::connection_now;
use super::profile::Profile;
use site::{Connection, Site};

/// Third harmonics of loads to neutral add up in the neutral whatever their phases.
pub(crate) fn add_third_harmonic(
    site: &Site,
    machine: usize,
    profile: &Profile,
    beyond: &mut Vec<f64>,
) {
    let share = site.machines[machine].third_harmonic;
    let to_neutral = matches!(
        connection_now(site, machine),
        Connection::ToNeutral(_) | Connection::Any
    );
    let (true, Some(series)) = (share > 0.0 && to_neutral, profile.currents.series(0)) else {
        return;
    };
    beyond.resize(series.len(), 0.0);
    for (sum, current) in beyond.iter_mut().zip(series) {
        *sum += share * current.norm();
    }
}
