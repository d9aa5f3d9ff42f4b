//! Electrical formulas: pure functions of quantities. Knows no other room but `units`.
//!
//! In: currents, voltages, powers and energies, as numbers with a unit or as rms phasors. Out: the
//! same. Every function states its symbols, formula and source, and refuses what is not a number.
//!
//! # Signs
//!
//! - Four-wire star, sequence L1–L2–L3. The *common frame* has the voltage of L1 at 0°, L2 at −120°,
//!   L3 at +120°. A current's *own frame* has the voltage across its load at 0°.
//! - A lagging current has a negative angle in its own frame. Active power is positive when drawn, reactive
//!   power positive when the current lags: S = P + j·Q = U·I*.
//! - Phase currents are positive towards the load, the neutral current positive back towards the source.
//! - Phasors are rms values, [`Complex64`](num_complex::Complex64), in the unit that the function names.
//!
//! # Symbols
//!
//! | symbol | quantity | unit |
//! |---|---|---|
//! | `U`, `U_0` | line voltage, phase voltage | V |
//! | `I`, `I_N` | current, neutral current | A |
//! | `P`, `Q`, `S` | active, reactive, apparent power | W, var, VA |
//! | `λ`, `φ` | power factor, its angle (positive when lagging) | 1, rad |
//! | `W`, `W_q` | active, reactive energy | kWh, kvarh |
//! | `h` | third harmonic as a share of the fundamental | 1 |
//! | `Z` | impedance | Ω |
//! | `I_B`, `I_n`, `I_z` | design current, rated current of the device, capacity of the cable | A |
//! | `I_2` | current that makes a device operate within its conventional time | A |
//! | `u` | voltage drop | V |
//! | `X_(0)`, `X_(1)`, `X_(2)` | zero, positive, negative sequence | A or V |
//! | `u_2` | negative-sequence voltage unbalance | % |

mod apparent_power;
mod cable_capacity;
mod conductor;
mod correction;
mod delta;
mod demand_factors;
mod diversity;
mod energy;
mod finite;
mod harmonics;
mod limit;
mod load_current;
mod motor;
mod neutral;
mod pair_power;
mod phase;
mod phase_currents;
mod power;
mod power_factor;
mod protection;
mod supply_voltage;
mod symmetrical;
mod unbalance;
mod voltage_drop;
mod wattmeters;

pub use apparent_power::{
    ApparentPowerError, arithmetic_apparent_power, effective_apparent_power, vector_apparent_power,
};
pub use cable_capacity::{
    CableCapacityError, DecidedBy, HarmonicSizing, capacity_with_third_harmonic,
};
pub use conductor::{
    Build, ConductorError, Material, conductor_resistance, factor_to_20_degrees, resistance_at,
    temperature_from_resistance,
};
pub use correction::{CAPACITOR_CAUTION, capacitance_uf, correction_power};
pub use delta::{DeltaError, delta_currents, line_currents_of_delta};
pub use demand_factors::{
    coincidence_factor, demand_factor, diversity_factor, load_factor, loss_factor,
};
pub use diversity::{LoadGroup, assumed_loading, demand_with_diversity};
pub use energy::{EnergyError, block_apparent_power, energy_index, mean_power_factor};
pub use finite::NotFinite;
pub use harmonics::{
    DistortedPower, Harmonic, HarmonicsError, rms_of_harmonics, total_harmonic_distortion,
};
pub use limit::is_above_limit;
pub use load_current::{
    LoadCurrentError, current_from_power, current_from_power_factor, in_common_frame,
};
pub use motor::{
    EfficiencyClass, MotorError, NotAClass, class_efficiency, ie3_efficiency, motor_current,
    typical_motor_current,
};
pub use neutral::{
    NeutralCurrentError, balanced_third_harmonic_ratio, neutral_current,
    neutral_with_third_harmonic, split_third_harmonic,
};
pub use pair_power::share_of_pair;
pub use phase::{NotAPhase, Phase, PhasePair};
pub use phase_currents::{
    phase_currents_between, phase_currents_three_phase, phase_currents_to_neutral,
};
pub use power::{
    PowerError, apparent_power, apparent_power_at, complex_power, power_of_apparent,
    reactive_power_at,
};
pub use power_factor::{PowerFactor, PowerFactorError};
pub use protection::{
    BreakerType, ConventionalCurrents, OverloadDevice, ProtectionError, SELECTIVITY_RATIO_GG,
    conventional_currents, instantaneous_range, least_protected_capacity, neighbouring_ratings,
    next_rating,
};
pub use supply_voltage::{SupplyVoltageError, phase_voltage, phase_voltage_phasors};
pub use symmetrical::{SymmetricalComponents, SymmetricalError};
pub use unbalance::{
    UnbalanceError, current_unbalance, negative_sequence_ratio, voltage_unbalance,
};
pub use voltage_drop::{
    Path, REACTANCE_PER_METRE, Run, VoltageDropError, run_impedance, service_resistivity,
    usual_drop_limit_pct, voltage_drop,
};
pub use wattmeters::{WattmeterError, power_of_two_wattmeters, two_wattmeter_readings};
