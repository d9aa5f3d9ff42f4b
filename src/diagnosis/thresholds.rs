//! Every limit that decides whether something is a finding, each with its source.
//!
//! "Common practice" marks a figure that the trade uses without a standard behind it; "from memory" one
//! whose document was not at hand. Local rules come first.

/// Joint: chance of a finding in a healthy log, all phases and both tests together. (1)
pub const JOINT_FALSE_ALARM: f64 = 0.01;
/// Joint: less than this is no more than the lines themselves may differ. Common practice. (Ω)
pub const JOINT_SMALLEST_OHM: f64 = 0.001;
/// Joint: an interval wider than this to either side says too little. Common practice. (Ω)
pub const JOINT_WIDEST_OHM: f64 = 0.010;
/// Joint: heat in one place at the peak current from which it is a warning, and a danger. A few tens of
/// watts take a terminal beyond the 70 K that IEC 61439-1, Table 6 allows. Common practice. (W)
pub const JOINT_WARNING_W: f64 = 5.0;
/// See [`JOINT_WARNING_W`]. (W)
pub const JOINT_DANGER_W: f64 = 25.0;
/// Joint: at most so much of the log's end is used, over which growth may be taken as even. Common
/// practice. (s)
pub const JOINT_LONGEST_S: i64 = 8 * 7 * 86_400;

/// Overload: total time above the limit from which it is a warning rather than a notice. Common
/// practice. (min)
pub const OVERLOAD_WARNING_MIN: f64 = 10.0;
/// Overload: length of the block whose mean is told. Common practice. (s)
pub const OVERLOAD_BLOCK_S: i64 = 1800;

/// Neutral: displacement voltage that no sound supply shows in use. Common practice. (V)
pub const DISPLACEMENT_WARNING_V: f64 = 10.0;
/// Neutral: displacement voltage at which phase voltages leave ±10 % of 230 V when the rest is at
/// its nominal value: 10 % of 230 V. EN 50160:2010, 4.2 (from memory). (V)
pub const DISPLACEMENT_DANGER_V: f64 = 23.0;
/// Neutral: resistance of its path beyond that of an ordinary low-voltage supply (0.35 Ω is the largest
/// external loop impedance that distributors in the United Kingdom state for TN-C-S). From memory. (Ω)
pub const NEUTRAL_PATH_OHM: f64 = 0.35;

/// Voltage range: 95 % of the ten-minute means of a week within ± this. EN 50160:2010, 4.2 (from
/// memory). (%)
pub const VOLTAGE_RANGE_PCT: f64 = 10.0;
/// Voltage range: every ten-minute mean above this below nominal. EN 50160:2010, 4.2 (from memory). (%)
pub const VOLTAGE_LOWEST_PCT: f64 = 15.0;
/// Share of a week's ten-minute means that must be within the range. EN 50160:2010, 4.2. (1)
pub const SHARE_OF_WEEK: f64 = 0.95;
/// Negative sequence, 95 % of the ten-minute means of a week. EN 50160:2010, 4.2 (from memory). (%)
pub const UNBALANCE_LIMIT_PCT: f64 = 2.0;
/// Unbalance by the NEMA definition from which motors are derated. NEMA MG 1, 14.36. (%)
pub const MOTOR_UNBALANCE_PCT: f64 = 1.0;
/// Unbalance at which motors should not run. NEMA MG 1, 14.36. (%)
pub const MOTOR_STOP_PCT: f64 = 5.0;
/// Derating of motors against unbalance: readings of the curve, ± 0.01. NEMA MG 1, Fig. 14-1. (%, 1)
pub const MOTOR_DERATING: [(f64, f64); 10] = [
    (0.0, 1.00),
    (0.5, 1.00),
    (1.5, 0.97),
    (2.0, 0.95),
    (2.5, 0.93),
    (3.0, 0.89),
    (3.5, 0.85),
    (4.0, 0.82),
    (4.5, 0.78),
    (5.0, 0.76),
];
/// Change of voltage from one reading to the next that counts as a step. EN 50160:2010, 4.2: rapid changes
/// generally do not exceed 5 % (from memory). (%)
pub const STEP_PCT: f64 = 5.0;
/// Steps per day, on average, from which they are told. Common practice. (1/d)
pub const STEPS_PER_DAY: f64 = 1.0;
/// A phase below this share of nominal is lost, if another is above [`LIVE_SHARE`]. Common practice. (1)
pub const LOST_SHARE: f64 = 0.70;
/// A phase above this share of nominal is live. Common practice. (1)
pub const LIVE_SHARE: f64 = 0.85;

/// Third harmonic up to which phase conductors need no reduction. IEC 60364-5-52, Table E.52.1. (1)
pub const THIRD_HARMONIC_SMALL: f64 = 0.15;
/// Third harmonic above which the neutral decides the cable. IEC 60364-5-52, Table E.52.1. (1)
pub const THIRD_HARMONIC_NEUTRAL: f64 = 0.33;
/// Third harmonic above which the neutral alone is looked at. IEC 60364-5-52, Table E.52.1. (1)
pub const THIRD_HARMONIC_LARGE: f64 = 0.45;

/// Unbalanced load: one phase's share of the energy from which it is told (a third is even). Common
/// practice. (1)
pub const LARGEST_SHARE: f64 = 0.45;
/// Unbalanced load: neutral rms over the mean phase rms from which it is told. Common practice. (1)
pub const NEUTRAL_SHARE: f64 = 0.5;
/// Unexplained load: share of the energy beyond meters and estimates from which it is told. Common
/// practice. (1)
pub const UNEXPLAINED_SHARE: f64 = 0.10;
/// Reversed transformer: share of the intervals with load in which power is returned. Common practice. (1)
pub const REVERSED_SHARE: f64 = 0.95;
