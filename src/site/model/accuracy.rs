//! How far what is declared and read by hand can be off.

use super::declared_numbers::declared_numbers;

declared_numbers! {
    /// By how much ratings, utilisation factors and clamp meters can be off: 95 % are within it.
    Accuracy;
    /// Rating of a machine, as a share of itself. Common practice.
    rating_pct = 20.0, 1.0, 100.0, "%";
    /// Utilisation factor, as a share of itself; it is never taken above 1. Common practice.
    utilisation_pct = 30.0, 1.0, 100.0, "%";
    /// Clamp meter: share of the reading. Common practice for instruments of class 2.
    clamp_pct = 2.0, 0.1, 20.0, "%";
    /// Clamp meter: what is added to that share. Common practice.
    clamp_a = 0.3, 0.01, 10.0, "A";
}
