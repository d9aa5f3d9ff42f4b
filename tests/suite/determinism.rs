//! The same input gives the same bytes, however many threads read and search.

use crate::sample::{sample_run, sample_run_on};

/// The shared run of the same line has two threads.
fn is_the_same_on_one_thread(line: &str) {
    let (one, two) = (sample_run_on("1", line), sample_run(line));
    assert!(one.run.status <= 1, "{line}: {}", one.run.err);
    let ended = |run: &crate::program::Run| (run.status, run.out.clone(), run.err.clone());
    // A report prints where it lies, each its own place.
    if !line.starts_with("report") {
        assert!(
            ended(&one.run) == ended(&two.run),
            "{line}: one and two threads differ"
        );
    }
    assert!(one.files.keys().eq(two.files.keys()), "{line}");
    for (name, bytes) in &one.files {
        assert!(two.files.get(name) == Some(bytes), "{line}: {name} differs");
    }
}

#[test]
fn results_do_not_depend_on_the_number_of_threads() {
    for name in ["check", "balance", "energy"] {
        is_the_same_on_one_thread(&format!("{name} sample-data/ferry-lane --format json"));
    }
}

#[test]
fn reports_do_not_depend_on_the_number_of_threads() {
    is_the_same_on_one_thread("report sample-data/ferry-lane");
}
