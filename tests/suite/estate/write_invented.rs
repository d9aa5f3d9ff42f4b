//! Writes invented sites: `cargo run --example invented-estate -- FOLDER SITES BROKEN DAYS MINUTES`.

#[allow(dead_code, reason = "the suite uses the rest")]
#[path = "invented.rs"]
mod invented;

use std::path::Path;

use invented::{Invented, write};

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [folder, numbers @ ..] = words.as_slice() else {
        panic!("FOLDER SITES BROKEN DAYS MINUTES");
    };
    let numbers: Vec<u32> = numbers
        .iter()
        .filter_map(|word| word.parse().ok())
        .collect();
    let [sites, broken, days, step_min] = numbers[..] else {
        panic!("FOLDER SITES BROKEN DAYS MINUTES");
    };
    let invented = Invented {
        sites: sites as usize,
        broken: broken as usize,
        days,
        step_min,
    };
    write(Path::new(folder), &invented);
}
