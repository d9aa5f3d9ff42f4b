//! One quarter-hour of a meter.

/// Length of a quarter-hour. (s)
pub(crate) const QUARTER_S: i64 = 900;

/// One quarter-hour with readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quarter {
    /// Start, Unix seconds.
    pub start_s: i64,
    /// Time with known net active power. (s)
    pub covered_s: f64,
    /// Net active energy of that time. (kWh)
    pub energy_kwh: f64,
    /// Time with known import, be the export known or not. (s)
    pub import_covered_s: f64,
    /// Energy imported in that time, whatever was exported in it. (kWh)
    pub import_kwh: f64,
    /// The part of it that the source marks as estimated or substituted. (kWh)
    pub estimated_kwh: f64,
    /// Energy exported while both are known. (kWh)
    pub export_kwh: f64,
    /// Time with known reactive power. (s)
    pub reactive_covered_s: f64,
    /// Net reactive energy of that time. (kvarh)
    pub reactive_kvarh: f64,
}

impl Quarter {
    /// What an interval says of a part of it; unknown power is no energy and no time.
    pub(super) fn of_piece(
        start_s: i64,
        seconds: f64,
        kw: Option<f64>,
        import_kw: Option<f64>,
        kvar: Option<f64>,
    ) -> Quarter {
        let covered = |power: Option<f64>| power.map_or(0.0, |_| seconds);
        let amount = |power: Option<f64>| power.map_or(0.0, |power| power * seconds / 3600.0);
        let exported = import_kw.zip(kw).map(|(import, net)| import - net);
        Quarter {
            start_s,
            covered_s: covered(kw),
            energy_kwh: amount(kw),
            import_covered_s: covered(import_kw),
            import_kwh: amount(import_kw),
            estimated_kwh: 0.0,
            export_kwh: amount(exported),
            reactive_covered_s: covered(kvar),
            reactive_kvarh: amount(kvar),
        }
    }

    pub(super) fn add(&mut self, piece: &Quarter) {
        self.covered_s += piece.covered_s;
        self.energy_kwh += piece.energy_kwh;
        self.import_covered_s += piece.import_covered_s;
        self.import_kwh += piece.import_kwh;
        self.estimated_kwh += piece.estimated_kwh;
        self.export_kwh += piece.export_kwh;
        self.reactive_covered_s += piece.reactive_covered_s;
        self.reactive_kvarh += piece.reactive_kvarh;
    }
}
