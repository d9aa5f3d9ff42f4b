//! What is declared and hardly can be: a rating far above its fuse, a voltage that no supply has, a cable that does not
//! fit its device.
//!
//! In: a site that was read without a fault. Out: warnings, each with its reason.

mod cables;
mod ratings;
mod voltage;
mod ways;

use crate::model::site::Site;
use message::{Message, Place};

/// Everything that is implausible, the supply first.
#[must_use]
pub fn doubts(site: &Site) -> Vec<Message> {
    let mut found: Vec<Message> = voltage::doubt(site).into_iter().collect();
    found.extend(cables::doubts(site));
    found.extend(ways::doubts(site));
    found.extend(ratings::doubts(site));
    if site.machines.is_empty() {
        found.push(
            Message::warning("no-machines", "the machine list has no machine")
                .at(Place::file(&site.understood.file), "")
                .help("write one row for each load: its name, circuit, phase and current"),
        );
    }
    found
}
