//! The limits that decide whether something is a finding, each with its source.
//!
//! "Common practice" marks a figure that the trade uses without a standard behind it; "from memory" one
//! whose document was not at hand. Local rules come first.

use super::declared_numbers::declared_numbers;

declared_numbers! {
    /// Limits that decide whether something is a finding.
    Thresholds;
    /// Joint: heat in one place at the peak current from which it is a warning. A few tens of watts take a
    /// terminal beyond the 70 K that IEC 61439-1, Table 6 allows. Common practice.
    joint_warning_w = 5.0, 0.1, 1000.0, "W";
    /// Joint: heat in one place at the peak current from which it is a danger. Common practice.
    joint_danger_w = 25.0, 0.1, 1000.0, "W";
    /// Overload: total time above the limit from which it is a warning. Common practice.
    overload_warning_min = 10.0, 0.0, 10_000.0, "min";
    /// Overload: thermal time constant (IEC 60255-149, first order). Zero takes the one with which the device just
    /// operates at its conventional current in its conventional time. For cables take the manufacturer's figure, often
    /// 10 to 60 min (common practice).
    thermal_time_constant_min = 0.0, 0.0, 1000.0, "min";
    /// Neutral: displacement voltage that no sound supply shows in use. Common practice.
    displacement_warning_v = 10.0, 1.0, 100.0, "V";
    /// Neutral: displacement voltage at which a phase leaves ±10 % of 230 V while the others are nominal.
    /// EN 50160:2010, 4.2 (from memory).
    displacement_danger_v = 23.0, 1.0, 100.0, "V";
    /// Neutral: resistance of its path, by the regression, from which too much resistance is a warning whatever its heat.
    /// 0.35 Ω is the largest external loop impedance that distributors in the United Kingdom state for TN-C-S. From memory.
    neutral_path_ohm = 0.35, 0.01, 10.0, "Ω";
    /// Voltage: 95 % of a week's ten-minute means must be within ± this of nominal. EN 50160:2010, 4.2 (from memory).
    voltage_range_pct = 10.0, 1.0, 30.0, "%";
    /// Voltage: no ten-minute mean may be further below nominal. EN 50160:2010, 4.2 (from memory).
    voltage_lowest_pct = 15.0, 1.0, 50.0, "%";
    /// Frequency: 99.5 % of a year's means must be within ± this of nominal. EN 50160:2010, 4.2.1 (from memory).
    frequency_range_pct = 1.0, 0.1, 10.0, "%";
    /// Frequency: no mean may be further below nominal. EN 50160:2010, 4.2.1 (from memory).
    frequency_lowest_pct = 6.0, 0.1, 10.0, "%";
    /// Frequency: no mean may be further above nominal. EN 50160:2010, 4.2.1 (from memory).
    frequency_highest_pct = 4.0, 0.1, 10.0, "%";
    /// Voltage unbalance: negative sequence of 95 % of a week's ten-minute means. EN 50160:2010, 4.2 (from memory).
    unbalance_limit_pct = 2.0, 0.1, 10.0, "%";
    /// Rapid voltage change: they generally do not exceed 5 %. EN 50160:2010, 4.2 (from memory).
    step_pct = 5.0, 0.5, 30.0, "%";
    /// Rapid voltage change: mean number a day from which they are a finding. Common practice.
    steps_per_day = 1.0, 0.0, 10_000.0, "a day";
    /// Unbalanced load: one phase's share of the energy; a third is even. Common practice.
    largest_share_pct = 45.0, 33.0, 100.0, "%";
    /// Unbalanced load: neutral rms current as a share of the mean phase rms current. Common practice.
    neutral_share_pct = 50.0, 0.0, 300.0, "%";
    /// Meters and machine list disagree: share of the energy that is unexplained, or explained twice. Common practice.
    unexplained_share_pct = 10.0, 0.0, 100.0, "%";
    /// After work: by how much the neutral's rms current may exceed the predicted one. Common practice.
    work_neutral_pct = 25.0, 1.0, 1000.0, "%";
    /// Meter ratio: deviation from which a wrong current-transformer ratio is reported. Common practice.
    meter_ratio_pct = 10.0, 1.0, 100.0, "%";
}
