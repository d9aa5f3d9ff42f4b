//! The formats there are, in the order in which they are asked.

use super::espi::Espi;
use super::hand_registers::HandRegisters;
use super::log_format::LogFormat;
use super::nem12::Nem12;
use super::nem13::Nem13;
use super::readings_table::TableOfReadings;
use super::several_meters::SeveralMeters;
use super::wide::WideDays;

/// In the order in which they are asked.
static FORMATS: [&dyn LogFormat; 6] = [
    &Nem12,
    &Nem13,
    &Espi,
    &HandRegisters,
    &WideDays,
    &TableOfReadings,
];

/// The format of a file by its beginning and its name, and why. Where columns are declared, it is a plain log; it may be one of
/// several meters.
#[must_use]
pub fn recognised(
    file: &str,
    beginning: &str,
    declared: bool,
) -> Option<(&'static dyn LogFormat, String)> {
    let formats: &[&'static dyn LogFormat] = if declared {
        &[&SeveralMeters]
    } else {
        &FORMATS
    };
    formats
        .iter()
        .find_map(|format| Some((*format, format.recognise(file, beginning)?)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::FormatSource;
    use message::Messages;
    use proptest::prelude::*;
    use site::Corrections;

    /// A small file of each format.
    fn seeds() -> Vec<String> {
        let half_hours = "1.25,".repeat(48);
        let labels: Vec<String> = (0..48)
            .map(|at| format!("{:02}:{:02}", at / 2, at % 2 * 30))
            .collect();
        vec![
            format!("100,NEM12,202601010000,A,B\n200,N1,E1,1,E1,N1,S,kWh,30,\n300,20260309,{half_hours}V,,,\n400,1,20,A,,\n400,21,48,S14,,\n900\n"),
            "100,NEM13,200401101030,A,B\n250,N1,11,1,11,11,M,E,6342.8,20031005093055,A,,,7654.9,20040107100333,A,,,1312.1,kWh,20040407,,\n900\n".to_owned(),
            "<feed xmlns=\"http://www.w3.org/2005/Atom\"><entry><link rel=\"self\" href=\"/ReadingType/1\"/><content><ReadingType xmlns=\"http://naesb.org/espi\"><uom>72</uom><flowDirection>1</flowDirection></ReadingType></content></entry><entry><link rel=\"up\" href=\"/UsagePoint/1/MeterReading/1/IntervalBlock\"/><content><IntervalBlock xmlns=\"http://naesb.org/espi\"><IntervalReading><timePeriod><duration>900</duration><start>1330578000</start></timePeriod><value>282</value></IntervalReading></IntervalBlock></content></entry></feed>".to_owned(),
            format!("MPAN,Date,{}\n1,29/03/2026,{half_hours}\n1,30/03/2026,{half_hours}\n", labels.join(",")),
            "meter,start,quantity,value,unit\nA,Mon 09/03/2026 10:00 a.m.,import,1.5E,kWh\nB,Mon 09/03/2026 10:00 a.m.,export,2,kWh\nA,Mon 09/03/2026 10:30 a.m.,import,1,kWh\nB,Mon 09/03/2026 10:30 a.m.,export,2,kWh\n".to_owned(),
            "Date;Settlement Period;kWh\n09-Mar-2026;1;1,5\n09-Mar-2026;48;2,5\n".to_owned(),
            "date,meter,value,unit\n2026-01-05,oven,100,kWh\n2026-02-02,oven,0.22,MWh\n".to_owned(),
        ]
    }

    fn read(text: &str) -> bool {
        let mut known = false;
        for declared in [false, true] {
            if let Some((format, why)) = recognised("a.csv", text, declared) {
                assert!(!why.is_empty() && !format.name().is_empty());
                let source = FormatSource {
                    file: "a.csv",
                    text,
                    zone: chrono_tz::Europe::London,
                    stamp: None,
                    corrections: Corrections::Ask,
                    unit: None,
                };
                let mut messages = Messages::new();
                let read = format.read(&source, &mut messages);
                assert!(read.is_some() || messages.has_errors(), "{text}");
                known = true;
            }
        }
        known
    }

    #[test]
    fn a_file_of_each_format_is_recognised() {
        for seed in seeds() {
            assert!(read(&seed), "{seed}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

        /// Whatever is changed in a file, it is read, or refused with a message.
        #[test]
        fn no_change_of_a_file_makes_a_reader_panic(
            seed in 0..7_usize,
            changes in prop::collection::vec((any::<prop::sample::Index>(), "[ -~éÞ€\n\t]{0,3}", 0..4_usize), 1..6),
        ) {
            let mut text: Vec<char> = seeds()[seed].chars().collect();
            for (at, with, gone) in changes {
                let at = at.index(text.len() + 1);
                let end = (at + gone).min(text.len());
                text.splice(at..end, with.chars());
            }
            read(&text.into_iter().collect::<String>());
        }
    }
}
