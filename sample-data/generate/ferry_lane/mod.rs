//! The invented workshop, simulated: what its machines draw, what that does to the supply, and what
//! the meters write down.
//!
//! In: a seed, a number of days, with or without faults. Out: a site folder and the [`Truth`] behind
//! it, which no meter could know.
//!
//! Only the four operations and square roots are used, no sine and no logarithm, so that every
//! computer writes the same digits. The formulas are written down here once more, apart from the
//! library, so that the two can be held against each other.

mod behaviour;
mod calendar;
mod chance;
mod channel;
mod faults;
mod load;
mod log;
mod main_log;
mod network;
mod source;
mod tally;
mod truth;
mod variables;
mod weather;
mod workshop;

use std::fs;
use std::io;
use std::path::Path;

pub use truth::Truth;

use behaviour::Surroundings;
use calendar::Calendar;
use channel::SubMeters;
use faults::Faults;
use main_log::MainLog;
use network::Network;
use source::Source;
use tally::Tally;
use variables::Variables;
use weather::Weather;

/// What to write.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Without the joint, the reversed transformer, the gap, the repeated rows and the rollover.
    pub healthy: bool,
    /// Another seed gives another four weeks of the same workshop.
    pub seed: u64,
    /// Days from 9 March 2026.
    pub days: u32,
    /// A load that is left out; all others behave as they would have with it.
    pub without: Option<&'static str>,
}

impl Default for Options {
    fn default() -> Self {
        Options {
            healthy: false,
            seed: 2026,
            days: 28,
            without: None,
        }
    }
}

/// Writes the site into `out` and returns what is true of it.
///
/// The folder gets `site.toml`, `machines.csv`, `variables.csv`, `truth.json` and `meters/`.
///
/// # Errors
///
/// Where it cannot be written.
pub fn generate(out: &Path, options: &Options) -> io::Result<Truth> {
    let meters = out.join("meters");
    fs::create_dir_all(&meters)?;
    fs::write(
        out.join("site.toml"),
        include_str!("../../ferry-lane/site.toml"),
    )?;
    fs::write(
        out.join("machines.csv"),
        include_str!("../../ferry-lane/machines.csv"),
    )?;

    let calendar = Calendar::new(options.days);
    let faults = Faults::new(options.healthy);
    let mut weather = Weather::new(options.seed);
    let mut source = Source::new(options.seed);
    let mut loads = workshop::loads(options.seed);
    let mut network = Network::new();
    let mut main_log = MainLog::new(&meters);
    let mut sub_meters = SubMeters::create(&meters, &loads, &faults)?;
    let mut tally = Tally::new(&loads);
    let mut variables = Variables::default();
    let mut surroundings = Surroundings::default();

    for moment in calendar.steps() {
        surroundings.outdoor_c = weather.step(&moment);
        let mut cutting = 0;
        for load in &mut loads {
            load.step(&moment, &surroundings);
            if options.without == Some(load.name) {
                load.share = 0.0;
            }
            cutting += usize::from(load.makes_chips && load.is_running());
        }
        variables.add(&moment, surroundings.outdoor_c, cutting);
        // The extraction starts with the machine it serves, one step late.
        surroundings.chips = cutting > 0;
        let emf = source.step(&moment);
        network.solve(emf, faults.joint_ohm(&moment), &mut loads);
        tally.add(&moment, surroundings.outdoor_c, &network, &loads, &faults);
        main_log.add(&moment, &network.supply, &faults)?;
        sub_meters.add(&moment, &network, &loads)?;
    }
    main_log.finish()?;
    sub_meters.finish()?;
    fs::write(out.join("variables.csv"), variables.text())?;

    let truth = tally.into_truth(&faults, &sub_meters, &calendar);
    let json = serde_json::to_string_pretty(&truth).map_err(io::Error::other)?;
    fs::write(out.join("truth.json"), json + "\n")?;
    Ok(truth)
}
