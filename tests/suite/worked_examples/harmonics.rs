//! Distorted voltages and currents, given by the peaks of their orders.

use num_complex::Complex64;
use tapoff::electrical::{DistortedPower, Harmonic, rms_of_harmonics, total_harmonic_distortion};

use super::input::named;
use super::{Figures, Outcome};

pub(super) fn distorted(
    voltage_peaks: &[Complex64],
    current_peaks: &[Complex64],
) -> Outcome<Figures> {
    assert_eq!(voltage_peaks.len(), current_peaks.len());
    let root_two = 2.0_f64.sqrt();
    let orders: Vec<Harmonic> = voltage_peaks
        .iter()
        .zip(current_peaks)
        .map(|(voltage, current)| Harmonic {
            voltage: voltage / root_two,
            current: current / root_two,
        })
        .collect();
    let power = DistortedPower::of(&orders)?;
    let sizes: Vec<f64> = orders.iter().map(|order| order.current.norm()).collect();
    Ok(named([
        ("active_w", power.active.0),
        ("power_factor", power.power_factor().ok_or("nothing flows")?),
        ("voltage_v", power.voltage.0),
        ("current_a", power.current.0),
        (
            "current_thd_pct",
            total_harmonic_distortion(sizes[0], &sizes[1..])?,
        ),
    ]))
}

pub(super) fn distorted_inductive(
    voltage_peak: &[f64],
    order: &[u8],
    resistance: f64,
    reactance: f64,
) -> Outcome<Figures> {
    assert_eq!(voltage_peak.len(), order.len());
    let voltages: Vec<Complex64> = voltage_peak.iter().copied().map(Complex64::from).collect();
    let currents: Vec<Complex64> = voltages
        .iter()
        .zip(order)
        .map(|(voltage, order)| voltage / Complex64::new(resistance, f64::from(*order) * reactance))
        .collect();
    let peaks: Vec<f64> = currents.iter().map(|current| current.norm()).collect();
    let mut figures = distorted(&voltages, &currents)?;
    for (order, peak) in order.iter().zip(peaks) {
        figures.insert(format!("peak_{order}_a"), peak);
    }
    Ok(figures)
}

pub(super) fn rms_of_peaks(peaks: &[f64], resistance: Option<f64>) -> Outcome<Figures> {
    let components: Vec<f64> = peaks.iter().map(|peak| peak / 2.0_f64.sqrt()).collect();
    let rms = rms_of_harmonics(&components)?;
    let mut figures = named([("rms_a", rms)]);
    if let Some(resistance) = resistance {
        figures.insert("heat_w".to_owned(), resistance * rms * rms);
    }
    Ok(figures)
}
