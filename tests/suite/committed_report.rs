//! The committed report of the demo is what the program writes today, byte for byte.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::program::{Workshop, command, finished, project};

fn names(folder: &Path) -> BTreeSet<String> {
    fs::read_dir(folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| {
            let name = entry.expect("the folder can be read").file_name();
            name.to_string_lossy().into_owned()
        })
        .collect()
}

#[test]
fn the_committed_report_is_up_to_date() {
    let committed = project().join("reports/ferry-lane");
    let workshop = Workshop::empty();
    let fresh = workshop.beside("ferry-lane");
    let run = finished(
        command()
            .args(["report", "sample-data/ferry-lane", "-o"])
            .arg(&fresh),
    );
    assert_eq!(run.status, 0, "{}", run.err);
    let (old, new) = (names(&committed), names(&fresh));
    let differing: Vec<&String> = old
        .union(&new)
        .filter(|name| fs::read(committed.join(name)).ok() != fs::read(fresh.join(name)).ok())
        .collect();
    assert!(
        differing.is_empty(),
        "reports/ferry-lane differs in {differing:?}: after a wanted change run\n\
         cargo run -- report sample-data/ferry-lane\nlook at the page and commit it"
    );
}
