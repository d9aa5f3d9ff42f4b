//! Which phase each load of a workshop is tapped off, what its meters say, and where the kWh go.
//!
//! A workshop's installation is three-phase, four-wire: a supply, boards, circuits, machines each
//! behind its own protective device, and meters. tapoff joins what is *declared* about it (the
//! machine list) with what is *measured* in it (the meter logs).
//!
//! ```text
//! site folder ──► site      (declared: supply, boards, circuits, machines, meters, tariffs)
//! meter logs  ──► metering  (measured: a clean interval table for each meter)
//!                    │           └─ analysis: phasors, neutral and net power of each meter, lent to all below
//!                    ├──► demand    kWh, maximum demand, load factor, unbalance
//!                    │       ├──► tariff    the bill, and a supplier's invoice beside it
//!                    │       └──► baseline  what the energy should have been
//!                    ├──► balance   which phase each load goes on, and the proof
//!                    ├──► placement where a new machine can go
//!                    └──► diagnosis what is wrong, with the evidence
//!                            └──► since  what has changed since the last report
//! results, plain structs ──► export (text, JSON, CSV, workbooks), chart (SVG), report (one page)
//! ```
//!
//! # Rooms
//!
//! Each room's page says what comes in and what goes out. Data flows one way, as drawn above.
//!
//! | room | what is done there |
//! |---|---|
//! | [`site`] | reads and validates what is declared: `site.toml`, `machines.csv` |
//! | [`metering`] | reads logs of whatever form into interval tables, and says what was odd in them |
//! | [`analysis`] | what each meter saw, interval by interval: phasors, phase currents, neutral, net power |
//! | [`demand`] | works energy and demand out of the tables, and breaks them down |
//! | [`tariff`] | prices and the bill, in decimals |
//! | [`baseline`] | energy by what drives it, and the days that stand out |
//! | [`balance`] | poses, solves and proves which phase each load goes on |
//! | [`placement`] | checks every circuit and phase for a new machine |
//! | [`diagnosis`] | looks for faults, each told as a [`finding`] |
//! | [`since`] | compares with the last report |
//! | [`export`], [`chart`], [`report`] | write the results for people and programs |
//! | [`cli`], [`app`] | the commands; they alone know all the others, and only they print |
//! | [`electrical`], [`statistics`], [`units`] | formulas and quantities, which know no room but these |
//! | [`message`] | what is wrong with the input, where, and what to do |
//!
//! # Example
//!
//! ```
//! use std::fs;
//! use tapoff::balance::{Settings, balance};
//! use tapoff::message::Messages;
//! use tapoff::metering::{Period, read_logs};
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
//! // Three equal loads on three phases leave nothing in the neutral.
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
//! | `I_L1`, `I_L2`, `I_L3` | phase currents, rms phasors | A | angle from the own phase voltage, lagging negative |
//! | `I_N` | neutral current | A | from the star point towards the source |
//! | `h3` | third harmonic as a share of the fundamental current | 1 | |
//! | `P` | active power | kW | drawn is positive |
//! | `Q` | reactive power | kvar | lagging is positive |
//! | `S` | apparent power | kVA | |
//! | `λ` | power factor P/S; the displacement factor is cos φ | 1 | |
//!
//! # What it does not do
//!
//! Systems other than three-phase four-wire star are refused. Fault levels, disconnection times,
//! earthing and residual-current devices are not judged. A plan is for a competent person to check
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
pub use export;
pub use finding;
pub use message;
pub use metering;
pub use placement;
pub use reference;
pub use report;
pub use since;
pub use site;
pub use statistics;
pub use tables;
pub use tariff;
pub use units;
