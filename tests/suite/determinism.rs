//! The same input gives the same bytes, however many threads read and search.

use crate::program::{Workshop, command, finished};

fn with_threads(threads: &str, arguments: &[&str]) -> (i32, String, String) {
    let run = finished(command().args(arguments).env("RAYON_NUM_THREADS", threads));
    (run.status, run.out, run.err)
}

#[test]
fn results_do_not_depend_on_the_number_of_threads() {
    for name in ["check", "balance", "energy"] {
        let arguments = [name, "sample-data/ferry-lane", "--format", "json"];
        let one = with_threads("1", &arguments);
        assert!(one.0 <= 1, "{name}: {}", one.2);
        for threads in ["2", "5"] {
            assert!(
                one == with_threads(threads, &arguments),
                "{name}: 1 and {threads} threads differ"
            );
        }
    }
}

#[test]
fn reports_do_not_depend_on_the_number_of_threads() {
    let workshop = Workshop::empty();
    let folders = ["1", "2"].map(|threads| {
        let folder = workshop.beside(threads);
        let place = folder.to_string_lossy().into_owned();
        let (status, _, err) =
            with_threads(threads, &["report", "sample-data/ferry-lane", "-o", &place]);
        assert_eq!(status, 0, "{err}");
        folder
    });
    let files = workshop.files();
    let (one, two): (Vec<&String>, Vec<&String>) =
        files.iter().partition(|name| name.starts_with("1/"));
    assert_eq!(one.len(), two.len());
    for name in one {
        let name = name.trim_start_matches("1/");
        let read = |folder: &std::path::Path| std::fs::read(folder.join(name)).ok();
        assert!(read(&folders[0]) == read(&folders[1]), "{name} differs");
    }
}
