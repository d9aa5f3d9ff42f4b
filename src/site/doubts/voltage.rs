//! A line-to-line voltage that is none.

use crate::model::site::Site;
use message::Message;

/// Voltages to neutral of three-phase four-wire supplies: 100 to 127 V, 220 to 277 V, 347 V, 400 V, each with its
/// tolerance. (V)
const TO_NEUTRAL: [(f64, f64); 4] = [
    (95.0, 131.0),
    (209.0, 290.0),
    (325.0, 365.0),
    (380.0, 420.0),
];

/// Where the supply is 400 V with ±10 % by EN 50160 and IEC 60038; 690 V in industry. (V between lines)
const OF_400_V: [(f64, f64); 2] = [(360.0, 440.0), (621.0, 725.0)];

/// Line-to-line voltages that are proposed. (V)
const USUAL: [f64; 9] = [
    173.0, 190.0, 208.0, 220.0, 380.0, 400.0, 415.0, 480.0, 600.0,
];

pub(super) fn doubt(site: &Site) -> Option<Message> {
    let volts = site.supply.line_voltage_v;
    let to_neutral = site.supply.phase_voltage_v();
    let within = |ranges: &[(f64, f64)], value: f64| {
        ranges
            .iter()
            .any(|(low, high)| (*low..=*high).contains(&value))
    };
    let zone = site.timezone.name();
    let of_400_v = ["Europe/", "Australia/"]
        .iter()
        .any(|area| zone.starts_with(area));
    let is_usual = within(&TO_NEUTRAL, to_neutral) && (!of_400_v || within(&OF_400_V, volts));
    if is_usual {
        return None;
    }
    let reason = if within(&TO_NEUTRAL, to_neutral) {
        format!("the supply in {zone} is 400 V between lines, 230 V to neutral")
    } else {
        "three-phase supplies with neutral have 100 to 127, 220 to 277, 347 or 400 V to neutral"
            .to_owned()
    };
    // Taken for the voltage to neutral, as it is on sockets.
    let meant = volts * 3.0_f64.sqrt();
    let near = USUAL
        .into_iter()
        .min_by(|a, b| (a - meant).abs().total_cmp(&(b - meant).abs()))
        .filter(|usual| (usual - meant).abs() < 0.03 * meant);
    let text = format!(
        "`line_voltage_v` = {volts} makes {to_neutral:.0} V to neutral, which is not usual"
    );
    let help = near.map(|usual| {
        format!("write the voltage between two phases: `line_voltage_v = {usual}`, where {volts} V is the voltage to neutral")
    });
    Some(
        Message::warning("unusual-voltage", text)
            .note(reason)
            .maybe_help(help),
    )
}
