//! A rating that its fuse or its supply would not carry.

use crate::model::machine::Machine;
use crate::model::node::Node;
use crate::model::site::Site;
use message::{Message, Place};

/// A circuit-breaker trips within the hour at 1.45 times its rated current (IEC 60898-1, table 7), a fuse at 1.6.
const TRIPS: f64 = 1.45;

pub(super) fn doubts(site: &Site) -> Vec<Message> {
    let found = site
        .machines
        .iter()
        .filter_map(|machine| doubt(site, machine));
    found.collect()
}

/// The first of the device, circuit, boards and supply that the rating is too much for.
fn doubt(site: &Site, machine: &Machine) -> Option<Message> {
    let amps = machine.rated_current_a(site.supply.phase_voltage_v());
    let of_one = amps / f64::from(machine.quantity);
    let own = machine
        .protective_device
        .filter(|device| of_one > TRIPS * device.rated_a)
        .map(|device| (of_one, format!("its device {device}"), true));
    let path = std::iter::successors(Some(machine.tapped_off), |&node| site.parent(node));
    let mut nodes = path.filter_map(|node| {
        let limit = site.phase_limit_a(node)?;
        let (name, factor) = match node {
            Node::Circuit(index) => {
                let device = site.circuits[index].protective_device?;
                (
                    format!("circuit `{}` behind {device}", site.circuits[index].id),
                    TRIPS,
                )
            }
            Node::Board(index) => (
                format!("the {limit} A of board `{}`", site.boards[index].id),
                1.0,
            ),
            Node::Supply => (format!("the {limit} A of the supply"), 1.0),
        };
        (amps > factor * limit).then_some((amps, name, factor > 1.0))
    });
    let (amps, what, trips) = own.or_else(|| nodes.next())?;
    let reason = if trips {
        "above 1.45 times its rated current a device operates within the hour"
    } else {
        "the machine alone exceeds the limit whenever it draws its rating"
    };
    let name = &machine.name;
    let text = format!("`{name}` draws {amps:.1} A at its rating, too much for {what}");
    let place = format!("{}, row {}", site.understood.file, machine.line);
    Some(
        Message::warning("rating-in-doubt", text)
            .at(Place::file(place), "")
            .note(reason)
            .help("check the rating and its unit, the quantity, and where it is connected"),
    )
}
