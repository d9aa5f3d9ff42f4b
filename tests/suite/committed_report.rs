//! The committed report of the demo is what the program writes today, byte for byte.

use std::collections::BTreeMap;
use std::fs;

use crate::program::project;
use crate::sample::{MADE_ON, sample_run};

#[test]
fn the_committed_report_is_up_to_date() {
    let folder = project().join("reports/ferry-lane");
    let committed: BTreeMap<String, Vec<u8>> = fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| {
            let entry = entry.expect("the folder can be read");
            let name = format!("result/{}", entry.file_name().to_string_lossy());
            (name, fs::read(entry.path()).expect("the file can be read"))
        })
        .collect();
    let fresh = sample_run("report sample-data/ferry-lane");
    assert_eq!(fresh.run.status, 0, "{}", fresh.run.err);
    let mut differing: Vec<&String> = committed
        .keys()
        .chain(fresh.files.keys())
        .filter(|name| committed.get(*name) != fresh.files.get(*name))
        .collect();
    differing.dedup();
    assert!(
        differing.is_empty(),
        "reports/ferry-lane differs in {differing:?}: after a wanted change run\n\
         SOURCE_DATE_EPOCH={MADE_ON} cargo run -- report sample-data/ferry-lane\nlook at the page and commit it"
    );
}
