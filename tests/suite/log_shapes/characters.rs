//! Encodings and packing. Each log holds two hours, 4 kW and 5.5 kW: 9.5 kWh.

use std::io::Write;

use tapoff::metering::Encoding;

use super::{NONE, Written, power, utf_16};
use crate::log_values::{Outcome, close};

const PLAIN: &str = "time,P,°C\n2026-03-09 01:00,4,20\n2026-03-09 02:00,5.5,21\n";

#[track_caller]
fn reads_well(log: &Written, encoding: Encoding) -> Outcome {
    let outcome = log.run();
    close(outcome.meter().energy_kwh, 9.5);
    assert_eq!(outcome.kinds(), NONE);
    let form = &outcome.logs.meters[0].files[0];
    assert_eq!(form.encoding, Some(encoding));
    assert_eq!(outcome.logs.unused_columns[0].1, ["°C"]);
    outcome
}

#[test]
fn utf_8_with_and_without_its_mark() {
    reads_well(&power(PLAIN), Encoding::Utf8);
    reads_well(&power(format!("\u{feff}{PLAIN}")), Encoding::Utf8);
    // The mark is no part of the first name.
    let declared = power(format!("\u{feff}{PLAIN}")).with("time = { column = \"time\" }");
    reads_well(&declared, Encoding::Utf8);
}

#[test]
fn utf_16_of_both_orders_with_and_without_its_mark() {
    let marked = format!("\u{feff}{PLAIN}");
    reads_well(
        &power(utf_16(&marked, u16::to_le_bytes)),
        Encoding::Utf16Little,
    );
    reads_well(
        &power(utf_16(&marked, u16::to_be_bytes)),
        Encoding::Utf16Big,
    );
    reads_well(
        &power(utf_16(PLAIN, u16::to_le_bytes)),
        Encoding::Utf16Little,
    );
    reads_well(&power(utf_16(PLAIN, u16::to_be_bytes)), Encoding::Utf16Big);
}

/// In Latin-1 the degree sign is the byte B0. What is not UTF-8 is said.
#[test]
fn latin_1_is_read_and_said() {
    let latin: Vec<u8> = PLAIN.chars().map(|c| c as u8).collect();
    let outcome = power(latin).run();
    close(outcome.meter().energy_kwh, 9.5);
    assert_eq!(outcome.kinds(), [("encoding", 1)]);
    let entry = outcome.entry("encoding");
    assert!(entry.note.contains("Windows-1252"), "{}", entry.note);
    assert_eq!(outcome.logs.unused_columns[0].1, ["°C"]);
}

fn packed(text: &str) -> Vec<u8> {
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    packer.write_all(text.as_bytes()).expect("memory");
    packer.finish().expect("memory")
}

/// A member may end within a line; what is put one behind the other is one file.
#[test]
fn packed_logs_of_one_and_of_several_members() {
    reads_well(&power(packed(PLAIN)).called("a.csv.gz"), Encoding::Utf8);
    let (first, second) = PLAIN.split_at(35);
    let two = [packed(first), packed(second)].concat();
    let outcome = reads_well(&power(two).called("a.csv.gz"), Encoding::Utf8);
    assert!(outcome.logs.meters[0].files[0].packed);
}

#[test]
fn packed_utf_16() {
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    let bytes = utf_16(&format!("\u{feff}{PLAIN}"), u16::to_le_bytes);
    packer.write_all(&bytes).expect("memory");
    let bytes = packer.finish().expect("memory");
    reads_well(&power(bytes).called("a.csv.gz"), Encoding::Utf16Little);
}

/// Two thousand days of hours, so that the end is far from the beginning, cut or with a byte
/// turned over near the end.
#[test]
fn a_damaged_packed_log_is_refused() {
    let mut text = "time,P\n".to_owned();
    for hour in 0..48_000 {
        text += &[
            (1_700_000_000 + hour * 3600).to_string(),
            (hour * 7919 % 1000).to_string() + "\n",
        ]
        .join(",");
    }
    let whole = packed(&text);
    assert!(
        power(&whole[..2])
            .called("a.csv.gz")
            .refused()
            .contains("damaged-log")
    );
    for cut in [3, 12, 1000, whole.len() / 2, whole.len() - 1] {
        let refusal = power(&whole[..cut]).called("a.csv.gz").refused();
        assert!(refusal.contains("damaged-log"), "{cut}: {refusal}");
        assert!(refusal.contains("logs/a.csv.gz"), "{refusal}");
        assert!(refusal.contains("it ends early"), "{refusal}");
    }
    let mut turned = whole.clone();
    let near_end = turned.len() - 5000;
    turned[near_end] ^= 0x55;
    let refusal = power(turned).called("a.csv.gz").refused();
    assert!(refusal.contains("damaged-log"), "{refusal}");
}
