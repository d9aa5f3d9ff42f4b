//! Limits that are part of a method or of a standard's table, each with its source. Those that a site may
//! set are in `site::Thresholds`.
//!
//! "Common practice" marks a figure that the trade uses without a standard behind it; "from memory" one
//! whose document was not at hand. Local rules come first.

/// Joint: chance of a finding in a healthy log, all phases and both tests together. (1)
pub const JOINT_FALSE_ALARM: f64 = 0.01;
/// Joint: less than this is no more than the lines themselves may differ. Common practice. (Ω)
pub const JOINT_SMALLEST_OHM: f64 = 0.001;
/// Joint: an interval wider than this to either side says too little. Common practice. (Ω)
pub const JOINT_WIDEST_OHM: f64 = 0.010;
/// Neutral: chance of a finding of too much resistance in a healthy log, both tests together. (1)
pub const NEUTRAL_FALSE_ALARM: f64 = 0.005;
/// Neutral: less than this is no more than clamps and a length of its own make it differ from the phases. Common
/// practice. (Ω)
pub const NEUTRAL_SMALLEST_OHM: f64 = 0.005;
/// Neutral: an interval wider than this to either side says too little. Common practice. (Ω)
pub const NEUTRAL_WIDEST_OHM: f64 = 0.020;
/// Star point: by how much the side of the triangle of three phase voltages may differ from √3 times the usual phase
/// voltage where the neutral alone has moved. A phase that is lost makes it a seventh smaller or more, one that is fed
/// back with three quarters a tenth. (1)
pub const TRIANGLE_TOLERANCE: f64 = 0.05;
/// Star point: no loss of a phase raises another so far above its usual voltage. Common practice. (1)
pub const RAISED_SHARE: f64 = 1.10;
/// Joint: at most so much of the log's end is used, over which growth may be taken as even. Common
/// practice. (s)
pub const JOINT_LONGEST_S: i64 = 8 * 7 * 86_400;

/// Overload: length of the block whose mean is reported. Common practice. (s)
pub const OVERLOAD_BLOCK_S: i64 = 1800;

/// Share of a week's ten-minute means that must be within the range. EN 50160:2010, 4.2. (1)
pub const SHARE_OF_WEEK: f64 = 0.95;
/// Share of a year's means of the frequency that must be within the range. EN 50160:2010, 4.2.1 (from memory). (1)
pub const SHARE_OF_YEAR: f64 = 0.995;
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
/// A phase below this share of nominal is lost, if another is above [`LIVE_SHARE`]. Common practice. (1)
pub const LOST_SHARE: f64 = 0.70;
/// A phase above this share of nominal is live. Common practice. (1)
pub const LIVE_SHARE: f64 = 0.85;
/// A phase below this share of the others is lost even where all are low: three-phase loads feed back up to three
/// quarters. Common practice. (1)
pub const FED_BACK_SHARE: f64 = 0.78;
/// Above this share of its usual voltage, a phase without voltage is no open lead of the meter. Common practice. (1)
pub const LEAD_SHARE: f64 = 0.30;

/// Third harmonic up to which phase conductors need no reduction. IEC 60364-5-52, Table E.52.1. (1)
pub const THIRD_HARMONIC_SMALL: f64 = 0.15;
/// Third harmonic above which the neutral decides the cable. IEC 60364-5-52, Table E.52.1. (1)
pub const THIRD_HARMONIC_NEUTRAL: f64 = 0.33;
/// Third harmonic above which the neutral alone is looked at. IEC 60364-5-52, Table E.52.1. (1)
pub const THIRD_HARMONIC_LARGE: f64 = 0.45;

/// Reversed transformer: share of the intervals with load in which power is exported. Common practice. (1)
pub const REVERSED_SHARE: f64 = 0.95;
