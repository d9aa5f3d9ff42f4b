//! What the billed meter saw, ready to be priced.

/// A quarter-hour with readings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct UsageQuarter {
    /// Start, Unix seconds.
    pub start_s: i64,
    /// Time with readings. (s)
    pub covered_s: f64,
    /// Energy drawn; export counts as nothing. (kWh)
    pub kwh: f64,
    /// The part of it that the source marks as estimated or substituted. (kWh)
    pub estimated_kwh: f64,
    /// Energy exported. (kWh)
    pub export_kwh: f64,
    /// Lagging reactive energy, where it is logged. (kvarh)
    pub lagging_kvarh: Option<f64>,
    /// Leading reactive energy, where it is logged. (kvarh)
    pub leading_kvarh: Option<f64>,
}

/// A complete demand period.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct UsageBlock {
    /// Start, Unix seconds.
    pub start_s: i64,
    /// Mean power. (kW)
    pub kw: f64,
    /// Mean apparent power. (kVA)
    pub kva: Option<f64>,
    /// Mean reactive power, lagging positive. (kvar)
    pub kvar: Option<f64>,
}

/// A complete demand period of one of several meters that are billed together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MeterBlock {
    /// Which meter, from 0.
    pub meter: usize,
    /// How many there are.
    pub meters: usize,
    /// Its demand.
    pub block: UsageBlock,
}

/// What a meter saw over the time of its log.
#[derive(Clone, Debug, PartialEq)]
pub struct Usage {
    /// The meter's id.
    pub meter: String,
    /// Start of the first interval, Unix seconds.
    pub from_s: i64,
    /// End of the last interval, Unix seconds.
    pub to_s: i64,
    /// Length of a demand period. (min)
    pub window_min: u32,
    /// Quarter-hours with readings, ascending.
    pub quarters: Vec<UsageQuarter>,
    /// Complete demand periods, ascending.
    pub blocks: Vec<UsageBlock>,
    /// Those of each meter where several are billed together, ascending; empty for one.
    pub meter_blocks: Vec<MeterBlock>,
    /// Energy returned in quarter-hours that gave more than they drew. (kWh)
    pub returned_kwh: f64,
    /// Counted by the register beyond what the quarter-hours hold, at times that are not known. (kWh)
    pub undated_kwh: f64,
}

impl Usage {
    /// Nothing used from one moment to another, in blocks of half an hour.
    #[must_use]
    pub fn of(meter: &str, from_s: i64, to_s: i64) -> Usage {
        Usage {
            meter: meter.to_owned(),
            from_s,
            to_s,
            window_min: 30,
            quarters: Vec::new(),
            blocks: Vec::new(),
            meter_blocks: Vec::new(),
            returned_kwh: 0.0,
            undated_kwh: 0.0,
        }
    }
}
