//! Conventional currents of protective devices.

use site::{DeviceKind, ProtectiveDevice};

/// Conventional currents as multiples of the rated current, and the conventional time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeviceCurrents {
    /// Carried for the conventional time without operating. (× I_n)
    pub non_operating: f64,
    /// Makes the device operate within the conventional time. (× I_n)
    pub operating: f64,
    /// Conventional time. (s)
    pub time_s: f64,
}

/// Conventional currents of a device.
///
/// # Source
///
/// gG fuses: IEC 60269-1, Table 2, for 16 A and more, IEC 60269-2 and -3 below (from memory). Circuit-breakers B, C, D:
/// IEC 60898-1, Table 7.
///
/// # Examples
///
/// ```
/// use diagnosis::overload::conventional_currents;
/// let currents = conventional_currents("C 32".parse()?);
/// assert_eq!((currents.non_operating, currents.operating), (1.13, 1.45));
/// # Ok::<(), site::NotADevice>(())
/// ```
pub fn conventional_currents(device: ProtectiveDevice) -> DeviceCurrents {
    let amps = device.rated_a;
    let (non_operating, operating, hours) = match device.kind {
        DeviceKind::Gg if amps <= 4.0 => (1.5, 2.1, 1.0),
        DeviceKind::Gg if amps < 16.0 => (1.5, 1.9, 1.0),
        DeviceKind::Gg if amps <= 63.0 => (1.25, 1.6, 1.0),
        DeviceKind::Gg if amps <= 160.0 => (1.25, 1.6, 2.0),
        DeviceKind::Gg if amps <= 400.0 => (1.25, 1.6, 3.0),
        DeviceKind::Gg => (1.25, 1.6, 4.0),
        // A fusing factor of 2 (BS 7671, 433.1.202); no conventional time is published.
        DeviceKind::SemiEnclosed => (1.0, 2.0, 1.0),
        DeviceKind::B | DeviceKind::C | DeviceKind::D => {
            (1.13, 1.45, if amps <= 63.0 { 1.0 } else { 2.0 })
        }
    };
    DeviceCurrents {
        non_operating,
        operating,
        time_s: hours * 3600.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn device(kind: DeviceKind, rated_a: f64) -> DeviceCurrents {
        conventional_currents(ProtectiveDevice { kind, rated_a })
    }

    /// IEC 60269-1 Table 2 (from memory below 16 A and above 63 A) and IEC 60898-1 Table 7.
    #[test]
    fn currents_and_times_of_the_tables() {
        for (kind, amps, non_operating, operating, hours) in [
            (DeviceKind::Gg, 4.0, 1.5, 2.1, 1.0),
            (DeviceKind::Gg, 10.0, 1.5, 1.9, 1.0),
            (DeviceKind::Gg, 16.0, 1.25, 1.6, 1.0),
            (DeviceKind::Gg, 63.0, 1.25, 1.6, 1.0),
            (DeviceKind::Gg, 100.0, 1.25, 1.6, 2.0),
            (DeviceKind::Gg, 200.0, 1.25, 1.6, 3.0),
            (DeviceKind::Gg, 500.0, 1.25, 1.6, 4.0),
            (DeviceKind::B, 32.0, 1.13, 1.45, 1.0),
            (DeviceKind::D, 80.0, 1.13, 1.45, 2.0),
        ] {
            let found = device(kind, amps);
            assert_eq!(
                (found.non_operating, found.operating, found.time_s),
                (non_operating, operating, hours * 3600.0),
                "{kind:?} {amps}"
            );
        }
    }
}
