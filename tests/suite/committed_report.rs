//! The committed report of the demo is what the program writes today, byte for byte but for the day on which it was made:
//! whoever makes it anew, as the readme says, has it with another day.

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
            (
                name,
                without_day(&fs::read(entry.path()).expect("the file can be read")),
            )
        })
        .collect();
    let fresh = sample_run("report sample-data/ferry-lane");
    assert_eq!(fresh.run.status, 0, "{}", fresh.run.err);
    let files = fresh.files.iter();
    let fresh: BTreeMap<String, Vec<u8>> = files
        .map(|(name, bytes)| (name.clone(), without_day(bytes)))
        .collect();
    let mut differing: Vec<&String> = committed
        .keys()
        .chain(fresh.keys())
        .filter(|name| committed.get(*name) != fresh.get(*name))
        .collect();
    differing.dedup();
    assert!(
        differing.is_empty(),
        "reports/ferry-lane differs in {differing:?}: after a wanted change run\n\
         SOURCE_DATE_EPOCH={MADE_ON} cargo run -- report sample-data/ferry-lane\nlook at the page and commit it"
    );
}

/// A file less the day that follows each `Made on`, up to the next word or tag that is no part of it.
fn without_day(bytes: &[u8]) -> Vec<u8> {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return bytes.to_vec();
    };
    let mut parts = text.split("Made on");
    let mut kept = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        // `</dt><dd><bdi>Mon 6 Apr 2026</bdi>`, or ` 6 April 2026 by tapoff`.
        let tags = part.len() - part.trim_start_matches("</dt><dd><bdi>").len();
        let ends = ["</bdi>", " by tapoff"].map(|end| part[tags..].find(end));
        let end = ends.into_iter().flatten().min().unwrap_or(0);
        assert!(end < 24, "no day follows: {}", &part[..tags]);
        kept.push_str("Made on");
        kept.push_str(&part[..tags]);
        kept.push_str(&part[tags + end..]);
    }
    kept.into_bytes()
}

#[test]
fn nothing_but_the_day_is_left_out() {
    let [page, other, chart] = [
        "a Made on 6 April 2026 by tapoff 0.1.0",
        "a Made on 30 November 2026 by tapoff 0.1.1",
        "<dt>Made on</dt><dd><bdi>Mon 6 Apr 2026</bdi> b",
    ]
    .map(|text| String::from_utf8(without_day(text.as_bytes())).expect("text"));
    assert_eq!(page, "a Made on by tapoff 0.1.0");
    assert_eq!(other, "a Made on by tapoff 0.1.1");
    assert_eq!(chart, "<dt>Made on</dt><dd><bdi></bdi> b");
}
