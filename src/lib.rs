//! Which phase each load of a workshop should be on, what its meters show, and where the kWh go.
//!
//! A workshop's installation is three-phase, four-wire: a supply, boards, circuits, machines each
//! behind its own protective device, and meters. tapoff combines what is *declared* about it (the
//! machine list) with what is *measured* in it (the meter logs).
//!
//! ```text
//! site folder ──► site      (declared: supply, boards, circuits, machines, meters, tariffs)
//! meter logs  ──► metering  (measured: a clean interval table for each meter)
//!                 wiring    (each meter checked: what is certain corrected, what is not trusted left out)
//!                    │           └─ analysis: phasors, neutral and net power of each meter, read by all below
//!                    ├──► demand    kWh, maximum demand, load factor, unbalance
//!                    │       ├──► tariff    the bill, and a check of the supplier's invoice
//!                    │       └──► baseline  the expected energy, and unusual days
//!                    ├──► balance   which phase each load goes on, and the proof
//!                    ├──► placement where a new machine can be connected
//!                    └──► diagnosis faults, with the evidence
//!                            └──► since  changes since the last report
//! results, plain structs ──► export (text, JSON, CSV, workbooks), chart (SVG), report (one page)
//! ```
//!
//! # Rooms
//!
//! Each room's page says what comes in and what goes out. Data flows one way, as drawn above.
//!
//! | room | task |
//! |---|---|
//! | [`site`] | reads and validates what is declared: `site.toml`, `machines.csv` |
//! | [`metering`] | reads logs of many formats into interval tables, and reports problems found in the data |
//! | [`wiring`] | checks each meter and its wiring over time, before any calculation |
//! | [`analysis`] | analyses each meter once, interval by interval: phasors, phase currents, neutral, net power |
//! | [`demand`] | calculates energy and demand from the tables, and breaks them down |
//! | [`tariff`] | prices and the bill, in decimals |
//! | [`baseline`] | models energy by type of day and variables, and finds unusual days |
//! | [`balance`] | allocates loads to phases, with a proof |
//! | [`placement`] | checks every circuit, board and phase for a new machine |
//! | [`diagnosis`] | finds faults, each reported as a [`finding`] |
//! | [`since`] | compares with the last report |
//! | [`export`], [`chart`], [`report`] | write the results for people and programs |
//! | [`cli`], [`app`] | the commands; only they use all other rooms, and only they print |
//! | [`electrical`], [`statistics`], [`units`] | formulas and quantities; they use no other room |
//! | [`message`] | what is wrong with the input, where, and what to write instead |
//!
//! # Example
//!
//! ```
//! use std::fs;
//! use tapoff::balance::{Settings, balance};
//! use tapoff::message::Messages;
//! use tapoff::metering::{Period};
//! use tapoff::wiring::read_logs;
//! use tapoff::site::read_site;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let folder = tempfile::tempdir()?;
//! # let folder = folder.path();
//! fs::write(folder.join("site.toml"), "
//!     [site]
//!     name = 'Net loft'
//!     [supply]
//!     line_voltage_v = 400
//!     phase_limit_a = 63
//! ")?;
//! fs::write(folder.join("machines.csv"), "\
//! machine,circuit,connection,power_kw
//! heater,supply,L1,2
//! kettle,supply,L1,2
//! bench grinder,supply,L1,2
//! ")?;
//! let (site, _warnings) = read_site(folder)?;
//! let logs = read_logs(&site, Period::default(), &mut Messages::new());
//! let plan = balance(&site, &logs, &Settings::default())?;
//! // Three equal loads on three phases: no neutral current.
//! assert_eq!(plan.moves.len(), 2);
//! assert!(plan.after.neutral_rms_a < 1e-9);
//! # Ok(())
//! # }
//! ```
//!
//! # Symbols
//!
//! One name per quantity, in code, files, JSON and reports.
//!
//! | symbol | name | unit | sign |
//! |---|---|---|---|
//! | `U0` | voltage between phase and neutral | V | |
//! | `U_L1`, `U_L2`, `U_L3` | phase voltages, 0°, −120°, +120° | V | |
//! | `I_L1`, `I_L2`, `I_L3` | phase currents, rms phasors | A | angle from its own phase voltage, lagging negative |
//! | `I_N` | neutral current | A | from the star point towards the source |
//! | `h3` | third harmonic as a share of the fundamental current | 1 | |
//! | `P` | active power | kW | import is positive, export negative |
//! | `Q` | reactive power | kvar | lagging is positive |
//! | `S` | apparent power | kVA | |
//! | `λ` | power factor P/S; the displacement factor is cos φ | 1 | |
//!
//! # Glossary
//!
//! The terms of the trade as the code uses them; in reports and messages they mean the same.
//!
//! | term | meaning | symbol, unit |
//! |---|---|---|
//! | phase, line conductor | one of the three live conductors L1, L2, L3 (IEC 60445); the phase sequence is L1–L2–L3 | |
//! | neutral | the conductor that returns the unbalanced current of the three phases | N |
//! | phase voltage | voltage between line and neutral; nominal value `U0` | V |
//! | line-to-line voltage | voltage between two phases, √3 times `U0` when balanced | V |
//! | supply | the point where the installation is fed, with its limit per phase and for the neutral | |
//! | board | a distribution board, fed from the supply or another board | |
//! | circuit | a final circuit of a board, with its cable and protective device | |
//! | feeder | the cable that feeds a board | m, mm² |
//! | way | space on a board for one single-pole device, on one phase | |
//! | machine | a row of the machine list: one machine, or several identical ones kept together | |
//! | load | in a plan: the machines that move together, a machine or a whole circuit | |
//! | connection | the conductors that a load is connected to: one phase to neutral, two phases, or three phases | |
//! | phase allocation | the phase that each single-phase load is connected to | |
//! | move | a change of a load's phase; a three-phase load is only moved cyclically, which keeps its rotation | |
//! | turn | number of cyclic steps L1 → L2 → L3 by which a connection is rotated from its first position | 0, 1, 2 |
//! | phasor | a sinusoidal current or voltage as a complex number of its rms value and angle | A, V |
//! | common frame | phasors measured from the voltage of L1, so that those of all phases can be added | |
//! | root mean square (rms) | square root of the mean of the squares over time | A, V |
//! | neutral current | from the phasor sum of the phase currents, with third harmonics added | `I_N`, A |
//! | third harmonic | current at three times the supply frequency; it adds up in the neutral | `h3`, % of the fundamental |
//! | displacement power factor | cosine of the angle between the fundamentals of voltage and current | cos φ |
//! | power factor | active power divided by apparent power | `λ` |
//! | lagging, leading | reactive power of an inductive load, of a capacitive load | kvar |
//! | import, export | active energy taken from the supply, given to the supply | kWh |
//! | net power | import less export | kW |
//! | current unbalance | largest deviation of a phase from the mean of the three phases, as a share of that mean | % |
//! | voltage unbalance | negative-sequence voltage as a share of positive-sequence voltage | % |
//! | interval | the time between two readings after the log has been put on a fixed grid | s |
//! | coverage | share of a period with readings | % |
//! | register | a meter's running total of energy | kWh, kvarh |
//! | demand period | the fixed time over which demand is averaged, aligned to the local clock | 15, 30 or 60 min |
//! | maximum demand | highest mean power of a complete demand period | kW, kVA |
//! | load factor | mean power divided by maximum demand | |
//! | demand factor | maximum demand divided by connected load | |
//! | diversity factor | sum of the individual maximum demands divided by the maximum demand of the group | |
//! | coincidence factor | reciprocal of the diversity factor | |
//! | utilisation factor | mean power divided by rated power while the schedule runs | |
//! | load duration curve | the demand that is reached or exceeded for each share of the time | kW against % |
//! | base load | power that is hardly ever undercut: the 10th percentile of the quarter-hours | kW |
//! | out of hours | time in which no working-hours schedule runs | |
//! | sub-meter, main meter | a meter of part of an installation, the meter upstream of it | |
//! | unmetered | what the main meter shows less all its sub-meters | kWh, kW |
//! | basis | where a figure comes from: measured, derived, estimated, rating only | |
//! | standing charge | the tariff's fixed charge per day | currency per day |
//! | baseline | model of the energy per day, week or month by type of day and variables, fitted over a past period | kWh |
//! | variable | a quantity that energy depends on, such as degree days or output (relevant variable of ISO 50006) | |
//! | CUSUM | cumulative sum of the differences between measured and expected energy | kWh |
//! | unusual day | a day whose energy is far from the median of its type of day | kWh |
//! | design current | current of a load in normal service | `I_B`, A |
//! | rated current | current for which a protective device is rated | `I_n`, A |
//! | current-carrying capacity | highest continuous current of a cable, after derating | `I_z`, A |
//! | fusing current, tripping current | current at which a gG fuse, a circuit-breaker, must operate within the conventional time | `I_2`, A |
//! | instantaneous tripping | range of current in which a circuit-breaker trips without delay, by its type B, C or D | A |
//! | selectivity | of two devices in series, only the one nearer to the fault operates | |
//! | derating | factor on the capacity of a cable for temperature and grouping | |
//! | finding | something in the logs that the reader should act on, with its evidence | |
//! | accepted finding | a finding that the user has examined and declared as accepted | |
//! | lower bound, gap | proven limit below which no plan can come; the plan's distance from it | A, % |
//!
//! # What it does not do
//!
//! Systems other than three-phase four-wire star are refused. Fault levels, disconnection times,
//! earthing and residual-current devices are not checked. A plan is for a competent person to check
//! and carry out: local wiring rules and the manufacturer's data decide.

pub mod app;
pub mod cli;

pub use analysis;
pub use balance;
pub use baseline;
pub use calendar;
pub use chart;
pub use declaration;
pub use demand;
pub use diagnosis;
pub use electrical;
pub use estate;
pub use export;
pub use finding;
pub use formats;
pub use message;
pub use metering;
pub use phases;
pub use placement;
pub use reference;
pub use report;
pub use since;
pub use site;
pub use statistics;
pub use tables;
pub use tariff;
pub use units;
pub use wiring;
